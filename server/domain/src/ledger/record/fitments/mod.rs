//! Fitting, removing, moving and swapping, on cars and in assemblies. At any effective time a
//! component is in one place and a position holds one component at most; what is inside a
//! component goes with it.

mod checks;
mod hosts;

pub(super) use checks::{empty_from, places_hold, went_on_incomplete};
pub(super) use hosts::check_leaving;

use super::components::{check_condition_after, known, not_before_whereabouts, taken_off};
use super::removals::{check_reason_of_move, check_reason_of_swap};
use crate::configuration::component::{ComponentRef, Condition, PositionRef, RemovalReason};
use crate::configuration::host::HostPosition;
use crate::identity::ConcessionNumber;
use crate::ledger::dossier::{
    ComponentState, Dossier, FitmentEnd, FitmentId, OwnFitment, Period, Whereabouts, Which,
};
use crate::ledger::entry::Entry;
use crate::ledger::fact::{Fact, Fitting, Removal};
use crate::refusal::Refusal;
use crate::time::Instant;
use checks::{component_free, may_be_at, not_scrapped_before, received_before, was_there};

pub(super) fn check_fitted(
    dossier: &Dossier,
    fitting: &Fitting,
    at: Instant,
) -> Result<(), Refusal> {
    let record = known(dossier, &fitting.component)?;
    let until = fitting.ended.as_ref().map(|ended| ended.at);
    let later = ended_later(dossier, (&fitting.component, &fitting.at));
    if until.is_some_and(|until| until <= at) {
        return Err(Refusal::Impossible {
            field: "until",
            given: until.map_or_else(String::new, |until| until.to_string()),
            allowed: format!("a time after it was fitted at {at}", at = at.told()),
        });
    }
    let until = until.or(later.map(|end| end.at));
    let over = Period { from: at, until };
    received_before(record, at)?;
    component_free(dossier, &fitting.component, over)?;
    let allowed = (&fitting.component, fitting.concession.as_ref());
    may_be_at(dossier, allowed, (&fitting.at, over), &[])?;
    not_scrapped_before(dossier, record, until)?;
    match (&fitting.ended, later) {
        (Some(ended), _) => {
            check_condition_after(dossier, &record.component, &ended.removal, ended.at)
        }
        // What takes the place of an entry passes nothing else that is said of the component.
        (None, Some(_)) => Ok(()),
        (None, None) => not_before_whereabouts(record, at, "fitted"),
    }
}

/// How a later entry ended what a component did at a position by the entry that is corrected.
fn ended_later<'a>(
    dossier: &'a Dossier,
    (component, at): (&ComponentRef, &HostPosition),
) -> Option<&'a FitmentEnd> {
    dossier.ended_later.fitment(component, at)
}

pub(super) fn fold_fitted(dossier: &mut Dossier, entry: &Entry, fitting: &Fitting) {
    let end = fitting
        .ended
        .as_ref()
        .map(|ended| end_of(entry, ended.at, &ended.removal));
    let later = ended_later(dossier, (&fitting.component, &fitting.at)).cloned();
    let from_location = match &later {
        Some(_) => dossier.kept_before(&fitting.component, entry.effective_at),
        None => dossier
            .components
            .get(&fitting.component)
            .and_then(|record| record.location().cloned()),
    };
    dossier.put_own_fitment(OwnFitment {
        id: FitmentId::of(entry.seq, Which::First),
        component: fitting.component.clone(),
        at: fitting.at.clone(),
        from: entry.effective_at,
        fitted_by: entry.seq,
        from_location,
        end: end.or(later),
    });
    match &fitting.ended {
        Some(ended) => {
            let state = taken_off(entry.seq, ended.at, &ended.removal);
            dossier.put_state(&fitting.component, state);
        }
        None => put_on(dossier, entry, (&fitting.component, None)),
    }
}

fn end_of(entry: &Entry, at: Instant, removal: &Removal) -> FitmentEnd {
    FitmentEnd {
        at,
        by: entry.seq,
        reason: Some(removal.reason),
        to: Some(removal.to.clone()),
    }
}

fn put_on(
    dossier: &mut Dossier,
    entry: &Entry,
    (component, condition): (&ComponentRef, Option<Condition>),
) {
    let state = ComponentState {
        by: entry.seq,
        since: entry.effective_at,
        whereabouts: Some(Whereabouts::Fitted),
        condition,
        modification: None,
        batch: None,
    };
    dossier.put_state(component, state);
}

/// Where a component is, if that can end at that time.
fn ends_at<'a>(
    dossier: &'a Dossier,
    component: &ComponentRef,
    at: Instant,
) -> Result<&'a OwnFitment, Refusal> {
    known(dossier, component)?;
    let not_fitted = || Refusal::NotFitted {
        component: component.clone(),
    };
    let fitment = dossier.open_own_fitment(component).ok_or_else(not_fitted)?;
    if fitment.from < at {
        return Ok(fitment);
    }
    Err(Refusal::Contradicts {
        what: format!("{component} removed at {at}", at = at.told()),
        by: fitment.fitted_by,
        since: fitment.from.into(),
        allowed: "give a time after it was fitted",
    })
}

fn check_removed(
    dossier: &Dossier,
    (component, from): (&ComponentRef, Option<&PositionRef>),
    removal: &Removal,
    at: Instant,
) -> Result<(), Refusal> {
    ends_at(dossier, component, at)?;
    if let Some(from) = from {
        was_there(dossier, component, from, at)?;
    }
    check_condition_after(dossier, component, removal, at)
}

fn fold_removed(dossier: &mut Dossier, entry: &Entry, component: &ComponentRef, removal: &Removal) {
    end_open(
        dossier,
        component,
        &end_of(entry, entry.effective_at, removal),
    );
    let state = taken_off(entry.seq, entry.effective_at, removal);
    dossier.put_state(component, state);
}

/// Ends the open fitment of a component and returns it as it was.
fn end_open(
    dossier: &mut Dossier,
    component: &ComponentRef,
    end: &FitmentEnd,
) -> Option<OwnFitment> {
    let before = dossier.open_own_fitment(component)?.clone();
    dossier.put_own_fitment(OwnFitment {
        end: Some(end.clone()),
        ..before.clone()
    });
    Some(before)
}

/// Checks a component that leaves a position, for a location or straight for another position, or
/// two that change places.
pub(super) fn check_from_place(dossier: &Dossier, fact: &Fact, at: Instant) -> Result<(), Refusal> {
    match fact {
        Fact::Removed {
            component,
            from,
            removal,
        } => check_removed(dossier, (component, from.as_deref()), removal, at),
        Fact::Moved {
            component,
            to,
            reason,
            concession,
        } => {
            check_reason_of_move(component, *reason)?;
            check_moved(dossier, (component, concession.as_ref()), to, at)
        }
        Fact::Swapped {
            first,
            second,
            first_concession,
            second_concession,
            reason,
        } => {
            check_reason_of_swap(first, *reason)?;
            let one = (first, first_concession.as_ref());
            check_swapped(dossier, [one, (second, second_concession.as_ref())], at)
        }
        _ => Ok(()),
    }
}

/// A component, and the concession under which it is put somewhere, if it is.
type UnderConcession<'a> = (&'a ComponentRef, Option<&'a ConcessionNumber>);

fn check_moved(
    dossier: &Dossier,
    moved: UnderConcession<'_>,
    to: &HostPosition,
    at: Instant,
) -> Result<(), Refusal> {
    ends_at(dossier, moved.0, at)?;
    may_be_at(
        dossier,
        moved,
        (to, from_then(dossier, (moved.0, to), at)),
        &[],
    )
}

/// How long a component is at a position to which it comes at a time.
fn from_then(dossier: &Dossier, put: (&ComponentRef, &HostPosition), at: Instant) -> Period {
    Period {
        from: at,
        until: ended_later(dossier, put).map(|end| end.at),
    }
}

/// Folds a component that leaves a position, or two that change places.
pub(super) fn fold_from_place(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::Removed {
            component, removal, ..
        } => fold_removed(dossier, entry, component, removal),
        Fact::Moved {
            component,
            to,
            reason,
            ..
        } => fold_moved(dossier, entry, component, (to, *reason)),
        Fact::Swapped {
            first,
            second,
            reason,
            ..
        } => fold_swapped(dossier, entry, [first, second], *reason),
        _ => {}
    }
}

fn fold_moved(
    dossier: &mut Dossier,
    entry: &Entry,
    component: &ComponentRef,
    (to, reason): (&HostPosition, RemovalReason),
) {
    let end = FitmentEnd {
        at: entry.effective_at,
        by: entry.seq,
        reason: Some(reason),
        to: None,
    };
    end_open(dossier, component, &end);
    begin(dossier, entry, (component, Which::First), to);
    put_on(dossier, entry, (component, None));
}

/// Begins a fitment of a component that comes straight from another position.
fn begin(
    dossier: &mut Dossier,
    entry: &Entry,
    (component, which): (&ComponentRef, Which),
    at: &HostPosition,
) {
    let end = ended_later(dossier, (component, at)).cloned();
    dossier.put_own_fitment(OwnFitment {
        id: FitmentId::of(entry.seq, which),
        component: component.clone(),
        at: at.clone(),
        from: entry.effective_at,
        fitted_by: entry.seq,
        from_location: None,
        end,
    });
}

fn check_swapped(
    dossier: &Dossier,
    swapped: [UnderConcession<'_>; 2],
    at: Instant,
) -> Result<(), Refusal> {
    let [one_moved, other_moved] = swapped;
    let (first, second) = (one_moved.0, other_moved.0);
    if first == second {
        return Err(Refusal::Impossible {
            field: "serial",
            given: second.to_string(),
            allowed: "another component than the first".into(),
        });
    }
    let one = ends_at(dossier, first, at)?;
    let other = ends_at(dossier, second, at)?;
    let leaving = [first, second];
    let over = |component, to| from_then(dossier, (component, to), at);
    may_be_at(
        dossier,
        one_moved,
        (&other.at, over(first, &other.at)),
        &leaving,
    )?;
    may_be_at(
        dossier,
        other_moved,
        (&one.at, over(second, &one.at)),
        &leaving,
    )
}

/// Two change places. Where the first is suspected, the second only made way for it, and the first
/// is to be judged where it then is.
fn fold_swapped(
    dossier: &mut Dossier,
    entry: &Entry,
    [first, second]: [&ComponentRef; 2],
    reason: RemovalReason,
) {
    let (made_way, judged) = match reason {
        RemovalReason::Suspected => (RemovalReason::Access, Some(Condition::RemovedToBeJudged)),
        _ => (reason, None),
    };
    let end = |reason: RemovalReason| FitmentEnd {
        at: entry.effective_at,
        by: entry.seq,
        reason: Some(reason),
        to: None,
    };
    let before = [
        end_open(dossier, first, &end(reason)),
        end_open(dossier, second, &end(made_way)),
    ];
    if let [Some(one), Some(other)] = before {
        begin(dossier, entry, (first, Which::First), &other.at);
        begin(dossier, entry, (second, Which::Second), &one.at);
        put_on(dossier, entry, (first, judged));
        put_on(dossier, entry, (second, None));
    }
}
