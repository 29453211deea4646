//! Whether a component may be at a position over a period. What is inside it goes with it, so
//! all of it must be fit to go wherever that takes it.

use crate::configuration::component::{ComponentRef, Condition, PositionRef};
use crate::configuration::host::{Host, HostPosition};
use crate::configuration::part::{StatesApproved, Vacancy};
use crate::identity::{ConcessionNumber, PartNumber};
use crate::ledger::dossier::{ComponentRecord, ComponentState, Dossier, Fitment, Period};
use crate::ledger::entry::Seq;
use crate::ledger::record::cars::car_then;
use crate::ledger::record::components::known;
use crate::ledger::record::{baselines, concessions};
use crate::refusal::Refusal;
use crate::time::Instant;
use std::collections::BTreeSet;

/// Checks what holds for every component that is put at a position: that its part belongs there,
/// or a concession allows it, and that it and all inside it are fit for fitting whenever the
/// position moves, and meet nothing else there. `leaving` are components that leave their positions in the same act.
pub(super) fn may_be_at(
    dossier: &Dossier,
    (component, concession): (&ComponentRef, Option<&ConcessionNumber>),
    (at, over): (&HostPosition, Period),
    leaving: &[&ComponentRef],
) -> Result<(), Refusal> {
    allowed(dossier, (component, concession), (at, over.from))?;
    assembly_there(dossier, at, over)?;
    position_free(dossier, component, (at, over), leaving)?;
    ready(dossier, component, (at, over))
}

/// Checks that a component was not put elsewhere in the same period.
pub(super) fn component_free(
    dossier: &Dossier,
    component: &ComponentRef,
    over: Period,
) -> Result<(), Refusal> {
    let mut others = dossier.own_fitments_of(component);
    match others.find(|other| other.period().meet(over).is_some()) {
        None => Ok(()),
        Some(other) => Err(Refusal::FittedElsewhere {
            component: component.clone(),
            at: other.at.clone().into(),
            by: other.fitted_by,
        }),
    }
}

/// Checks that the baseline approves a component at a position, or else that the concession which
/// the entry names allows it.
fn allowed(
    dossier: &Dossier,
    (component, concession): (&ComponentRef, Option<&ConcessionNumber>),
    place: (&HostPosition, Instant),
) -> Result<(), Refusal> {
    match (approved(dossier, component, place), concession) {
        (fits, None) => fits,
        (Ok(()), Some(number)) => Err(Refusal::Impossible {
            field: "concession",
            given: number.to_string(),
            allowed: format!("none: {} is approved at {}", component.part, place.0),
        }),
        (Err(why @ Refusal::Unknown { .. }), Some(_)) => Err(why),
        (Err(why), Some(number)) => {
            concessions::check_allows(dossier, (component, number), place, why)
        }
    }
}

/// What is approved at a position: the parts, and the modification states asked for.
type ApprovedThere<'a> = (&'a [PartNumber], &'a [StatesApproved]);

/// Checks that the car's baseline of the day, or the assembly's part, approves the part at the
/// position, in the modification state that it is in, after what was there last.
fn approved(
    dossier: &Dossier,
    component: &ComponentRef,
    (at, moment): (&HostPosition, Instant),
) -> Result<(), Refusal> {
    let unknown = || Refusal::Unknown {
        what: "position",
        name: at.to_string(),
    };
    let documents = &dossier.documents;
    let ((approved, states), none): (ApprovedThere<'_>, _) = match &at.host {
        Host::Assembly(assembly) => {
            known(dossier, assembly)?;
            let part = documents.part(&assembly.part).ok_or_else(unknown)?;
            let position = part.position(&at.position).ok_or_else(unknown)?;
            ((&position.approved, &position.states), None)
        }
        Host::Car(car) => {
            let record = car_then(dossier, car, moment)?;
            let on = dossier.zone.day_of(moment);
            let car_type = documents.car_type(&record.car, on).ok_or_else(unknown)?;
            let position = car_type.position(&at.position);
            let inside = || documents.place(car_type, &at.position)?.inside;
            match position {
                None if inside().is_none() => return Err(unknown()),
                None => ((&[], &[]), Some(inside)),
                Some(known) => ((&known.approved, &known.states), Some(inside)),
            }
        }
    };
    if approved.contains(&component.part) {
        baselines::check_in_state(dossier, (component, states), (at, moment))?;
        return baselines::check_interchange(dossier, component, (at, moment));
    }
    let inside = none.and_then(|inside| inside());
    Err(Refusal::NotApproved {
        part: component.part.clone(),
        position: at.clone().into(),
        approved: match (approved, inside) {
            ([], Some((assembly, code))) => {
                format!("none; fit it at {code} of the assembly that is at {assembly}")
            }
            ([], None) => "none".to_owned(),
            (parts, _) => {
                let parts: Vec<&str> = parts.iter().map(PartNumber::as_str).collect();
                parts.join(", ")
            }
        },
    })
}

/// Checks that the assembly of a position was in the register, and not yet scrapped.
fn assembly_there(dossier: &Dossier, at: &HostPosition, over: Period) -> Result<(), Refusal> {
    let Some(assembly) = at.assembly() else {
        return Ok(());
    };
    let record = known(dossier, assembly)?;
    received_before(record, over.from)?;
    not_scrapped_before(dossier, record, over.until)
}

/// Checks that a component was in the register at a time.
pub(super) fn received_before(record: &ComponentRecord, at: Instant) -> Result<(), Refusal> {
    if record.received_at <= at {
        return Ok(());
    }
    Err(Refusal::Contradicts {
        what: format!("{} fitted at {at}", record.component, at = at.told()),
        by: record.id,
        since: record.received_at.into(),
        allowed: "give a time after it was received",
    })
}

/// Checks that a component was not scrapped before it came off, if it did.
pub(super) fn not_scrapped_before(
    dossier: &Dossier,
    record: &ComponentRecord,
    until: Option<Instant>,
) -> Result<(), Refusal> {
    let mut states = dossier.states_of(&record.component).iter();
    let scrapped = |state: &&ComponentState| {
        let before = until.is_none_or(|until| state.since < until);
        before && state.condition == Some(Condition::Scrapped)
    };
    match states.find(scrapped) {
        None => Ok(()),
        Some(state) => Err(Refusal::Contradicts {
            what: format!("{} fitted then", record.component),
            by: state.by,
            since: state.since.into(),
            allowed: "what is scrapped is not fitted; correct that entry if it is wrong",
        }),
    }
}

/// Checks that a component was at a position of a car until a time. Inside an assembly it came there
/// with that, and may have come out of it before.
pub(super) fn was_there(
    dossier: &Dossier,
    component: &ComponentRef,
    from: &PositionRef,
    at: Instant,
) -> Result<(), Refusal> {
    let here = dossier.fitments_of(component).filter(|it| it.at == *from);
    let here: Vec<&Fitment> = here.collect();
    let held = |it: &&Fitment| {
        let left = it.end.as_ref().is_some_and(|end| end.at < at);
        it.from < at && !left
    };
    if here.iter().any(held) {
        return Ok(());
    }
    let what = format!("{component} removed from {from} at {at}", at = at.told());
    let later = here.iter().filter(|it| at <= it.from);
    if let Some(came) = later.min_by_key(|it| it.from) {
        return Err(Refusal::Contradicts {
            what,
            by: came.fitted_by,
            since: came.from.into(),
            allowed: "it was not there before: give a later time, or record on its own page that \
                      it was taken out of its assembly",
        });
    }
    let ends = here.iter().filter_map(|it| it.end.as_ref());
    Err(match ends.max_by_key(|end| end.at) {
        Some(left) => Refusal::Contradicts {
            what,
            by: left.by,
            since: left.at.into(),
            allowed: "it had left that place before; remove it from where it is now",
        },
        None => Refusal::Impossible {
            field: "from",
            given: from.to_string(),
            allowed: format!("the position of a car at which {component} was then, or none"),
        },
    })
}

/// Checks that nothing else is at the position, nor at any place on cars that the component and
/// what is inside it would then have.
fn position_free(
    dossier: &Dossier,
    component: &ComponentRef,
    (at, over): (&HostPosition, Period),
    leaving: &[&ComponentRef],
) -> Result<(), Refusal> {
    let mut there = dossier.own_fitments_at(at);
    let taken = there
        .find(|other| !leaving.contains(&&other.component) && other.period().meet(over).is_some());
    if let Some(other) = taken {
        return Err(Refusal::PositionTaken {
            position: at.clone().into(),
            holds: other.component.clone(),
            by: other.fitted_by,
        });
    }
    let with_them = leaving
        .iter()
        .flat_map(|one| dossier.contents_at(one, over.from));
    let leaving: BTreeSet<&ComponentRef> = with_them
        .map(|own| &own.component)
        .chain(leaving.iter().copied())
        .collect();
    for one in dossier.would_be(component, at, over) {
        let mut there = dossier.fitments_at(&one.at);
        let taken = there.find(|other| {
            let another = other.component != one.component && !leaving.contains(&other.component);
            another && other.period().meet(one.over).is_some()
        });
        if let Some(other) = taken {
            return Err(taken_on_car(&one.at, &other.component, other.fitted_by));
        }
    }
    Ok(())
}

fn taken_on_car(at: &PositionRef, holds: &ComponentRef, by: Seq) -> Refusal {
    Refusal::PositionTaken {
        position: at.clone().into(),
        holds: holds.clone(),
        by,
    }
}

/// Checks that a component, and all inside it, were fit for fitting when it was put at a position
/// and whenever the assembly of that was put elsewhere in the period.
fn ready(
    dossier: &Dossier,
    component: &ComponentRef,
    (at, over): (&HostPosition, Period),
) -> Result<(), Refusal> {
    let mut moments = vec![over.from];
    let mut later = Vec::new();
    dossier.starts_above(at, over, &mut later);
    moments.extend(later.into_iter().map(|(at, _)| at));
    for moment in moments {
        serviceable_at(dossier, component, moment)?;
        for inner in dossier.contents_at(component, moment) {
            serviceable_at(dossier, &inner.component, moment)?;
        }
    }
    if goes_on_a_car(dossier, at, over.from) {
        complete_at(dossier, component, over.from)
    } else {
        Ok(())
    }
}

/// Checks that a component was fit for fitting at a moment. It may have been judged otherwise
/// since then, where it stood.
fn serviceable_at(dossier: &Dossier, component: &ComponentRef, at: Instant) -> Result<(), Refusal> {
    let record = known(dossier, component)?;
    let then = dossier.condition_at(component, at);
    let condition = then.unwrap_or(record.condition);
    if condition == Condition::Serviceable {
        return not_beyond_salvage(dossier, component, at);
    }
    Err(Refusal::ConditionForbids {
        component: component.clone(),
        condition,
        allowed: "only a serviceable component is fitted; judge it on evidence first",
    })
}

/// Checks that nobody told only after a component was judged serviceable that it was beyond salvage
/// before. What was fitted before that was told is history, and may be corrected.
fn not_beyond_salvage(
    dossier: &Dossier,
    component: &ComponentRef,
    at: Instant,
) -> Result<(), Refusal> {
    if !dossier.changes.withdrawn.is_empty() {
        return Ok(());
    }
    let mut said = dossier.states_of(component).iter();
    let beyond =
        said.find(|state| state.since <= at && state.condition == Some(Condition::BeyondSalvage));
    match beyond {
        None => Ok(()),
        Some(state) => Err(Refusal::Contradicts {
            what: format!("{component} fitted then"),
            by: state.by,
            since: state.since.into(),
            allowed: "what is beyond salvage is never fitted again; correct that entry if it is wrong",
        }),
    }
}

fn goes_on_a_car(dossier: &Dossier, at: &HostPosition, moment: Instant) -> bool {
    at.assembly().is_none_or(|assembly| {
        let mut places = dossier.fitments_of(assembly);
        places.any(|fitment| fitment.period().holds(moment))
    })
}

/// Checks that the positions that must be filled are, in a component and in all inside it.
fn complete_at(dossier: &Dossier, component: &ComponentRef, at: Instant) -> Result<(), Refusal> {
    let contents = dossier.contents_at(component, at);
    let inner = contents.iter().map(|own| &own.component);
    for assembly in std::iter::once(component).chain(inner) {
        let part = dossier.documents.part(&assembly.part);
        let needed = part.into_iter().flat_map(|part| &part.positions);
        for position in needed.filter(|position| position.vacancy == Vacancy::Forbidden) {
            let place = HostPosition {
                host: Host::Assembly(assembly.clone()),
                position: position.code.clone(),
            };
            if contents.iter().all(|own| own.at != place) {
                return Err(Refusal::Vacant {
                    assembly: assembly.clone(),
                    position: position.code.clone(),
                });
            }
        }
    }
    Ok(())
}

/// The first moment at which an assembly went on a car without what it needs, with the entry that
/// put it there.
pub(in crate::ledger::record) fn went_on_incomplete(
    dossier: &Dossier,
    assembly: &ComponentRef,
) -> Option<(Instant, Seq)> {
    let incomplete = |(at, _): &(Instant, Seq)| {
        let mut places = dossier.fitments_of(assembly);
        let on_a_car = places.any(|fitment| fitment.period().holds(*at));
        on_a_car && complete_at(dossier, assembly, *at).is_err()
    };
    let starts = dossier.starts_of(assembly, None).into_iter();
    starts.filter(incomplete).min()
}

/// Checks that an assembly is empty from a moment on, as what is scrapped must be.
pub(in crate::ledger::record) fn empty_from(
    dossier: &Dossier,
    assembly: &ComponentRef,
    at: Instant,
) -> Result<(), Refusal> {
    let mut inside = dossier.inside(assembly);
    match inside.find(|own| own.period().meet(Period::since(at)).is_some()) {
        None => Ok(()),
        Some(own) => Err(Refusal::PositionTaken {
            position: own.at.clone().into(),
            holds: own.component.clone(),
            by: own.fitted_by,
        }),
    }
}

/// Checks that after a correction no two components share a place on a car and a moment.
pub(in crate::ledger::record) fn places_hold(dossier: &Dossier) -> Result<(), Refusal> {
    let changed = dossier.changes.fitments.iter();
    for fitment in changed.filter_map(|id| dossier.fitment(*id)) {
        let mut there = dossier.fitments_at(&fitment.at);
        let taken = there.find(|other| {
            other.id != fitment.id && other.period().meet(fitment.period()).is_some()
        });
        if let Some(other) = taken {
            return Err(taken_on_car(&fitment.at, &other.component, other.fitted_by));
        }
    }
    Ok(())
}
