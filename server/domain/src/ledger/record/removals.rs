//! What a reason for a removal says of the component that came off, and on what evidence it is
//! serviceable.

use super::permitted::{Text, plausible_text};
use crate::configuration::component::{ComponentRef, Condition, RemovalReason};
use crate::ledger::fact::Removal;
use crate::people::{Actor, Authority};
use crate::refusal::Refusal;

/// Refuses to call serviceable what came off for a reason that casts a doubt on it: it would go to
/// the next car unseen. What was recalled or is evidence is kept apart.
pub(super) fn check_reason(removal: &Removal) -> Result<(), Refusal> {
    let Removal {
        reason, condition, ..
    } = removal;
    let refused = |allowed: &str| {
        Err(Refusal::Impossible {
            field: "condition",
            given: format!("{condition} for what came off as {reason}"),
            allowed: allowed.to_owned(),
        })
    };
    if reason.quarantines() && !condition.stays_held() {
        return refused("quarantined, or worse, until two people release it");
    }
    if *condition == Condition::Serviceable && !reason.leaves_serviceable() {
        return refused("it is to be judged, or worse, until somebody judges it on evidence");
    }
    Ok(())
}

/// A person who says that what came off is serviceable says on what evidence: no certificate from
/// before speaks of what was taken off. Of history that is brought in that may not be known.
fn check_evidence(actor: &Actor, removal: Option<&Removal>) -> Result<(), Refusal> {
    let Some(removal) = removal else {
        return Ok(());
    };
    let serviceable = removal.condition == Condition::Serviceable;
    let rule = if serviceable && actor.authority == Authority::Own {
        Text::Needed
    } else {
        Text::Free
    };
    plausible_text("evidence", removal.evidence.as_deref().unwrap_or(""), rule)
}

/// Refuses to let two components change places for a reason that casts a doubt on one of them, but
/// for the doubt itself: to see whether a fault goes with the first, which then is to be judged.
pub(super) fn check_reason_of_swap(
    first: &ComponentRef,
    reason: RemovalReason,
) -> Result<(), Refusal> {
    match reason {
        RemovalReason::Suspected => Ok(()),
        _ => check_reason_of_move(first, reason),
    }
}

/// Refuses to let a component go straight to another position for a reason that casts a doubt on
/// it: nobody would have judged it in between.
pub(super) fn check_reason_of_move(
    component: &ComponentRef,
    reason: RemovalReason,
) -> Result<(), Refusal> {
    if reason.leaves_serviceable() {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "reason",
        given: format!("{reason}, for {component} that goes straight to another position"),
        allowed: "a removal, after which it is to be judged before it is fitted again".to_owned(),
    })
}

/// Checks what a person must say of a removal beyond what history tells.
pub(super) fn check_said(actor: &Actor, removal: Option<&Removal>) -> Result<(), Refusal> {
    check_both_sides(actor, removal)?;
    check_evidence(actor, removal)
}

/// To rob one car for another is one entry with both sides: a move from position to position. Only
/// history that is brought in may not know the other side, which the component's life then says.
fn check_both_sides(actor: &Actor, removal: Option<&Removal>) -> Result<(), Refusal> {
    let robbed = removal.is_some_and(|removal| removal.reason == RemovalReason::Robbed);
    if !robbed || actor.authority == Authority::Founder {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "reason",
        given: "robbed, without the position it went to".to_owned(),
        allowed: "a move to the position that was helped, which is one entry with both sides"
            .to_owned(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::location::Sent;

    #[test]
    fn what_failed_is_not_serviceable_and_what_stood_in_the_way_may_be() {
        let off = |reason, condition| Removal {
            reason,
            to: "Store North".parse().expect("a name"),
            sent: Sent::default(),
            condition,
            evidence: None,
        };
        for reason in RemovalReason::ALL {
            let serviceable = check_reason(&off(*reason, Condition::Serviceable));
            assert_eq!(serviceable.is_ok(), reason.leaves_serviceable(), "{reason}");
            assert!(check_reason(&off(*reason, reason.leaves())).is_ok());
            let to_be_judged = check_reason(&off(*reason, Condition::RemovedToBeJudged));
            assert_eq!(to_be_judged.is_err(), reason.quarantines(), "{reason}");
        }
        let component = ComponentRef {
            part: "DV/210".parse().expect("a part number"),
            serial: "1".parse().expect("a serial number"),
        };
        for reason in RemovalReason::ALL {
            let moved = check_reason_of_move(&component, *reason);
            assert_eq!(moved.is_ok(), reason.leaves_serviceable(), "{reason}");
            let swapped = check_reason_of_swap(&component, *reason);
            let tried = *reason == RemovalReason::Suspected;
            assert_eq!(swapped.is_ok(), moved.is_ok() || tried, "{reason}");
        }
        assert!(!RemovalReason::Failed.leaves_serviceable());
        assert!(!RemovalReason::Suspected.leaves_serviceable());
        assert!(RemovalReason::Access.leaves_serviceable());
        assert!(RemovalReason::Recall.quarantines());
        assert!(RemovalReason::Evidence.quarantines());
        assert!(!RemovalReason::Failed.quarantines());
    }

    #[test]
    fn a_person_says_on_what_evidence_what_came_off_is_serviceable() {
        let off = |condition, evidence: Option<&str>| Removal {
            reason: RemovalReason::Access,
            to: "Store North".parse().expect("a name"),
            sent: Sent::default(),
            condition,
            evidence: evidence.map(str::to_owned),
        };
        let person = Actor::account("T. Technician".parse().expect("a name"), Vec::new());
        let founder = Actor {
            authority: Authority::Founder,
            ..person.clone()
        };
        for silent in [None, Some(" ")] {
            let silent = off(Condition::Serviceable, silent);
            let refused = check_evidence(&person, Some(&silent)).expect_err("no evidence");
            assert_eq!(refused.field(), "evidence", "{refused}");
            assert!(check_evidence(&founder, Some(&silent)).is_ok());
        }
        let said = off(Condition::Serviceable, Some("test 12"));
        assert!(check_evidence(&person, Some(&said)).is_ok());
        let to_be_judged = off(Condition::RemovedToBeJudged, None);
        assert!(check_evidence(&person, Some(&to_be_judged)).is_ok());
        assert!(check_evidence(&person, None).is_ok());
    }
}
