//! Baselines: which revision is in force for which cars, in which modification state parts are
//! approved, and which way they may be exchanged.

use super::cars::known_car;
use crate::configuration::car_type::CarType;
use crate::configuration::component::ComponentRef;
use crate::configuration::effectivity::{CarRange, Effectivity};
use crate::configuration::host::HostPosition;
use crate::configuration::part::{Part, StatesApproved, states_of};
use crate::identity::{ModificationState, PartNumber};
use crate::ledger::dossier::{Documents, Dossier};
use crate::ledger::entry::Seq;
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;
use std::collections::BTreeSet;
use std::sync::Arc;

pub(super) fn check_effectivity(
    dossier: &Dossier,
    effectivity: &Effectivity,
) -> Result<(), Refusal> {
    let Effectivity {
        car_type, revision, ..
    } = effectivity;
    match dossier.documents.design(car_type, revision) {
        Some(_) => Ok(()),
        None => Err(Refusal::Unknown {
            what: "car_type",
            name: format!("{car_type} revision {revision}"),
        }),
    }
}

/// Checks that the cars which are named are there and of the type: a slip would leave a car with
/// the design that it has, and somebody with the belief that it has another.
pub(super) fn check_cars(dossier: &Dossier, effectivity: &Effectivity) -> Result<(), Refusal> {
    let named = effectivity.cars.ranges().iter().map(CarRange::ends);
    for number in named.flat_map(|(first, last)| [first, last]) {
        let car = &known_car(dossier, number)?.car;
        if car.car_type != effectivity.car_type {
            return Err(Refusal::Impossible {
                field: "cars",
                given: format!("{number}, which is a {}", car.car_type),
                allowed: format!(
                    "cars of type {}; a range begins and ends with one",
                    effectivity.car_type
                ),
            });
        }
    }
    Ok(())
}

/// A revision that can move verdicts comes into force on a day that has come: what was decided
/// before is void by the entry, and no entry is made at midnight.
pub(super) fn check_takes_effect(
    dossier: &Dossier,
    fact: &Fact,
    at: Instant,
) -> Result<(), Refusal> {
    let Fact::RevisionEffective(effectivity) = fact else {
        return Ok(());
    };
    let today = dossier.zone.day_of(at);
    let of_type = dossier.documents.car_types.values();
    let mut of_type = of_type.filter(|other| other.document.name == effectivity.car_type);
    let design = dossier
        .documents
        .design(&effectivity.car_type, &effectivity.revision);
    let alike = design
        .is_some_and(|design| of_type.all(|other| bear_alike(&design.document, &other.document)));
    if effectivity.from <= today || alike {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "from",
        given: effectivity.from.to_string(),
        allowed: format!(
            "a day not after {today}, since its circuit, masses or brakes are others: approve it on the day itself, so that decisions taken before are void"
        ),
    })
}

/// Whether two revisions differ only in what may be fitted and how things are called.
fn bear_alike(one: &CarType, other: &CarType) -> bool {
    let bare = |design: &CarType| {
        let mut design = design.clone();
        design.revision = one.revision.clone();
        design.title.clone_from(&one.title);
        for position in &mut design.positions {
            position.approved.clear();
            position.states.clear();
            position.settings.clear();
            position.aliases.clear();
            position.title.clear();
        }
        design
    };
    bare(one) == bare(other)
}

pub(super) fn fold_effectivity(dossier: &mut Dossier, by: Seq, effectivity: &Effectivity) {
    let documents = Arc::make_mut(&mut dossier.documents);
    documents.put_effectivity(by, effectivity.clone());
    dossier.changes.documents.push(by);
    dossier.changes.stale_baselines.push(effectivity.clone());
}

/// Checks that a part can be in a modification state.
pub(super) fn check_state_of(part: &Part, state: &ModificationState) -> Result<(), Refusal> {
    if part.modification_states.contains(state) {
        return Ok(());
    }
    let states: Vec<&str> = part
        .modification_states
        .iter()
        .map(ModificationState::as_str)
        .collect();
    Err(Refusal::Impossible {
        field: "modification_state",
        given: state.to_string(),
        allowed: match states.as_slice() {
            [] => format!("nothing: part {} has no modification states", part.number),
            states => format!("a state of part {}: {}", part.number, states.join(", ")),
        },
    })
}

/// Checks the modification states of a part and the earlier parts that it replaces.
pub(super) fn check_history(documents: &Documents, part: &Part) -> Result<(), Refusal> {
    let impossible = |field, given: String, allowed: &str| {
        Err(Refusal::Impossible {
            field,
            given,
            allowed: allowed.to_owned(),
        })
    };
    let states: BTreeSet<_> = part.modification_states.iter().collect();
    if states.len() != part.modification_states.len() {
        let given = format!("{} of them", part.modification_states.len());
        return impossible("modification_state", given, "each state once");
    }
    let mut seen = BTreeSet::new();
    for earlier in &part.replaces {
        let unknown = || Refusal::Unknown {
            what: "part",
            name: earlier.part.to_string(),
        };
        let known = documents.part(&earlier.part).ok_or_else(unknown)?;
        let given = earlier.part.to_string();
        if known.kind != part.kind {
            return impossible(
                "replaces",
                given,
                "a part made for the same kind of position",
            );
        }
        if !seen.insert(&earlier.part) {
            return impossible("replaces", given, "each earlier part once");
        }
    }
    Ok(())
}

/// Checks the modification states that are asked for at a position.
pub(super) fn check_states(
    documents: &Documents,
    (approved, asked): (&[PartNumber], &[StatesApproved]),
) -> Result<(), Refusal> {
    let mut seen = BTreeSet::new();
    for of_part in asked {
        let number = &of_part.part;
        if !approved.contains(number) || !seen.insert(number) || of_part.states.is_empty() {
            return Err(Refusal::Impossible {
                field: "modification_state",
                given: format!("states of {number}"),
                allowed:
                    "at least one state of each part once, and of a part that is approved there"
                        .to_owned(),
            });
        }
        if let Some(part) = documents.part(number) {
            let mut states = of_part.states.iter();
            states.try_for_each(|state| check_state_of(part, state))?;
        }
    }
    Ok(())
}

/// Checks that a component is in a modification state that is approved at a position.
pub(super) fn check_in_state(
    dossier: &Dossier,
    (component, asked): (&ComponentRef, &[StatesApproved]),
    (at, moment): (&HostPosition, Instant),
) -> Result<(), Refusal> {
    let Some(states) = states_of(asked, &component.part) else {
        return Ok(());
    };
    let state = dossier.modification_at(component, moment);
    if state.is_some_and(|state| states.contains(state)) {
        return Ok(());
    }
    let states: Vec<&str> = states.iter().map(ModificationState::as_str).collect();
    Err(Refusal::StateNotApproved {
        component: component.clone(),
        state: state.cloned(),
        position: at.clone().into(),
        approved: states.join(", "),
    })
}

/// Checks that an earlier part does not come back where a later one was that replaces it for
/// good: one-way interchangeability, judged at each fitting by what was there last.
pub(super) fn check_interchange(
    dossier: &Dossier,
    component: &ComponentRef,
    (at, moment): (&HostPosition, Instant),
) -> Result<(), Refusal> {
    let before = dossier.own_fitments_at(at).filter(|own| own.from < moment);
    let Some(last) = before.max_by_key(|own| own.from) else {
        return Ok(());
    };
    let later = dossier.documents.part(&last.component.part);
    if later.is_none_or(|later| !later.ends(&component.part)) {
        return Ok(());
    }
    Err(Refusal::NotInterchangeable {
        part: component.part.clone(),
        position: at.clone().into(),
        last: last.component.clone(),
        by: last.fitted_by,
    })
}
