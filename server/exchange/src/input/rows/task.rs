//! Tasks with their limits.

use super::Dated;
use crate::input::calendar::{Options, design_begins};
use crate::input::cells::{Cells, Reads, Refused, known, whole, words};
use crate::input::limits::TITLE_MAX_CHARS;
use domain::due::obligation::Obligation;
use domain::due::task::{AppliesTo, Interval, Limit, Limits, Task};
use domain::ledger::command::REASON_MAX_CHARS;
use domain::ledger::fact::Fact;
use domain::units::{Amount, Meter};

/// Reads a row of `tasks`.
pub(crate) fn read(cells: &mut Cells<'_>, options: &Options) -> Result<Vec<Dated>, Refused> {
    let code = cells.need("task", known);
    let revision = cells.need("revision", known);
    let title = cells.need("title", words(TITLE_MAX_CHARS));
    let kind = cells.need("kind", known);
    let applies_to = read_applies_to(cells);
    let limits = read_limits(cells);
    let counts_from = cells.need("counts_from", known);
    let clock_start = cells.need("clock_start", known);
    let longest_in_store = cells.maybe("longest_in_store_days", whole(1..=36_500));
    let satisfies = cells.list("satisfies", known);
    let obligations = read_obligations(cells, (&applies_to, options));
    let source = cells.need("source", words(REASON_MAX_CHARS));
    let task = Task {
        code: code?,
        revision: revision?,
        title: title?,
        kind: kind?,
        applies_to: applies_to?,
        limits: limits?,
        counts_from: counts_from?,
        clock_start: clock_start?,
        longest_in_store_days: longest_in_store?,
        satisfies: satisfies?,
        obligations: obligations?,
        source: source?,
    };
    Ok(vec![Dated {
        fact: Fact::TaskDefined(task),
        at: design_begins(),
    }])
}

/// Reads after what work on a car a task of cars is due at once.
fn read_obligations(
    cells: &mut Cells<'_>,
    (applies_to, options): (&Result<AppliesTo, Refused>, &Options),
) -> Result<Vec<Obligation>, Refused> {
    let read: Vec<Obligation> = cells.list("due_at_once_after", known)?;
    if !read.is_empty() && matches!(applies_to, Ok(AppliesTo::Part(_))) {
        return Err(cells.refuse("due_at_once_after", "nothing for a task of a part"));
    }
    let shifted = |one: Obligation| Obligation {
        from: one.from.plus_days(options.shift_days),
        ..one
    };
    Ok(read.into_iter().map(shifted).collect())
}

/// Reads the columns `part` and `car_type`, of which one is filled.
pub(super) fn read_applies_to(cells: &mut Cells<'_>) -> Result<AppliesTo, Refused> {
    let part = cells.maybe("part", known);
    let car_type = cells.maybe("car_type", known);
    match (part?, car_type?) {
        (Some(part), None) => Ok(AppliesTo::Part(part)),
        (None, Some(car_type)) => Ok(AppliesTo::CarType(car_type)),
        _ => Err(cells.refuse("part", "either a part or a car type")),
    }
}

/// The columns of a limit: its interval and how early and late the work may be done.
struct LimitColumns {
    interval: &'static str,
    early: &'static str,
    late: &'static str,
    tolerance: fn(&str) -> Result<i64, String>,
}

macro_rules! limit_columns {
    ($interval:literal, $tolerance:expr) => {
        LimitColumns {
            interval: $interval,
            early: concat!($interval, "_early"),
            late: concat!($interval, "_late"),
            tolerance: $tolerance,
        }
    };
}

const DAYS: LimitColumns = limit_columns!("days", days);
const MONTHS: LimitColumns = limit_columns!("months", days);
const BY_METER: [(Meter, LimitColumns); 3] = [
    (Meter::Odometer, limit_columns!("km", thousandths)),
    (
        Meter::RunningHours,
        limit_columns!("running_hours", thousandths),
    ),
    (
        Meter::CompressorHours,
        limit_columns!("compressor_hours", thousandths),
    ),
];

fn read_limits(cells: &mut Cells<'_>) -> Result<Limits, Refused> {
    let days = read_limit(cells, &DAYS, |text| {
        whole(1..=36_500)(text).map(Interval::Days)
    });
    let months = read_limit(cells, &MONTHS, |text| {
        whole(1..=1_200)(text).map(Interval::Months)
    });
    let by_meter = BY_METER.map(|(meter, columns)| {
        let usage = |text: &str| more_than_nothing(text).map(|used| Interval::Usage(meter, used));
        read_limit(cells, &columns, usage)
    });
    if matches!((days, months), (Ok(Some(_)), Ok(Some(_)))) {
        return Err(cells.refuse(DAYS.interval, "either days or months"));
    }
    let all = [days, months].into_iter().chain(by_meter);
    let limits: Vec<Option<Limit>> = all.collect::<Result<_, _>>()?;
    let limits: Vec<Limit> = limits.into_iter().flatten().collect();
    if limits.is_empty() {
        return Err(cells.refuse(
            MONTHS.interval,
            "at least one limit: days, months, km or hours",
        ));
    }
    Limits::try_from(limits).map_err(|why| cells.refuse(MONTHS.interval, why.to_string()))
}

/// Reads a limit with its tolerances; without a limit there are none.
fn read_limit(
    cells: &mut Cells<'_>,
    columns: &LimitColumns,
    interval: impl Reads<Interval>,
) -> Result<Option<Limit>, Refused> {
    let interval = cells.maybe(columns.interval, interval);
    let early = cells.maybe(columns.early, columns.tolerance);
    let late = cells.maybe(columns.late, columns.tolerance);
    let Some(interval) = interval? else {
        let mut tolerances = [columns.early, columns.late].into_iter();
        return match tolerances.find(|column| cells.is_filled(column)) {
            None => Ok(None),
            Some(alone) => Err(cells.refuse(
                alone,
                format!("nothing while {} is empty", columns.interval),
            )),
        };
    };
    Ok(Some(Limit {
        interval,
        early: early?.unwrap_or(0),
        late: late?.unwrap_or(0),
    }))
}

fn days(text: &str) -> Result<i64, String> {
    whole(0..=36_500)(text)
}

fn thousandths(text: &str) -> Result<i64, String> {
    known(text).map(|amount: Amount| amount.0)
}

fn more_than_nothing(text: &str) -> Result<Amount, String> {
    let amount: Amount = known(text)?;
    (Amount(0) < amount)
        .then_some(amount)
        .ok_or_else(|| "more than 0".to_owned())
}
