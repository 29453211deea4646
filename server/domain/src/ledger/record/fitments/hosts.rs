//! What leaves an assembly that is not serviceable. What befell the assembly may have befallen what
//! is inside it, so that comes out to be judged by itself, and goes straight to no other position.

use crate::configuration::component::{ComponentRef, Condition};
use crate::configuration::host::HostPosition;
use crate::configuration::part::LEVELS_MAX;
use crate::ledger::dossier::{Dossier, OwnFitment};
use crate::ledger::entry::Seq;
use crate::ledger::fact::{Ended, Fact};
use crate::refusal::Refusal;
use crate::time::Instant;

/// An assembly that is not serviceable, since when, and the entry that says so.
struct Unfit<'a> {
    assembly: &'a ComponentRef,
    condition: Condition,
    since: Instant,
    by: Seq,
}

/// Checks what an entry takes out of an assembly, once it is known that it can.
pub(in crate::ledger::record) fn check_leaving(
    dossier: &Dossier,
    fact: &Fact,
    at: Instant,
) -> Result<(), Refusal> {
    match fact {
        Fact::Fitted(fitting) => match &fitting.ended {
            None => Ok(()),
            Some(Ended { at, removal }) => {
                let off = (&fitting.component, removal.condition);
                comes_out(dossier, off, &fitting.at, *at)
            }
        },
        Fact::Removed {
            component, removal, ..
        } => match place_before(dossier, component, at) {
            None => Ok(()),
            Some(from) => comes_out(dossier, (component, removal.condition), from, at),
        },
        Fact::Moved { component, to, .. } => match place_before(dossier, component, at) {
            None => Ok(()),
            Some(from) => stays_inside(dossier, component, (from, to), at),
        },
        Fact::Swapped { first, second, .. } => {
            let [one, other] = [first, second].map(|one| place_before(dossier, one, at));
            let Some((one, other)) = one.zip(other) else {
                return Ok(());
            };
            stays_inside(dossier, first, (one, other), at)?;
            stays_inside(dossier, second, (other, one), at)
        }
        _ => Ok(()),
    }
}

/// Where a component was until a moment.
fn place_before<'a>(
    dossier: &'a Dossier,
    component: &ComponentRef,
    at: Instant,
) -> Option<&'a HostPosition> {
    let until_then = |own: &&OwnFitment| {
        let end = own.end.as_ref();
        own.from < at && end.is_none_or(|end| at <= end.at)
    };
    let own = dossier.own_fitments_of(component).filter(until_then);
    own.min_by_key(|own| own.from).map(|own| &own.at)
}

/// Refuses that a component goes straight to another position from inside what is not serviceable,
/// unless it stays inside that.
fn stays_inside(
    dossier: &Dossier,
    component: &ComponentRef,
    (from, to): (&HostPosition, &HostPosition),
    at: Instant,
) -> Result<(), Refusal> {
    let stays = assemblies_above(dossier, to, at);
    let mut left = unfit_above(dossier, from, at).into_iter();
    match left.find(|unfit| !stays.contains(&unfit.assembly)) {
        None => Ok(()),
        Some(unfit) => Err(unfit.refuses(
            &format!("{component} straight to another position"),
            "take it out to a location, where it is judged by itself before it is fitted",
        )),
    }
}

/// Refuses that a component comes out of what is not serviceable as serviceable.
fn comes_out(
    dossier: &Dossier,
    (component, condition): (&ComponentRef, Condition),
    from: &HostPosition,
    at: Instant,
) -> Result<(), Refusal> {
    let unfit = unfit_above(dossier, from, at).into_iter().next();
    match unfit.filter(|_| condition == Condition::Serviceable) {
        None => Ok(()),
        Some(unfit) => Err(unfit.refuses(
            &format!("{component} taken out as {condition}"),
            "it comes out to be judged, or worse, until somebody judges it on evidence",
        )),
    }
}

impl Unfit<'_> {
    fn refuses(&self, what: &str, allowed: &'static str) -> Refusal {
        let Unfit {
            assembly,
            condition,
            ..
        } = self;
        Refusal::Contradicts {
            what: format!("{what} from inside {assembly}, which is {condition},"),
            by: self.by,
            since: self.since.into(),
            allowed,
        }
    }
}

/// The assemblies that a position is inside at a moment, the nearest first.
fn assemblies_above<'a>(
    dossier: &'a Dossier,
    position: &'a HostPosition,
    at: Instant,
) -> Vec<&'a ComponentRef> {
    let mut above = Vec::new();
    let mut next = position.assembly();
    while let Some(assembly) = next.filter(|_| above.len() < LEVELS_MAX) {
        above.push(assembly);
        let mut own = dossier.own_fitments_of(assembly);
        let there = own.find(|own| own.period().holds(at));
        next = there.and_then(|own| own.at.assembly());
    }
    above
}

/// Those of them that are not serviceable then.
fn unfit_above<'a>(
    dossier: &'a Dossier,
    position: &'a HostPosition,
    at: Instant,
) -> Vec<Unfit<'a>> {
    let unfit = |assembly: &'a ComponentRef| {
        let until = dossier.states_of(assembly).iter();
        let until = until.filter(|state| state.since <= at);
        let mut said = until.filter_map(|state| Some((state.condition?, state.since, state.by)));
        let (condition, since, by) = said.next_back()?;
        (condition != Condition::Serviceable).then_some(Unfit {
            assembly,
            condition,
            since,
            by,
        })
    };
    let above = assemblies_above(dossier, position, at).into_iter();
    above.filter_map(unfit).collect()
}
