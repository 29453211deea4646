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
    use crate::configuration::component::ComponentRef;
    use crate::configuration::host::{Host, HostPosition};
    use crate::ledger::dossier::{FitmentId, Which};

    fn moment(day: i64) -> Instant {
        Instant::from_microseconds(day * 86_400_000_000).expect("a moment")
    }

    /// A fitment by an entry on a day, ended by the next entry on the day after.
    fn own(by: i64, from: i64, reason: RemovalReason) -> OwnFitment {
        OwnFitment {
            id: FitmentId::of(Seq(by), Which::First),
            component: ComponentRef {
                part: "V".parse().expect("a part"),
                serial: "1".parse().expect("a serial"),
            },
            at: HostPosition {
                host: Host::Car("4101".parse().expect("a car")),
                position: "=B1".parse().expect("a code"),
            },
            from: moment(from),
            fitted_by: Seq(by),
            from_location: None,
            end: Some(FitmentEnd {
                at: moment(from + 1),
                by: Seq(by + 1),
                reason: Some(reason),
                to: None,
            }),
        }
    }

    #[test]
    fn what_came_off_as_evidence_awaits_a_hold_set_since() {
        let quarantined = Condition::Quarantined;
        let off = [
            own(1, 1, RemovalReason::Failed),
            own(4, 5, RemovalReason::Evidence),
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
