//! Work on the cars of a train that is overdue. That is another fact than that something does not
//! work, and moves no verdict; before a car runs no work on it should be overdue (common practice, no
//! source), so that whoever reads a verdict must know of it.

use crate::identity::{CarNumber, PositionCode, TaskCode};
use crate::time::Day;
use crate::units::{Amount, Meter};
use serde::Serialize;
use std::collections::BTreeSet;

/// What is known of overdue work on a car and on what is fitted to it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Overdue {
    /// Nothing is.
    Nothing,
    /// Some is.
    Work(OverdueWork),
    /// It was not looked at.
    NotLookedAt,
}

/// Overdue work on a car.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OverdueWork {
    /// How many tasks are.
    pub tasks: usize,
    /// One that is due at once as well, or the one that is overdue for the longest time.
    pub worst: OverdueTask,
}

/// A task that is overdue. What is due at once as well comes first, then what is overdue for the longest
/// time.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct OverdueTask {
    /// The last day within tolerance; none of what is due at once as well, which no interval tolerates.
    pub latest: Option<Day>,
    /// The day on which it was due.
    pub due: Day,
    /// The task.
    pub task: TaskCode,
    /// Where the component is fitted that the work is done on; none for the car as a whole.
    pub position: Option<PositionCode>,
    /// What the meter shows at the limit that sets the day, where one by meter does.
    pub at: Option<(Meter, Amount)>,
}

/// The same in a train: of a car of which work is overdue, or was not looked at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct OverdueInTrain {
    /// The car.
    pub car_number: CarNumber,
    /// What is known of it.
    pub overdue: Overdue,
}

impl Overdue {
    /// Of so many tasks that are overdue.
    pub fn of(tasks: Vec<OverdueTask>) -> Self {
        let count = tasks.len();
        let worst = tasks.into_iter().min();
        worst.map_or(Self::Nothing, |worst| {
            Self::Work(OverdueWork {
                tasks: count,
                worst,
            })
        })
    }
}

impl OverdueWork {
    /// "1 task", "3 tasks".
    pub fn count_in_words(&self) -> String {
        match self.tasks {
            1 => "1 task".to_owned(),
            tasks => format!("{tasks} tasks"),
        }
    }

    /// "3 tasks, the worst OH-1 at =B1 due 2026-03-01 (odometer 300000 km), tolerated until
    /// 2026-03-31".
    fn in_words(&self) -> String {
        let count = self.count_in_words();
        let worst = self.worst.in_words();
        match self.tasks {
            1 => format!("{count}, {worst}"),
            _ => format!("{count}, the worst {worst}"),
        }
    }
}

impl OverdueTask {
    fn in_words(&self) -> String {
        let Self {
            latest, due, task, ..
        } = self;
        let place = self.position.as_ref();
        let place = place.map_or(String::new(), |position| format!(" at {position}"));
        let limit = self.at.map_or(String::new(), |(meter, at)| {
            let unit = meter.unit();
            format!(" ({meter} {} {unit})", at.worked_out(meter))
        });
        let tolerated = match latest {
            Some(latest) if due < latest => format!(", tolerated until {latest}"),
            Some(_) => String::new(),
            None => ", and due at once".to_owned(),
        };
        format!("{task}{place} due {due}{limit}{tolerated}")
    }
}

/// In one sentence, where there is any.
pub(super) fn in_words(
    found: &[OverdueInTrain],
    of_all: impl Fn(&str, &BTreeSet<(CarNumber, String)>) -> Option<String>,
) -> Option<String> {
    let work = found.iter().filter_map(|one| match &one.overdue {
        Overdue::Work(work) => Some((one.car_number.clone(), work.in_words())),
        Overdue::Nothing | Overdue::NotLookedAt => None,
    });
    of_all(
        "Work is overdue, and no verdict counts it:",
        &work.collect(),
    )
}

/// The same in one line, for the sheet: how much it is in all, and the worst of it.
pub(super) fn in_short(found: &[OverdueInTrain]) -> Option<String> {
    let work = found.iter().filter_map(|one| match &one.overdue {
        Overdue::Work(work) => Some((&work.worst, &one.car_number, work.tasks)),
        Overdue::Nothing | Overdue::NotLookedAt => None,
    });
    let (worst, car, _) = work.clone().min()?;
    let cars = match work.clone().count() {
        1 => "1 car".to_owned(),
        cars => format!("{cars} cars"),
    };
    let tasks = match work.map(|(_, _, tasks)| tasks).sum::<usize>() {
        1 => "1 task is".to_owned(),
        tasks => format!("{tasks} tasks are"),
    };
    Some(format!(
        "{tasks} overdue on {cars}, and no verdict counts it; the worst: car {car} {}.",
        worst.in_words()
    ))
}

/// That it was not looked at, where it was not.
pub(super) fn not_looked_at(found: &[OverdueInTrain]) -> Option<String> {
    let mut found = found.iter();
    let unknown = found.any(|one| one.overdue == Overdue::NotLookedAt);
    unknown.then(|| {
        "Whether work was overdue on the cars, or due at once on what is fitted to them, was not looked \
         at: the due list of each car tells it."
            .to_owned()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn task(name: &str, due: &str, latest: &str) -> OverdueTask {
        OverdueTask {
            latest: Some(latest.parse().expect("a day")),
            due: due.parse().expect("a day"),
            task: name.parse().expect("a task"),
            position: None,
            at: None,
        }
    }

    fn told(tasks: Vec<OverdueTask>) -> Option<String> {
        match Overdue::of(tasks) {
            Overdue::Work(work) => Some(work.in_words()),
            Overdue::Nothing | Overdue::NotLookedAt => None,
        }
    }

    #[test]
    fn the_task_that_is_overdue_for_the_longest_time_is_told_with_its_limit() {
        let by_meter = OverdueTask {
            position: Some("=B1".parse().expect("a position")),
            at: Some((Meter::Odometer, Amount(300_000_400))),
            ..task("OH", "2026-03-01", "2026-03-31")
        };
        let later = task("BT", "2026-02-01", "2026-04-30");
        assert_eq!(
            told(vec![later, by_meter]).as_deref(),
            Some(
                "2 tasks, the worst OH at =B1 due 2026-03-01 (odometer 300000 km), tolerated until \
                 2026-03-31"
            )
        );
    }

    #[test]
    fn a_sheet_tells_in_one_line_how_much_it_is_and_the_worst_of_it() {
        let of = |car: &str, tasks| OverdueInTrain {
            car_number: car.parse().expect("a car"),
            overdue: Overdue::of(tasks),
        };
        let first = of("4101", vec![task("BT", "2026-03-01", "2026-03-31")]);
        let both = vec![
            task("OH", "2026-01-01", "2026-01-31"),
            task("LL", "2026-05-01", "2026-05-01"),
        ];
        assert_eq!(
            in_short(&[first.clone(), of("4102", both)]).as_deref(),
            Some(
                "3 tasks are overdue on 2 cars, and no verdict counts it; the worst: car 4102 OH due \
                 2026-01-01, tolerated until 2026-01-31."
            )
        );
        let one = in_short(&[first]).expect("something is");
        assert!(one.starts_with("1 task is overdue on 1 car,"), "{one}");
        let unknown = OverdueInTrain {
            car_number: "4101".parse().expect("a car"),
            overdue: Overdue::NotLookedAt,
        };
        assert_eq!(in_short(std::slice::from_ref(&unknown)), None);
        assert!(not_looked_at(&[unknown]).is_some());
    }

    #[test]
    fn what_is_due_at_once_as_well_is_told_first_and_as_tolerated_by_nothing() {
        let failed = OverdueTask {
            latest: None,
            ..task("BT", "2026-05-01", "2026-06-01")
        };
        let longer = task("OH", "2026-01-01", "2026-01-31");
        assert_eq!(
            told(vec![longer, failed]).as_deref(),
            Some("2 tasks, the worst BT due 2026-05-01, and due at once")
        );
    }

    #[test]
    fn a_task_without_tolerance_is_told_with_its_day_alone() {
        let one = told(vec![task("LL", "2026-03-01", "2026-03-01")]);
        assert_eq!(one.as_deref(), Some("1 task, LL due 2026-03-01"));
        assert_eq!(told(Vec::new()), None);
    }
}
