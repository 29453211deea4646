//! A row of the due list in words: the limit that sets its date, and what is not known.

use crate::{address, show};
use domain::due::at_once::{AtOnce, AtOnceCause};
use domain::due::forecast::Forecast;
use domain::due::task::{Interval, Task};
use domain::identity::TaskCode;
use domain::ledger::dossier::Documents;
use domain::time::{Day, Zone};
use domain::units::Amount;
use store::read::due::{DueItem, DueOnCar, MeterLimit};

/// The limit that sets the date of a row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LimitWords {
    /// The limit: "96 months", "odometer at 612,400 km".
    pub(crate) limit: String,
    /// How far it is: "11,200 km left on 2026-11-20".
    pub(crate) left: Option<String>,
}

/// The last day within tolerance; none of what is due at once, which no interval tolerates.
pub(crate) fn latest(forecast: &Forecast) -> Option<Day> {
    forecast.latest.filter(|_| forecast.at_once.is_none())
}

/// The title of a row's task.
pub(crate) fn title<'a>(item: &DueItem, documents: &'a Documents) -> &'a str {
    task(item, documents).map_or("", |task| &task.title)
}

fn task<'a>(item: &DueItem, documents: &'a Documents) -> Option<&'a Task> {
    let found = documents.tasks.get(&item.task)?;
    Some(&found.document)
}

/// The limit that sets the date of a row; none where no limit gives a date.
pub(crate) fn limit(item: &DueItem, documents: &Documents, zone: &Zone) -> Option<LimitWords> {
    if let Some(limit) = &item.limit {
        return Some(by_meter(limit, zone));
    }
    let metric = item.forecast.set_by?;
    let interval = task(item, documents).and_then(|task| Some(task.limit_by(metric)?.interval));
    let limit = match interval {
        Some(Interval::Months(1)) => "1 month".to_owned(),
        Some(Interval::Months(months)) => format!("{months} months"),
        Some(Interval::Days(1)) => "1 day".to_owned(),
        Some(Interval::Days(days)) => format!("{days} days"),
        Some(Interval::Usage(..)) | None => metric.to_string(),
    };
    Some(LimitWords { limit, left: None })
}

fn by_meter(limit: &MeterLimit, zone: &Zone) -> LimitWords {
    let meter = limit.meter;
    let Some(at) = limit.shown() else {
        let before = limit
            .last
            .map_or("it came into the register", |_| "it came to this car");
        return LimitWords {
            limit: format!("{meter} limit, passed before {before}"),
            left: None,
        };
    };
    let Some((read_at, shown)) = limit.last else {
        let used = show::amount(at, meter);
        return LimitWords {
            limit: format!("{meter}: {used} run by its own count"),
            left: None,
        };
    };
    let (on, left) = (zone.day_of(read_at), at - shown);
    let left = if left < Amount(0) {
        format!("passed by {} on {on}", show::amount(shown - at, meter))
    } else {
        format!("{} left on {on}", show::left(left, meter))
    };
    LimitWords {
        limit: format!("{meter} at {}", show::amount(at, meter)),
        left: Some(left),
    }
}

/// Why work is due at once: "at once: a test was failed on 2026-11-02".
pub(crate) fn at_once(at_once: &AtOnce) -> String {
    let touched = match at_once.cause {
        AtOnceCause::FailedTest => return found("a test was failed", at_once),
        AtOnceCause::RemovedFailed => return found("it was taken off as failed", at_once),
        AtOnceCause::RemovedSuspected => return found("it was taken off as suspected", at_once),
        AtOnceCause::Exchanged => "something was exchanged",
        AtOnceCause::Set => "a setting was made",
        AtOnceCause::CutOutEnded => "a cut-out ended",
        AtOnceCause::Coupled => "its unit was formed",
    };
    let since = at_once.by;
    format!(
        "{}; a test before is void since {since}",
        found(touched, at_once)
    )
}

fn found(what: &str, at_once: &AtOnce) -> String {
    format!("at once: {what} on {}", at_once.on)
}

/// Tests of a car that are void, since what they proved was touched.
pub(crate) struct VoidTests {
    /// The task that they belong to.
    pub(crate) task: TaskCode,
    /// Why it is due at once.
    pub(crate) words: String,
    /// The address of the entry since which they are void.
    pub(crate) entry: String,
}

impl VoidTests {
    /// Those of a car as a whole, by all work that is due on it.
    pub(crate) fn of_car(due: &[DueOnCar]) -> Vec<Self> {
        let own = due.iter().filter(|item| item.position.is_none());
        let touched = own.filter_map(|item| {
            let found = item.forecast.at_once.as_ref()?;
            found.cause.is_touched().then(|| Self {
                task: item.task.clone(),
                words: at_once(found),
                entry: address::entry(found.by),
            })
        });
        touched.collect()
    }
}

/// What sets a date, in a word or two where it is a limit; nothing where there is no date. What
/// is due at once may have passed a limit before.
pub(crate) fn set_by(forecast: &Forecast) -> String {
    match (forecast.set_by, &forecast.at_once) {
        (Some(metric), _) => metric.to_string(),
        (None, Some(found)) => at_once(found),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use domain::units::Meter;

    #[test]
    fn a_limit_by_meter_says_what_the_meter_shows_and_what_is_left() {
        let read_at = "2026-11-20T10:00Z".parse().unwrap();
        let limit = |shown| MeterLimit {
            meter: Meter::Odometer,
            at: Amount::whole(612_400),
            last: Some((read_at, Amount::whole(shown))),
        };
        let words = by_meter(&limit(601_200), &Zone::UTC);
        assert_eq!(words.limit, "odometer at 612,400 km");
        assert_eq!(words.left.unwrap(), "11,200 km left on 2026-11-20");
        let words = by_meter(&limit(612_700), &Zone::UTC);
        assert_eq!(words.left.unwrap(), "passed by 300 km on 2026-11-20");
    }
}
