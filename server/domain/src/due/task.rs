//! A task: work with an interval, due at the first of its limits.

use crate::due::obligation::Obligation;
use crate::identity::{CarTypeName, PartNumber, Revision, TaskCode};
use crate::units::{AMOUNT_MAX, Amount, Meter};
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::ops::Deref;

word_list! {
    /// What kind of work.
    TaskKind, "task kind" {
        /// A test with measured values.
        Test = "test",
        /// An inspection.
        Inspection = "inspection",
        /// An intermediate overhaul.
        IntermediateOverhaul = "intermediate_overhaul",
        /// An overhaul.
        Overhaul = "overhaul",
        /// The end of a component's life. It has no late tolerance and is never reset.
        LifeLimit = "life_limit",
    }
}

word_list! {
    /// What the next interval counts from when work was done.
    CountsFrom, "counts from" {
        /// The day or amount at which the work was done.
        Done = "done",
        /// The point at which it was due, when it was done within tolerance; else as done.
        DuePoint = "due_point",
    }
}

word_list! {
    /// What starts the clock of a calendar limit.
    ClockStart, "clock start" {
        /// The day the task was done; before it ever was, the component's last overhaul, or
        /// its making where it had none. The clock also runs in store.
        Overhaul = "overhaul",
        /// The first day on a car at or after that.
        Fitting = "fitting",
    }
}

word_list! {
    /// What a limit is measured by.
    Metric, "metric" {
        /// Days or months.
        Calendar = "calendar",
        /// Distance run, in kilometres.
        Odometer = "odometer",
        /// Hours in running order.
        RunningHours = "running_hours",
        /// Hours of the air compressor.
        CompressorHours = "compressor_hours",
    }
}

impl From<Meter> for Metric {
    fn from(meter: Meter) -> Self {
        match meter {
            Meter::Odometer => Self::Odometer,
            Meter::RunningHours => Self::RunningHours,
            Meter::CompressorHours => Self::CompressorHours,
        }
    }
}

/// What a task is done on.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AppliesTo {
    /// Every component of a part.
    Part(PartNumber),
    /// Every car of a type.
    CarType(CarTypeName),
}

/// How long until the work is due again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Interval {
    /// Calendar days, 1 to 36,500.
    Days(u32),
    /// Calendar months, 1 to 1,200, clipped to the end of the month.
    Months(u32),
    /// Use by a meter.
    Usage(Meter, Amount),
}

impl Interval {
    /// How long it is at the least, in the unit of its tolerances: days, or thousandths of the unit of
    /// the meter. No month is shorter than 28 days.
    pub fn shortest(self) -> i64 {
        match self {
            Self::Days(days) => days.into(),
            Self::Months(months) => 28 * i64::from(months),
            Self::Usage(_, amount) => amount.0,
        }
    }

    /// What the interval is measured by.
    pub fn metric(self) -> Metric {
        match self {
            Self::Days(_) | Self::Months(_) => Metric::Calendar,
            Self::Usage(meter, _) => meter.into(),
        }
    }

    fn in_range(self) -> bool {
        match self {
            Self::Days(days) => (1..=DAYS_MAX).contains(&days),
            Self::Months(months) => (1..=1_200).contains(&months),
            Self::Usage(_, amount) => (Amount(1)..=AMOUNT_MAX).contains(&amount),
        }
    }
}

const DAYS_MAX: u32 = 36_500;

/// One bound of a task, with how early and how late the work may be done. Tolerances are in
/// days for calendar intervals and in the meter's unit for use.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Limit {
    /// How long until due.
    pub interval: Interval,
    /// How much before the due point the work may be done and still count for it: days, or
    /// thousandths of the meter's unit.
    pub early: i64,
    /// How much after the due point the work may still be done: days, or thousandths of the
    /// meter's unit.
    pub late: i64,
}

impl Limit {
    fn in_range(&self) -> bool {
        let most = match self.interval.metric() {
            Metric::Calendar => i64::from(DAYS_MAX),
            _ => AMOUNT_MAX.0,
        };
        self.interval.in_range()
            && (0..=most).contains(&self.early)
            && (0..=most).contains(&self.late)
    }
}

/// The limits of a task: one to four, at most one for each metric, each in range.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Limit>", into = "Vec<Limit>")]
pub struct Limits(Vec<Limit>);

/// Why limits are not those of a task.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LimitsRefused {
    /// There is none.
    #[error("a task needs at least one limit")]
    NoLimit,
    /// A metric has more than one.
    #[error("a task has at most one {0} limit")]
    Repeated(Metric),
    /// An interval or tolerance cannot be.
    #[error(
        "{0} limit out of range: 1 to 36500 days, 1 to 1200 months, or 0.001 to 100000000 of \
         the meter's unit; tolerances not below nought"
    )]
    OutOfRange(Metric),
}

impl TryFrom<Vec<Limit>> for Limits {
    type Error = LimitsRefused;
    fn try_from(limits: Vec<Limit>) -> Result<Self, LimitsRefused> {
        if limits.is_empty() {
            return Err(LimitsRefused::NoLimit);
        }
        for (place, limit) in limits.iter().enumerate() {
            let metric = limit.interval.metric();
            if !limit.in_range() {
                return Err(LimitsRefused::OutOfRange(metric));
            }
            let mut before = limits.iter().take(place);
            if before.any(|other| other.interval.metric() == metric) {
                return Err(LimitsRefused::Repeated(metric));
            }
        }
        Ok(Self(limits))
    }
}

impl From<Limits> for Vec<Limit> {
    fn from(limits: Limits) -> Self {
        limits.0
    }
}

impl Deref for Limits {
    type Target = [Limit];
    fn deref(&self) -> &[Limit] {
        &self.0
    }
}

/// Work with an interval.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Task {
    /// Its code.
    pub code: TaskCode,
    /// Its revision.
    pub revision: Revision,
    /// What is done, in words.
    pub title: String,
    /// What kind of work.
    pub kind: TaskKind,
    /// What it is done on.
    pub applies_to: AppliesTo,
    /// Its limits; the first that is reached makes it due.
    pub limits: Limits,
    /// What the next interval counts from.
    pub counts_from: CountsFrom,
    /// What starts a calendar limit.
    pub clock_start: ClockStart,
    /// Where the clock starts at fitting: the days in store after which it starts regardless,
    /// since elastomers age on the shelf. None: it waits for the fitting.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub longest_in_store_days: Option<u32>,
    /// Tasks that count as done with this one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub satisfies: Vec<TaskCode>,
    /// After what work on the car it is due at once: of a task of cars alone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub obligations: Vec<Obligation>,
    /// Where the interval comes from: law, maker, own justification.
    pub source: String,
}

impl Task {
    /// Its limit by a metric, if it has one.
    pub fn limit_by(&self, metric: Metric) -> Option<&Limit> {
        let by_metric = |limit: &&Limit| limit.interval.metric() == metric;
        self.limits.iter().find(by_metric)
    }

    /// Whether any of its limits is by meter, so that what was run when it was done matters.
    pub fn counts_use(&self) -> bool {
        let by_meter = |limit: &Limit| limit.interval.metric() != Metric::Calendar;
        self.limits.iter().any(by_meter)
    }

    /// How late the work may be under one of its limits; see [`Limit::late`]. A life limit
    /// has no late tolerance, whatever the limit says.
    pub fn late(&self, limit: &Limit) -> i64 {
        match self.kind {
            TaskKind::LifeLimit => 0,
            _ => limit.late,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limit(interval: Interval) -> Limit {
        Limit {
            interval,
            early: 0,
            late: 0,
        }
    }

    #[test]
    fn a_task_has_at_least_one_limit_and_one_for_each_metric() {
        let refused = |limits: Vec<Limit>| Limits::try_from(limits).err();
        assert_eq!(refused(vec![]), Some(LimitsRefused::NoLimit));
        let days_and_months = vec![limit(Interval::Days(92)), limit(Interval::Months(3))];
        assert_eq!(
            refused(days_and_months),
            Some(LimitsRefused::Repeated(Metric::Calendar))
        );
        let km = limit(Interval::Usage(Meter::Odometer, Amount::whole(1_500)));
        assert_eq!(refused(vec![km, limit(Interval::Days(1))]), None);
    }

    #[test]
    fn intervals_of_nothing_and_negative_tolerances_are_refused() {
        let negative = Limit {
            early: -1,
            ..limit(Interval::Days(92))
        };
        for wrong in [
            limit(Interval::Days(0)),
            limit(Interval::Months(1_201)),
            limit(Interval::Usage(Meter::Odometer, Amount(0))),
            negative,
        ] {
            assert!(Limits::try_from(vec![wrong]).is_err(), "{wrong:?}");
        }
    }

    #[test]
    fn limits_are_checked_where_they_are_read() {
        let read = |text| serde_json::from_str::<Limits>(text);
        let text = r#"[{"interval":{"days":92},"early":0,"late":5}]"#;
        let limits = read(text).expect("limits of a task");
        assert_eq!(serde_json::to_string(&limits).ok().as_deref(), Some(text));
        let refused = read("[]").expect_err("no limit");
        assert_eq!(refused.to_string(), "a task needs at least one limit");
    }
}
