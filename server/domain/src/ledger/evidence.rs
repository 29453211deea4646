//! What came off as evidence and nobody held since. Until a hold was set, and lifted by whoever set
//! it, nothing is done to it.

use crate::configuration::component::{Condition, RemovalReason};
use crate::ledger::dossier::{FitmentEnd, OwnFitment};
use crate::ledger::entry::Seq;
use crate::time::Instant;

/// How a component came off as evidence, if it is still kept apart and no hold on it was set since:
/// of each, the entry that set it and since when it holds. Linear in both.
pub fn awaits_hold<'a>(
    condition: Condition,
    fitments: impl IntoIterator<Item = &'a OwnFitment>,
    holds: impl IntoIterator<Item = (Seq, Instant)>,
) -> Option<&'a FitmentEnd> {
    if !condition.stays_held() {
        return None;
    }
    let last = fitments.into_iter().max_by_key(|own| own.from)?;
    let end = last.end.as_ref()?;
    if end.reason != Some(RemovalReason::Evidence) {
        return None;
    }
    let mut holds = holds.into_iter();
    let held = holds.any(|(by, since)| end.by < by || end.at <= since);
    (!held).then_some(end)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::examples::{moment, own};

    #[test]
    fn what_came_off_as_evidence_awaits_a_hold_set_since() {
        let quarantined = Condition::Quarantined;
        let off = [
            own(1, (1, 2), Some(RemovalReason::Failed)),
            own(4, (5, 6), Some(RemovalReason::Evidence)),
        ];
        let awaits = |condition, holds: &[(Seq, Instant)]| {
            awaits_hold(condition, &off, holds.iter().copied()).map(|end| end.by)
        };
        assert_eq!(awaits(quarantined, &[]), Some(Seq(5)));
        assert_eq!(awaits(quarantined, &[(Seq(3), moment(4))]), Some(Seq(5)));
        assert_eq!(awaits(quarantined, &[(Seq(7), moment(5))]), None);
        assert_eq!(awaits(Condition::Serviceable, &[]), None);
        let failed = awaits_hold(quarantined, &off[..1], []);
        assert_eq!(failed, None);
    }
}
