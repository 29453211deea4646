//! The picture of the due list: how much is due in each of the coming weeks.

use crate::show;
use domain::time::Day;
use store::read::due::{COUNTED_MAX, DueByPeriod};

/// Weeks shown, from the present one on.
const WEEKS: i64 = 26;
const WIDTH: i64 = 1_080;
const BAR_HEIGHT_MAX: i64 = 120;
const BASE: i64 = 150;
/// Room for one bar and the gap after it; before the first week stands what is past due.
const STEP: i64 = WIDTH / (WEEKS + 1);

/// The picture.
pub(super) struct Weeks {
    pub(super) bars: Vec<Bar>,
    /// Whether the bar of what is past due is not drawn in full: it would dwarf the weeks.
    pub(super) is_cut: bool,
    /// What is not in it.
    pub(super) stopped: Option<String>,
}

/// One week, or all that was due before today.
pub(super) struct Bar {
    /// "week from 2026-11-30".
    pub(super) name: String,
    /// Month and day of its first day.
    pub(super) label: String,
    pub(super) is_past: bool,
    pub(super) is_cut: bool,
    /// Tasks, grouped for people; none where they were not counted.
    pub(super) tasks: Option<String>,
    /// The same over the bar, where there is a bar.
    pub(super) mark: String,
    pub(super) x: i64,
    pub(super) y: i64,
    pub(super) height: i64,
    pub(super) middle: i64,
}

/// The Monday of a day's week. 1970-01-01 was a Thursday.
fn monday(day: Day) -> Day {
    let since_monday = (i64::from(day.number()) + 3).rem_euclid(7);
    day.plus_days(-since_monday)
}

/// Where each bar ends: what is past due before today, then each week, the present one from today
/// on.
pub(super) fn ends(today: Day) -> Vec<Day> {
    let first = monday(today);
    let weeks = (1..=WEEKS).map(|week| first.plus_days(7 * week));
    std::iter::once(today).chain(weeks).collect()
}

impl Weeks {
    /// Draws the tasks of each period that ends where [`ends`] says; nothing where nothing is due.
    pub(super) fn new(today: Day, due: &DueByPeriod) -> Option<Self> {
        let first = monday(today);
        let weeks = (0..WEEKS).map(|week| Some(first.plus_days(7 * week)));
        let begins = std::iter::once(None).chain(weeks);
        let counts: Vec<(Option<Day>, Option<i64>)> =
            begins.zip(due.tasks.iter().copied()).collect();
        let count = |weeks: &[(Option<Day>, Option<i64>)]| {
            weeks.iter().filter_map(|(_, tasks)| *tasks).max()
        };
        if count(&counts) == Some(0) {
            return None;
        }
        let most = count(&counts[1..]).unwrap_or(0).max(1);
        let bars = (0_i64..).zip(counts);
        let bars: Vec<Bar> = bars
            .map(|(place, (from, tasks))| bar(place, from, tasks, most))
            .collect();
        let stopped = due.stopped_at.map(|day| {
            let most = show::grouped(i64::try_from(COUNTED_MAX).unwrap_or(i64::MAX));
            format!(
                "Counting stopped after {most} tasks, on {day}; narrow the list to see the weeks \
                 from then on"
            )
        });
        Some(Self {
            is_cut: bars.iter().any(|bar| bar.is_cut),
            bars,
            stopped,
        })
    }
}

fn bar(place: i64, from: Option<Day>, tasks: Option<i64>, most: i64) -> Bar {
    // What is there is seen, however little it is beside the rest.
    let height = match tasks.unwrap_or(0) {
        0 => 0,
        tasks => (tasks * BAR_HEIGHT_MAX / most).clamp(2, BAR_HEIGHT_MAX),
    };
    let name = from.map_or("past due".to_owned(), |from| format!("week from {from}"));
    let label = from.map_or("past".to_owned(), |from| from.to_string()[5..].to_owned());
    Bar {
        name,
        label,
        is_past: from.is_none(),
        is_cut: most < tasks.unwrap_or(0),
        tasks: tasks.map(show::grouped),
        mark: match tasks {
            Some(0) => String::new(),
            Some(tasks) => show::grouped(tasks),
            None => "?".to_owned(),
        },
        x: place * STEP,
        y: BASE - height,
        height,
        middle: place * STEP + STEP / 2 - 3,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        text.parse().unwrap()
    }

    fn tasks(weeks: &Weeks) -> Vec<Option<&str>> {
        weeks.bars.iter().map(|bar| bar.tasks.as_deref()).collect()
    }

    #[test]
    fn weeks_begin_on_monday_and_the_present_one_today() {
        // 2026-11-25 is a Wednesday.
        let today = day("2026-11-25");
        let ends = ends(today);
        assert_eq!(ends.len(), 27);
        assert_eq!(ends[..2], [today, day("2026-11-30")]);
        assert_eq!(ends[26], day("2027-05-24"));
        let due = DueByPeriod {
            tasks: vec![Some(1), Some(2), Some(0)],
            stopped_at: None,
        };
        let weeks = Weeks::new(today, &due).unwrap();
        assert_eq!(tasks(&weeks), [Some("1"), Some("2"), Some("0")]);
        assert_eq!(weeks.bars[1].name, "week from 2026-11-23");
        assert_eq!(weeks.bars[2].name, "week from 2026-11-30");
    }

    #[test]
    fn a_week_that_was_not_counted_whole_is_not_shown_as_less() {
        let due = DueByPeriod {
            tasks: vec![Some(0), Some(4_000), None, None],
            stopped_at: Some(day("2026-12-02")),
        };
        let weeks = Weeks::new(day("2026-11-25"), &due).unwrap();
        assert_eq!(tasks(&weeks), [Some("0"), Some("4,000"), None, None]);
        assert!(weeks.stopped.unwrap().contains("2026-12-02"));
    }

    #[test]
    fn nothing_due_is_no_picture() {
        let nothing = DueByPeriod {
            tasks: vec![Some(0); 27],
            stopped_at: None,
        };
        assert!(Weeks::new(day("2026-11-25"), &nothing).is_none());
    }
}
