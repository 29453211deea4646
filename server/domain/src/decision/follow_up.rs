//! Which checks after the cut-outs of a train are still open. A check of a cut-out is done once
//! for that cut-out; a check of the whole train only counts if it was confirmed after the last
//! change to any cock or coupling, since a test dies when something it proved is touched.

use super::checks::{Check, CheckKind};
use crate::identity::PersonName;
use crate::ledger::dossier::IsolationRecord;
use crate::ledger::entry::Seq;
use crate::time::Instant;

/// A check as a person confirmed it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ConfirmedCheck {
    /// The entry that recorded it.
    pub by: Seq,
    /// The entry of the cut-out that it belongs to.
    pub isolation: Seq,
    /// Which check.
    pub check: CheckKind,
    /// Who checked.
    pub person: PersonName,
    /// When.
    pub at: Instant,
}

/// What the register knows of the cut-outs in force on a train.
#[derive(Debug, Clone, Default)]
pub struct Followed<'a> {
    /// The cut-outs in force.
    pub isolations: Vec<&'a IsolationRecord>,
    /// The checks confirmed for them.
    pub confirmed: Vec<&'a ConfirmedCheck>,
    /// The last entry that ended a cut-out on the train or formed it as it is.
    pub changed_by: Option<Seq>,
    /// The last decision about the train that stands: everybody is told anew after it.
    pub decided: Option<Seq>,
}

/// Whether a check is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done<'a> {
    /// Nobody has confirmed it.
    Open,
    /// It was confirmed, and something was changed since: it is open again.
    Outdated(&'a ConfirmedCheck),
    /// It is confirmed.
    Confirmed(&'a ConfirmedCheck),
}

impl Done<'_> {
    /// Whether somebody must still do it.
    pub fn is_open(self) -> bool {
        !matches!(self, Self::Confirmed(_))
    }
}

/// A check of a train as it stands, and whether it is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FollowUp<'a> {
    /// The check.
    pub check: &'a Check,
    /// The cut-out for which it is confirmed: of those that it proves the last one made, of a check
    /// of the train the last one of all.
    pub isolation: &'a IsolationRecord,
    /// Whether it is done.
    pub done: Done<'a>,
}

/// The checks with what was confirmed, in their order; those of supposed cut-outs are left out.
/// Cost: the checks times what was confirmed, both few.
pub fn follow_up<'a>(checks: &'a [Check], followed: &Followed<'a>) -> Vec<FollowUp<'a>> {
    let newest = followed.isolations.iter().map(|one| one.id).max();
    let last_change = newest.max(followed.changed_by);
    let since = |kind: CheckKind| match kind {
        CheckKind::EveryoneTold => last_change.max(followed.decided),
        _ => last_change,
    };
    let of_check = |check: &'a Check| {
        let of_train = check.of.is_empty();
        let in_force = followed.isolations.iter();
        let proved = in_force.filter(|one| of_train || check.of.contains(&one.cut_out.at));
        let isolation = *proved.max_by_key(|one| one.id)?;
        let confirmed = followed.confirmed.iter().filter(|confirmed| {
            let of_this = of_train || confirmed.isolation == isolation.id;
            confirmed.check == check.kind && of_this
        });
        let done = match confirmed.max_by_key(|confirmed| confirmed.by) {
            None => Done::Open,
            Some(one) if of_train && Some(one.by) < since(check.kind) => Done::Outdated(one),
            Some(one) => Done::Confirmed(one),
        };
        Some(FollowUp {
            check,
            isolation,
            done,
        })
    };
    checks.iter().filter_map(of_check).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::component::PositionRef;
    use crate::isolation::CutOutState;
    use crate::ledger::fact::CutOut;
    use crate::worked::Source;

    fn at(code: &str) -> PositionRef {
        PositionRef {
            car: "1".parse().expect("a car"),
            position: code.parse().expect("a code"),
        }
    }

    fn moment() -> Instant {
        "2026-01-01T00:00Z".parse().expect("a time")
    }

    fn isolation(id: i64, code: &str) -> IsolationRecord {
        IsolationRecord {
            id: Seq(id),
            cut_out: CutOut {
                at: at(code),
                state: CutOutState::ClosedVented,
                cause: String::new(),
                not_before: None,
            },
            since: moment(),
            first: moment(),
            ended: None,
        }
    }

    fn confirmed(by: i64, isolation: i64, check: CheckKind) -> ConfirmedCheck {
        ConfirmedCheck {
            by: Seq(by),
            isolation: Seq(isolation),
            check,
            person: "A. Fitter".parse().expect("a person"),
            at: moment(),
        }
    }

    fn check(kind: CheckKind, of: Option<&str>) -> Check {
        Check {
            kind,
            of: of.map(at).into_iter().collect(),
            text: String::new(),
            source: Source::CommonPractice,
        }
    }

    fn open(followed: &Followed<'_>) -> Vec<bool> {
        let checks = [
            check(CheckKind::RightPlace, Some("=A1")),
            check(CheckKind::Continuous, None),
        ];
        let found = follow_up(&checks, followed);
        found.iter().map(|one| one.done.is_open()).collect()
    }

    #[test]
    fn a_check_of_the_train_opens_again_with_each_later_change() {
        let (first, second) = (isolation(10, "=A1"), isolation(20, "=A2"));
        let place = confirmed(11, 10, CheckKind::RightPlace);
        let continuous = confirmed(12, 10, CheckKind::Continuous);
        let again = confirmed(21, 20, CheckKind::Continuous);
        let mut now = Followed {
            isolations: vec![&first],
            confirmed: Vec::new(),
            changed_by: Some(Seq(9)),
            decided: None,
        };
        assert_eq!(open(&now), [true, true]);
        now.confirmed = vec![&place, &continuous];
        assert_eq!(open(&now), [false, false]);
        now.isolations.push(&second);
        assert_eq!(open(&now), [false, true], "a second cut-out");
        now.confirmed.push(&again);
        assert_eq!(open(&now), [false, false]);
        now.changed_by = Some(Seq(22));
        assert_eq!(open(&now), [false, true], "formed anew, or another ended");
    }

    #[test]
    fn after_a_decision_everybody_is_told_anew_and_nothing_else_opens() {
        let one = isolation(10, "=A1");
        let told = confirmed(11, 10, CheckKind::EveryoneTold);
        let continuous = confirmed(12, 10, CheckKind::Continuous);
        let again = confirmed(21, 10, CheckKind::EveryoneTold);
        let checks = [CheckKind::EveryoneTold, CheckKind::Continuous].map(|kind| check(kind, None));
        let mut now = Followed {
            isolations: vec![&one],
            confirmed: vec![&told, &continuous],
            changed_by: None,
            decided: None,
        };
        let open = |followed: &Followed<'_>| {
            let found = follow_up(&checks, followed);
            found
                .iter()
                .map(|one| one.done.is_open())
                .collect::<Vec<_>>()
        };
        assert_eq!(open(&now), [false, false]);
        now.decided = Some(Seq(20));
        assert_eq!(open(&now), [true, false]);
        now.confirmed.push(&again);
        assert_eq!(open(&now), [false, false]);
    }

    #[test]
    fn a_check_that_several_cut_outs_ask_for_opens_again_with_the_next_of_them() {
        let pads = Check {
            of: vec![at("=A1"), at("=A2")],
            ..check(CheckKind::PadsFree, None)
        };
        let is_open = |followed: &Followed<'_>| {
            follow_up(std::slice::from_ref(&pads), followed)[0]
                .done
                .is_open()
        };
        let (first, second) = (isolation(10, "=A1"), isolation(20, "=A2"));
        let (before, after) = (
            confirmed(11, 10, CheckKind::PadsFree),
            confirmed(21, 20, CheckKind::PadsFree),
        );
        let mut now = Followed {
            isolations: vec![&first],
            confirmed: vec![&before],
            changed_by: None,
            decided: None,
        };
        assert!(!is_open(&now));
        now.isolations.push(&second);
        assert!(is_open(&now), "a second cut-out of the bogie");
        now.confirmed.push(&after);
        assert!(!is_open(&now));
    }

    #[test]
    fn a_check_of_one_cut_out_does_not_count_for_the_next_at_the_same_place() {
        let again = isolation(30, "=A1");
        let before = confirmed(11, 10, CheckKind::RightPlace);
        let now = Followed {
            isolations: vec![&again],
            confirmed: vec![&before],
            changed_by: None,
            decided: None,
        };
        assert_eq!(open(&now), [true, true]);
    }
}
