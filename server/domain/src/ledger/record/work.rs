//! Work done: which task, on what, when. A task done may count for others.

use crate::configuration::certificate::Certificate;
use crate::configuration::component::Subject;
use crate::due::task::{AppliesTo, Task};
use crate::identity::TaskCode;
use crate::ledger::dossier::{DoneRecord, Dossier, MeterValues};
use crate::ledger::entry::Entry;
use crate::refusal::Refusal;
use crate::time::Instant;
use std::sync::Arc;

pub(super) fn check_done(
    dossier: &Dossier,
    (subject, code, release): (&Subject, &TaskCode, Option<&Certificate>),
    at: Instant,
) -> Result<(), Refusal> {
    let unknown = || Refusal::Unknown {
        what: "task",
        name: code.to_string(),
    };
    let task = dossier.documents.tasks.get(code).ok_or_else(unknown)?;
    let applies = match (subject, &task.document.applies_to) {
        (Subject::Component(component), AppliesTo::Part(part)) => {
            let record = super::components::known(dossier, component)?;
            if at < record.received_at {
                return Err(Refusal::Contradicts {
                    what: format!("{code} done on {component} at {at}", at = at.told()),
                    by: record.id,
                    since: record.received_at.into(),
                    allowed: "give a time after it was received",
                });
            }
            component.part == *part
        }
        (Subject::Car(car), AppliesTo::CarType(name)) => {
            super::cars::known_car(dossier, car)?.car.car_type == *name
        }
        _ => false,
    };
    if applies {
        let for_it = (&task.document.applies_to, at);
        return release.map_or(Ok(()), |release| {
            super::receipts::check_certificate(dossier, release, for_it)
        });
    }
    let applies_to = match &task.document.applies_to {
        AppliesTo::Part(part) => format!("components of part {part}"),
        AppliesTo::CarType(name) => format!("cars of type {name}"),
    };
    Err(Refusal::Impossible {
        field: "task",
        given: format!("{code} on {subject}"),
        allowed: format!("{code} on {applies_to}"),
    })
}

/// The tasks that count as done with one, itself included, that apply to the same thing.
fn counted<'a>(dossier: &'a Dossier, task: &'a Task) -> impl Iterator<Item = &'a TaskCode> {
    let others = task.satisfies.iter().filter(|code| {
        let other = dossier.documents.tasks.get(*code);
        other.is_some_and(|other| other.document.applies_to == task.applies_to)
    });
    std::iter::once(&task.code).chain(others)
}

pub(super) fn fold_done(dossier: &mut Dossier, entry: &Entry, subject: &Subject, code: &TaskCode) {
    let Some(task) = dossier.documents.tasks.get(code) else {
        return;
    };
    let task = Arc::clone(&task.document);
    let car = match subject {
        Subject::Car(car) => Some(car),
        Subject::Component(component) => dossier.host_at(component, entry.effective_at),
    };
    let car = car.cloned();
    let codes: Vec<TaskCode> = counted(dossier, &task).cloned().collect();
    for code in codes {
        dossier.put_done(DoneRecord {
            by: entry.seq,
            subject: subject.clone(),
            task: code,
            at: entry.effective_at,
            car: car.clone(),
            meters: MeterValues::default(),
        });
    }
}
