//! Tests as recorded: values against the limits of the procedure's revision. The verdict is
//! worked out, never typed.

use crate::configuration::component::Subject;
use crate::due::task::AppliesTo;
use crate::ledger::dossier::{Dossier, TestedRecord};
use crate::ledger::entry::Seq;
use crate::refusal::Refusal;
use crate::test_record::procedure::Procedure;
use crate::test_record::record::TestRecord;
use crate::test_record::verdict::verdict;
use crate::time::Instant;
use std::sync::Arc;

fn procedure_of<'a>(dossier: &'a Dossier, record: &TestRecord) -> Option<&'a Arc<Procedure>> {
    let key = (record.procedure.clone(), record.revision.clone());
    dossier
        .documents
        .procedures
        .get(&key)
        .map(|known| &known.document)
}

pub(super) fn check_test(
    dossier: &Dossier,
    record: &TestRecord,
    at: Instant,
) -> Result<(), Refusal> {
    let impossible = |field, given: String, allowed: String| {
        Err(Refusal::Impossible {
            field,
            given,
            allowed,
        })
    };
    if let Some(known) = dossier.tests.get(&record.id) {
        return Err(Refusal::AlreadyDefined {
            what: "record",
            name: record.id.to_string(),
            by: known.by,
            allowed: "give it an identity of its own",
        });
    }
    let unknown = || Refusal::Unknown {
        what: "procedure",
        name: format!("{} revision {}", record.procedure, record.revision),
    };
    let procedure = procedure_of(dossier, record).ok_or_else(unknown)?;
    let applies = match (&record.subject, &procedure.applies_to) {
        (Subject::Component(component), AppliesTo::Part(part)) => {
            super::components::known(dossier, component)?;
            component.part == *part
        }
        (Subject::Car(car), AppliesTo::CarType(name)) => {
            super::cars::known_car(dossier, car)?.car.car_type == *name
        }
        _ => false,
    };
    if !applies {
        let given = format!("{} on {}", record.procedure, record.subject);
        return impossible(
            "procedure",
            given,
            "a procedure for that part or car type".into(),
        );
    }
    if record.at != at {
        return impossible(
            "at",
            record.at.to_string(),
            format!("the entry's time, {at}", at = at.told()),
        );
    }
    match verdict(procedure, record, &dossier.zone) {
        Ok(_) => Ok(()),
        Err(why) => impossible("measurand", record.id.to_string(), why.to_string()),
    }
}

pub(super) fn fold_test(dossier: &mut Dossier, by: Seq, record: &TestRecord) {
    let tested = TestedRecord::new(by, record.clone(), (&dossier.documents, &dossier.zone));
    dossier.tests.insert(record.id.clone(), tested);
    changed(dossier, record);
}

/// Takes a test back: what it proved and did is proved and done by it no more.
pub(super) fn undo(dossier: &mut Dossier, record: &TestRecord) {
    dossier.tests.remove(&record.id);
    changed(dossier, record);
}

fn changed(dossier: &mut Dossier, record: &TestRecord) {
    match &record.subject {
        Subject::Component(component) => {
            dossier.changes.stale_components.insert(component.clone());
        }
        Subject::Car(car) => {
            dossier.changes.stale_cars.insert(car.clone());
        }
    }
    dossier.changes.tests.insert(record.id.clone());
}
