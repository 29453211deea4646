//! Where a car of a train departs from its baseline with no concession for it: verdicts count what is
//! there as if it conformed, so that it is told beside them. What is told otherwise is left out:
//! positions that hold nothing, assemblies without what they need, what was found unfit, and what
//! stands under a concession, ended or not. A setting at another value that its baseline allows is
//! nothing to warn of.

use super::conceded::DepartsThere;
use super::shortcoming::{Fault, Shortcoming};
use crate::configuration::filled::FilledPositions;
use crate::identity::{CarNumber, PositionCode, SettingName};
use crate::ledger::departures::DepartureKind;
use crate::time::Day;
use serde::Serialize;
use std::collections::BTreeSet;

/// A place of a car that departs with no concession.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct NotConceded {
    /// Where.
    pub position: PositionCode,
    /// The setting that departs, where it is one.
    pub setting: Option<SettingName>,
    /// How.
    pub kind: DepartureKind,
}

/// The same in a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotConcededInTrain {
    /// The car.
    pub car_number: CarNumber,
    /// Where on it, and what.
    #[serde(flatten)]
    pub departs: NotConceded,
}

/// What is known of a car otherwise.
#[derive(Debug, Clone, Copy)]
pub struct KnownOtherwise<'a> {
    /// The positions that hold a component.
    pub filled: &'a FilledPositions,
    /// The positions of its circuit that hold none, which are told as such.
    pub vacant: &'a [PositionCode],
    /// What is fitted and yet is not as it must be, which is told as such.
    pub shortcomings: &'a [Shortcoming],
}

impl KnownOtherwise<'_> {
    /// How a place departs. Whether anything ever was at a place that holds nothing makes no
    /// difference to a train.
    fn kind(&self, one: &DepartsThere) -> DepartureKind {
        match one.kind {
            DepartureKind::Unknown if !self.filled.contains(&one.position) => DepartureKind::Vacant,
            kind => kind,
        }
    }

    /// Whether a departure is a matter of its own to whoever reads the verdicts.
    fn leaves(&self, one: &NotConceded) -> bool {
        let here = self.shortcomings.iter();
        let mut here = here.filter(|known| known.position == one.position);
        match one.kind {
            DepartureKind::SettingDeviates => false,
            DepartureKind::Vacant => !self.vacant.contains(&one.position),
            DepartureKind::Incomplete => !here.any(|known| known.fault == Fault::Missing),
            DepartureKind::Unfit => !here.any(|known| known.fault != Fault::Missing),
            DepartureKind::NotApproved
            | DepartureKind::WrongState
            | DepartureKind::Unknown
            | DepartureKind::SettingNotTold
            | DepartureKind::SettingOutOfRange => true,
        }
    }
}

/// The places of a car that depart on a day with no concession, in their order. Linear in those that
/// depart, times what is known otherwise.
pub fn not_conceded(
    departs: &[DepartsThere],
    known: &KnownOtherwise<'_>,
    on: Day,
) -> Vec<NotConceded> {
    let then = departs.iter();
    let then = then.filter(|one| one.concession.is_none() && one.is_one_on(on));
    let found = then.map(|one| NotConceded {
        position: one.position.clone(),
        setting: one.setting.clone(),
        kind: known.kind(one),
    });
    let found: BTreeSet<NotConceded> = found.filter(|one| known.leaves(one)).collect();
    found.into_iter().collect()
}

impl NotConceded {
    /// "=B1-K1 (part not approved)".
    pub(super) fn in_words(&self) -> String {
        let position = &self.position;
        let how = match self.kind {
            DepartureKind::Vacant => "nothing recorded there",
            DepartureKind::NotApproved => "part not approved",
            DepartureKind::WrongState => "modification state not approved",
            DepartureKind::Unknown => "modification state not recorded",
            DepartureKind::SettingNotTold => "not recorded",
            DepartureKind::SettingDeviates => "not as wanted",
            DepartureKind::SettingOutOfRange => "out of range",
            DepartureKind::Unfit => "not serviceable",
            DepartureKind::Incomplete => "missing inside an assembly that needs it",
        };
        match &self.setting {
            Some(setting) => format!("{position} ({setting} {how})"),
            None => format!("{position} ({how})"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::component::Condition;

    fn code(text: &str) -> PositionCode {
        text.parse().expect("a position code")
    }

    fn day(text: &str) -> Day {
        text.parse().expect("a day")
    }

    fn departs(position: &str, kind: DepartureKind) -> DepartsThere {
        DepartsThere {
            position: code(position),
            setting: None,
            kind,
            concession: None,
            from: day("2026-11-01"),
            until: None,
        }
    }

    /// What is told on 25 November of a car with something at these positions.
    fn told(all: &[DepartsThere], filled: &[&str], vacant: &[&str]) -> Vec<String> {
        let filled = filled.iter().map(|text| code(text)).collect();
        let vacant: Vec<PositionCode> = vacant.iter().map(|text| code(text)).collect();
        let fault = |position: &str, fault| Shortcoming {
            position: code(position),
            fault,
        };
        let shortcomings = [
            fault("=B1-K5", Fault::Unfit(Condition::Unserviceable)),
            fault("=B1-K6-Q1", Fault::Missing),
        ];
        let known = KnownOtherwise {
            filled: &filled,
            vacant: &vacant,
            shortcomings: &shortcomings,
        };
        let found = not_conceded(all, &known, day("2026-11-25"));
        found.iter().map(NotConceded::in_words).collect()
    }

    #[test]
    fn what_departs_is_told_in_its_order_and_once() {
        let set = |position: &str, kind| DepartsThere {
            setting: Some("opening pressure".parse().expect("a setting")),
            ..departs(position, kind)
        };
        let all = [
            set("=B1-K4", DepartureKind::SettingOutOfRange),
            set("=B1-K3", DepartureKind::SettingNotTold),
            departs("=B1-K2", DepartureKind::Unknown),
            departs("=B1-K1", DepartureKind::NotApproved),
            departs("=B1-K1", DepartureKind::NotApproved),
            departs("=B1-K3", DepartureKind::WrongState),
        ];
        let filled = ["=B1-K1", "=B1-K2", "=B1-K3", "=B1-K4"];
        assert_eq!(
            told(&all, &filled, &[]),
            [
                "=B1-K1 (part not approved)",
                "=B1-K2 (modification state not recorded)",
                "=B1-K3 (modification state not approved)",
                "=B1-K3 (opening pressure not recorded)",
                "=B1-K4 (opening pressure out of range)",
            ]
        );
    }

    #[test]
    fn what_is_told_otherwise_or_is_allowed_is_left_out() {
        let conceded = DepartsThere {
            concession: Some("C-1".parse().expect("a concession")),
            ..departs("=B1-K1", DepartureKind::NotApproved)
        };
        let all = [
            conceded,
            departs("=B1-K1", DepartureKind::SettingDeviates),
            departs("=B1-K2", DepartureKind::Vacant),
            departs("=B1-K3", DepartureKind::Unknown),
            departs("=B1-K5", DepartureKind::Unfit),
            departs("=B1-K6-Q1", DepartureKind::Incomplete),
        ];
        let filled = ["=B1-K1", "=B1-K5"];
        let none: [&str; 0] = [];
        assert_eq!(told(&all, &filled, &["=B1-K2", "=B1-K3"]), none);
        // Inside an assembly no circuit says that nothing is there.
        assert_eq!(
            told(&all, &filled, &[]),
            [
                "=B1-K2 (nothing recorded there)",
                "=B1-K3 (nothing recorded there)"
            ]
        );
    }

    #[test]
    fn what_departs_on_other_days_is_not_told() {
        let mut over = departs("=B1-K1", DepartureKind::NotApproved);
        over.until = Some(day("2026-11-25"));
        let mut to_come = departs("=B1-K2", DepartureKind::NotApproved);
        to_come.from = day("2026-11-26");
        let mut last_day = departs("=B1-K3", DepartureKind::NotApproved);
        last_day.until = Some(day("2026-11-26"));
        let filled = ["=B1-K1", "=B1-K2", "=B1-K3"];
        assert_eq!(
            told(&[over, to_come, last_day], &filled, &[]),
            ["=B1-K3 (part not approved)"]
        );
    }
}
