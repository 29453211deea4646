//! Visits of the coming weeks, some of them for the modification that is on its way.

use super::campaign::{Campaign, NUMBER};
use super::fleet::UnitPlan;
use super::{Generator, Result, names};
use crate::columns::VISITS;

/// One unit in so many has a visit planned.
const ONE_IN: u32 = 3;
/// How many days ago the visits were planned.
const PLANNED_AGO: i64 = 12;
/// In how many days the first comes, and how many days the next ones come later.
const COMES_IN: i64 = 6;
const DAYS_BETWEEN: i64 = 9;
/// Its days, and hours of work for each of them.
const DAYS: i64 = 2;
const HOURS_A_DAY: i64 = 24;

impl Generator<'_> {
    /// Writes the visit of a unit, where it has one. Every other one of those that it concerns
    /// embodies the modification.
    pub(super) fn write_visit(&mut self, unit: &UnitPlan<'_>) -> Result<()> {
        let Some(number) = unit.number.as_ref().filter(|_| unit.place % ONE_IN == 1) else {
            return Ok(());
        };
        let turn = i64::from(unit.place / ONE_IN);
        let from = COMES_IN + DAYS_BETWEEN * (turn % 10);
        let from = self.options.as_at.plus_days(from);
        let concerned = |campaign: &Campaign| campaign.concerns(unit);
        let embodies = turn % 2 == 0 && self.campaign.as_ref().is_some_and(concerned);
        self.write(
            &VISITS,
            &[
                ("visit", &format!("TRR-V-{:03}", turn + 1)),
                ("unit", number),
                ("depot", &names::depot(unit.place)),
                ("from", &from),
                ("until", &from.plus_days(DAYS)),
                ("hours", &(DAYS * HOURS_A_DAY)),
                ("modifications", &if embodies { NUMBER } else { "" }),
                ("since", &self.span.ago(PLANNED_AGO)),
            ],
        )
    }
}
