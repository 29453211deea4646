//! Fitting, removing, moving and swapping. At any effective time a component is in one place
//! and a position holds one component at most.

use super::components::{check_condition_after, known, not_before_whereabouts, taken_off};
use crate::configuration::component::{ComponentRef, Condition, PositionRef, RemovalReason};
use crate::ledger::dossier::{
    ComponentRecord, ComponentState, Dossier, Fitment, FitmentEnd, FitmentId, MeterValues,
    Whereabouts, Which,
};
use crate::ledger::entry::Entry;
use crate::ledger::fact::{Fitting, Removal};
use crate::refusal::Refusal;
use crate::time::Instant;

pub(super) fn check_fitted(
    dossier: &Dossier,
    fitting: &Fitting,
    at: Instant,
) -> Result<(), Refusal> {
    let record = known(dossier, &fitting.component)?;
    approved(dossier, &fitting.component, &fitting.at)?;
    let until = fitting.ended.as_ref().map(|ended| ended.at);
    if until.is_some_and(|until| until <= at) {
        return Err(Refusal::Impossible {
            field: "until",
            given: until.map_or_else(String::new, |until| until.to_string()),
            allowed: format!("a time after it was fitted at {at}"),
        });
    }
    if at < record.received_at {
        return Err(Refusal::Contradicts {
            what: format!("{} fitted at {at}", fitting.component),
            by: record.id,
            since: record.received_at,
            allowed: "give a time after it was received",
        });
    }
    component_free(dossier, &fitting.component, at, until)?;
    position_free(dossier, &fitting.at, at, until)?;
    serviceable_at(dossier, record, at)?;
    not_scrapped_before(dossier, record, until)?;
    match &fitting.ended {
        Some(ended) => check_condition_after(dossier, &record.component, &ended.removal, ended.at),
        None => not_before_whereabouts(record, at, "fitted"),
    }
}

/// Checks that a component was fit for fitting at a moment. It may have been judged otherwise
/// since then, where it stood.
fn serviceable_at(dossier: &Dossier, record: &ComponentRecord, at: Instant) -> Result<(), Refusal> {
    let then = dossier.condition_at(&record.component, at);
    let condition = then.unwrap_or(record.condition);
    if condition == Condition::Serviceable {
        return Ok(());
    }
    Err(Refusal::ConditionForbids {
        component: record.component.clone(),
        condition,
        allowed: "only a serviceable component is fitted; judge it on evidence first",
    })
}

/// Checks that a component was not scrapped before it came off, if it did.
fn not_scrapped_before(
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
            since: state.since,
            allowed: "what is scrapped is not fitted; correct that entry if it is wrong",
        }),
    }
}

/// Checks that the car's baseline approves the part at the position.
fn approved(dossier: &Dossier, component: &ComponentRef, at: &PositionRef) -> Result<(), Refusal> {
    let record = super::cars::known_car(dossier, &at.car)?;
    let unknown = || Refusal::Unknown {
        what: "position",
        name: at.to_string(),
    };
    let car_type = dossier
        .documents
        .car_type(&record.car)
        .ok_or_else(unknown)?;
    let position = car_type.position(&at.position).ok_or_else(unknown)?;
    if position.approved.contains(&component.part) {
        return Ok(());
    }
    let approved: Vec<&str> = position
        .approved
        .iter()
        .map(crate::identity::PartNumber::as_str)
        .collect();
    let approved = if approved.is_empty() {
        "none".to_owned()
    } else {
        approved.join(", ")
    };
    Err(Refusal::NotApproved {
        part: component.part.clone(),
        position: at.clone(),
        approved,
    })
}

fn component_free(
    dossier: &Dossier,
    component: &ComponentRef,
    from: Instant,
    until: Option<Instant>,
) -> Result<(), Refusal> {
    match dossier
        .fitments_of(component)
        .find(|other| other.overlaps(from, until))
    {
        None => Ok(()),
        Some(other) => Err(Refusal::FittedElsewhere {
            component: component.clone(),
            at: other.at.clone(),
            by: other.fitted_by,
        }),
    }
}

fn position_free(
    dossier: &Dossier,
    position: &PositionRef,
    from: Instant,
    until: Option<Instant>,
) -> Result<(), Refusal> {
    match dossier
        .fitments_at(position)
        .find(|other| other.overlaps(from, until))
    {
        None => Ok(()),
        Some(other) => Err(Refusal::PositionTaken {
            position: position.clone(),
            holds: other.component.clone(),
            by: other.fitted_by,
        }),
    }
}

pub(super) fn fold_fitted(dossier: &mut Dossier, entry: &Entry, fitting: &Fitting) {
    let end = fitting
        .ended
        .as_ref()
        .map(|ended| end_of(entry, ended.at, &ended.removal));
    let from_location = dossier
        .components
        .get(&fitting.component)
        .and_then(|record| record.location.clone());
    let fitment = Fitment {
        id: FitmentId::of(entry.seq, Which::First),
        component: fitting.component.clone(),
        at: fitting.at.clone(),
        from: entry.effective_at,
        fitted_by: entry.seq,
        from_location,
        end,
        meters_from: MeterValues::default(),
        meters_until: MeterValues::default(),
    };
    dossier.put_fitment(fitment);
    match &fitting.ended {
        Some(ended) => {
            let state = taken_off(entry.seq, ended.at, &ended.removal);
            dossier.put_state(&fitting.component, state);
        }
        None => put_on(dossier, entry, &fitting.component),
    }
}

fn end_of(entry: &Entry, at: Instant, removal: &Removal) -> FitmentEnd {
    FitmentEnd {
        at,
        by: entry.seq,
        reason: removal.reason,
        to: Some(removal.to.clone()),
    }
}

fn put_on(dossier: &mut Dossier, entry: &Entry, component: &ComponentRef) {
    let state = ComponentState {
        by: entry.seq,
        since: entry.effective_at,
        whereabouts: Some(Whereabouts::Fitted),
        condition: None,
    };
    dossier.put_state(component, state);
}

/// The fitment that a component is in, if it can end at that time.
fn ends_at<'a>(
    dossier: &'a Dossier,
    component: &ComponentRef,
    at: Instant,
) -> Result<&'a Fitment, Refusal> {
    known(dossier, component)?;
    let not_fitted = || Refusal::NotFitted {
        component: component.clone(),
    };
    let fitment = dossier.open_fitment(component).ok_or_else(not_fitted)?;
    if fitment.from < at {
        return Ok(fitment);
    }
    Err(Refusal::Contradicts {
        what: format!("{component} removed at {at}"),
        by: fitment.fitted_by,
        since: fitment.from,
        allowed: "give a time after it was fitted",
    })
}

pub(super) fn check_removed(
    dossier: &Dossier,
    component: &ComponentRef,
    removal: &Removal,
    at: Instant,
) -> Result<(), Refusal> {
    ends_at(dossier, component, at)?;
    check_condition_after(dossier, component, removal, at)
}

pub(super) fn fold_removed(
    dossier: &mut Dossier,
    entry: &Entry,
    component: &ComponentRef,
    removal: &Removal,
) {
    end_open(
        dossier,
        component,
        &end_of(entry, entry.effective_at, removal),
    );
    let state = taken_off(entry.seq, entry.effective_at, removal);
    dossier.put_state(component, state);
}

/// Ends the open fitment of a component and returns it as it was.
fn end_open(dossier: &mut Dossier, component: &ComponentRef, end: &FitmentEnd) -> Option<Fitment> {
    let before = dossier.open_fitment(component)?.clone();
    dossier.put_fitment(Fitment {
        end: Some(end.clone()),
        ..before.clone()
    });
    Some(before)
}

pub(super) fn check_moved(
    dossier: &Dossier,
    component: &ComponentRef,
    to: &PositionRef,
    at: Instant,
) -> Result<(), Refusal> {
    ends_at(dossier, component, at)?;
    approved(dossier, component, to)?;
    position_free(dossier, to, at, None)?;
    serviceable_at(dossier, known(dossier, component)?, at)
}

pub(super) fn fold_moved(
    dossier: &mut Dossier,
    entry: &Entry,
    component: &ComponentRef,
    (to, reason): (&PositionRef, RemovalReason),
) {
    let end = FitmentEnd {
        at: entry.effective_at,
        by: entry.seq,
        reason,
        to: None,
    };
    end_open(dossier, component, &end);
    begin(dossier, entry, (component, Which::First), to);
}

/// Begins a fitment of a component that comes straight from another position.
fn begin(
    dossier: &mut Dossier,
    entry: &Entry,
    (component, which): (&ComponentRef, Which),
    at: &PositionRef,
) {
    dossier.put_fitment(Fitment {
        id: FitmentId::of(entry.seq, which),
        component: component.clone(),
        at: at.clone(),
        from: entry.effective_at,
        fitted_by: entry.seq,
        from_location: None,
        end: None,
        meters_from: MeterValues::default(),
        meters_until: MeterValues::default(),
    });
    put_on(dossier, entry, component);
}

pub(super) fn check_swapped(
    dossier: &Dossier,
    [first, second]: [&ComponentRef; 2],
    at: Instant,
) -> Result<(), Refusal> {
    if first == second {
        return Err(Refusal::Impossible {
            field: "serial",
            given: second.to_string(),
            allowed: "another component than the first".into(),
        });
    }
    let one = ends_at(dossier, first, at)?;
    let other = ends_at(dossier, second, at)?;
    approved(dossier, first, &other.at)?;
    approved(dossier, second, &one.at)?;
    serviceable_at(dossier, known(dossier, first)?, at)?;
    serviceable_at(dossier, known(dossier, second)?, at)
}

pub(super) fn fold_swapped(
    dossier: &mut Dossier,
    entry: &Entry,
    [first, second]: [&ComponentRef; 2],
    reason: RemovalReason,
) {
    let end = FitmentEnd {
        at: entry.effective_at,
        by: entry.seq,
        reason,
        to: None,
    };
    let before = [
        end_open(dossier, first, &end),
        end_open(dossier, second, &end),
    ];
    if let [Some(one), Some(other)] = before {
        begin(dossier, entry, (first, Which::First), &other.at);
        begin(dossier, entry, (second, Which::Second), &one.at);
    }
}
