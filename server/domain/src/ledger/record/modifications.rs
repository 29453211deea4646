//! Modifications: issued by the brake engineer, embodied in one component or car after another.

use super::correction::rests;
use super::{baselines, cars, components};
use crate::configuration::component::Subject;
use crate::configuration::modification::{
    EmbodiedRecord, Modification, ModificationScope, POSITIONS_MAX,
};
use crate::identity::{ModificationNumber, ModificationState, PositionCode};
use crate::ledger::command::Command;
use crate::ledger::dossier::{ComponentState, Documents, Dossier};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;
use std::sync::Arc;

pub(super) fn check_issued(dossier: &Dossier, modification: &Modification) -> Result<(), Refusal> {
    let documents = &dossier.documents;
    if let Some(known) = documents.modifications.get(&modification.number) {
        return Err(Refusal::AlreadyDefined {
            what: "modification",
            name: modification.number.to_string(),
            by: known.by,
            allowed: "give it a number of its own",
        });
    }
    match &modification.scope {
        ModificationScope::Components {
            part,
            state,
            positions,
            ..
        } => {
            let unknown = || Refusal::Unknown {
                what: "part",
                name: part.to_string(),
            };
            check_positions(documents, positions)?;
            baselines::check_state_of(documents.part(part).ok_or_else(unknown)?, state)
        }
        ModificationScope::Cars { car_type, .. } => {
            if documents.car_types.keys().any(|(name, _)| name == car_type) {
                return Ok(());
            }
            Err(Refusal::Unknown {
                what: "car_type",
                name: car_type.to_string(),
            })
        }
    }
}

/// Checks the positions that a modification is limited to: at a code that no car has, nothing would ever
/// be left of it.
fn check_positions(documents: &Documents, positions: &[PositionCode]) -> Result<(), Refusal> {
    let refuse = |given: String, allowed: String| {
        Err(Refusal::Impossible {
            field: "positions",
            given,
            allowed,
        })
    };
    if POSITIONS_MAX < positions.len() {
        let given = format!("{} positions", positions.len());
        return refuse(given, format!("at most {POSITIONS_MAX}"));
    }
    let known = |code: &PositionCode| {
        let mut designs = documents.car_types.values();
        designs.any(|design| documents.place(&design.document, code).is_some())
    };
    match positions.iter().find(|code| !known(code)) {
        None => Ok(()),
        Some(code) => {
            let allowed = "codes of positions that a car type has".to_owned();
            refuse(code.to_string(), allowed)
        }
    }
}

/// A modification that was issued by mistake is withdrawn while nothing else that stands names it: what
/// was embodied or planned would rest on it. Its number is free then.
pub(super) fn may_be_withdrawn(
    dossier: &Dossier,
    entry: &Entry,
    command: &Command,
) -> Result<(), Refusal> {
    let refused = |allowed: &str| {
        Err(Refusal::Impossible {
            field: "corrects",
            given: format!("{}, which issued a modification", entry.seq),
            allowed: allowed.to_owned(),
        })
    };
    if command.fact != Fact::Withdrawn {
        return refused("its withdrawal; then issue the right one, which may have the same number");
    }
    let mentions = dossier.mentions.get(&entry.seq);
    let Some(mentions) = mentions.filter(|mentions| mentions.kept_after < entry.seq) else {
        return refused(
            "one of which it is kept what else was recorded about it; for those from before, rebuild the register first",
        );
    };
    match mentions.entries.first() {
        None => Ok(()),
        Some(other) if matches!(other.fact, Fact::Embodied { .. }) => {
            Err(rests(entry, other.seq, other.effective_at))
        }
        Some(other) => Err(Refusal::Contradicts {
            what: format!("a withdrawal of {}", entry.seq),
            by: other.seq,
            since: other.effective_at.into(),
            allowed: "a modification is withdrawn only while no visit was ever planned for it",
        }),
    }
}

/// Folds the withdrawal of a modification: it is not issued any more.
pub(super) fn fold_withdrawn(dossier: &mut Dossier, entry: &Entry) {
    let target = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
    let Some(Fact::ModificationIssued(it)) = target.map(|(target, _)| &target.fact) else {
        return;
    };
    let number = it.number.clone();
    Arc::make_mut(&mut dossier.documents).withdraw_modification(entry.seq, &number);
    dossier.changes.documents.push(entry.seq);
}

pub(super) fn fold_issued(dossier: &mut Dossier, entry: &Entry, modification: &Modification) {
    let documents = Arc::make_mut(&mut dossier.documents);
    documents.put_modification(entry.seq, entry.effective_at, modification.clone());
    dossier.changes.documents.push(entry.seq);
}

fn issued<'a>(
    dossier: &'a Dossier,
    number: &ModificationNumber,
) -> Result<&'a Modification, Refusal> {
    let known = dossier.documents.modifications.get(number);
    let unknown = || Refusal::Unknown {
        what: "modification",
        name: number.to_string(),
    };
    Ok(&known.ok_or_else(unknown)?.document)
}

pub(super) fn check_embodied(
    dossier: &Dossier,
    (number, subject): (&ModificationNumber, &Subject),
    at: Instant,
) -> Result<(), Refusal> {
    let modification = issued(dossier, number)?;
    let not_for = || Refusal::Impossible {
        field: "modification",
        given: format!("{number} in {subject}"),
        allowed: format!("{number} in {}", modification.scope),
    };
    match (subject, &modification.scope) {
        (Subject::Component(component), ModificationScope::Components { part, state, .. }) => {
            let record = components::known(dossier, component)?;
            if component.part != *part {
                return Err(not_for());
            }
            if at < record.received_at {
                return Err(Refusal::Contradicts {
                    what: format!("{number} embodied in {component} at {at}", at = at.told()),
                    by: record.id,
                    since: record.received_at.into(),
                    allowed: "give a time after it was received",
                });
            }
            let before = dossier.modification_at(component, at);
            check_later(dossier, not_for(), (component, before, state))
        }
        (Subject::Car(car), scope) => {
            let record = cars::known_car(dossier, car)?;
            if !scope.has_car(&record.car) {
                return Err(not_for());
            }
            let mut embodied = dossier.embodied.values();
            match embodied.find(|one| one.modification == *number && one.subject == *subject) {
                None => Ok(()),
                Some(one) => Err(Refusal::Contradicts {
                    what: format!("{number} embodied again in {subject}"),
                    by: one.by,
                    since: one.at.into(),
                    allowed: "it is embodied there already",
                }),
            }
        }
        _ => Err(not_for()),
    }
}

/// A modification brings a component forward, from a state before or one that is not known.
fn check_later(
    dossier: &Dossier,
    not_for: Refusal,
    (component, before, state): (
        &crate::configuration::component::ComponentRef,
        Option<&ModificationState>,
        &ModificationState,
    ),
) -> Result<(), Refusal> {
    let part = dossier.documents.part(&component.part).ok_or(not_for)?;
    let place = |state: &ModificationState| {
        let mut states = part.modification_states.iter();
        states.position(|known| known == state)
    };
    match before {
        Some(before) if place(state) <= place(before) => Err(Refusal::Impossible {
            field: "modification",
            given: format!("{component}, which is in modification state {before}"),
            allowed: format!("a component in a state before {state}"),
        }),
        _ => Ok(()),
    }
}

pub(super) fn fold_embodied(
    dossier: &mut Dossier,
    entry: &Entry,
    (number, subject): (&ModificationNumber, &Subject),
) {
    let record = EmbodiedRecord {
        by: entry.seq,
        modification: number.clone(),
        subject: subject.clone(),
        at: entry.effective_at,
    };
    dossier.embodied.insert(entry.seq, record);
    dossier.changes.embodied.insert(entry.seq);
    let known = dossier.documents.modifications.get(number);
    let Some(ModificationScope::Components { state, .. }) =
        known.map(|known| known.document.scope.clone())
    else {
        return;
    };
    if let Subject::Component(component) = subject {
        let said = ComponentState {
            by: entry.seq,
            since: entry.effective_at,
            whereabouts: None,
            condition: None,
            modification: Some(state),
            batch: None,
        };
        dossier.put_state(component, said);
    }
}

/// Takes back that a modification was embodied.
pub(super) fn undo_embodied(dossier: &mut Dossier, by: Seq, subject: &Subject) {
    dossier.embodied.remove(&by);
    dossier.changes.embodied.insert(by);
    if let Subject::Component(component) = subject {
        dossier.drop_state(component, by);
    }
}
