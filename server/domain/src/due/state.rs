//! The state of a task on a day.

use crate::due::forecast::Forecast;
use crate::time::Day;
use crate::words::word_list;

word_list! {
    /// How a task stands on a day, from best to worst.
    State, "state" {
        /// No limit gives a date, and nothing is lacking: its clock starts at fitting, or its
        /// meter stands still.
        NoDate = "no_date",
        /// Its window has not opened.
        NotDue = "not_due",
        /// The work may be done and counts for the coming due point.
        InWindow = "in_window",
        /// Due on this day, or at once.
        Due = "due",
        /// Past its due point, and still within tolerance.
        InLateTolerance = "in_late_tolerance",
        /// It cannot be told: a limit is unknown, and no known limit is overdue.
        Unknown = "unknown",
        /// Past the tolerance of one of its limits.
        Overdue = "overdue",
    }
}

/// How all work of a component stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// The worst of its states.
    pub state: State,
    /// The first of its dates, if one has a date.
    pub first: Option<Day>,
}

impl Standing {
    /// How one task stands on a day.
    pub fn of(forecast: &Forecast, today: Day) -> Self {
        Self {
            state: forecast.state_on(today),
            first: forecast.on,
        }
    }

    /// How it stands together with another.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            state: self.state.max(other.state),
            first: [self.first, other.first].into_iter().flatten().min(),
        }
    }
}

impl Forecast {
    /// The state on a day: the worst of the states of its limits. A limit by meter is judged by
    /// its last reading as well, since the dates of what a reading has passed lie before it.
    ///
    /// Only "overdue", and "due" of what is due at once, can be said while a limit is unknown;
    /// every other state would claim that the unknown limit is not overdue.
    pub fn state_on(&self, today: Day) -> State {
        let reached = |day: Option<Day>| day.is_some_and(|day| day <= today);
        let passed = |day: Option<Day>| day.is_some_and(|day| day < today);
        if passed(self.latest) {
            State::Overdue
        } else if self.at_once.is_some() {
            State::Due
        } else if !self.lacking.is_nothing() {
            State::Unknown
        } else if passed(self.on) {
            State::InLateTolerance
        } else if reached(self.on) {
            State::Due
        } else if reached(self.opens) {
            State::InWindow
        } else if self.on.is_some() {
            State::NotDue
        } else {
            State::NoDate
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::due::compute;
    use crate::due::examples::{day, fitted_new, odometer, overhaul};
    use crate::due::task::{Task, TaskKind};

    /// Due on 2026-01-31, 60 days early, 30 days late; the odometer is far from its limit.
    fn states(task: &Task, days: &[&str]) -> Vec<State> {
        let row = compute(task, &fitted_new(), &odometer("2025-06-01", 60_000));
        let state = |text: &&str| row.forecast.state_on(day(text));
        days.iter().map(state).collect()
    }

    #[test]
    fn a_task_passes_through_its_states_day_by_day() {
        let days = [
            "2025-12-01",
            "2025-12-02",
            "2026-01-30",
            "2026-01-31",
            "2026-02-01",
            "2026-03-02",
            "2026-03-03",
        ];
        let expected = [
            State::NotDue,
            State::InWindow,
            State::InWindow,
            State::Due,
            State::InLateTolerance,
            State::InLateTolerance,
            State::Overdue,
        ];
        assert_eq!(states(&overhaul(), &days), expected);
    }

    #[test]
    fn a_life_limit_is_overdue_the_day_after() {
        let life = Task {
            kind: TaskKind::LifeLimit,
            ..overhaul()
        };
        assert_eq!(
            states(&life, &["2026-01-31", "2026-02-01"]),
            [State::Due, State::Overdue]
        );
    }

    #[test]
    fn with_an_unknown_limit_only_overdue_can_be_said() {
        let mut meters = odometer("2025-06-01", 60_000);
        meters.odometer.last = None;
        let row = compute(&overhaul(), &fitted_new(), &meters);
        let state = |text| row.forecast.state_on(day(text));
        assert_eq!(state("2025-12-01"), State::Unknown);
        assert_eq!(state("2026-02-01"), State::Unknown);
        assert_eq!(state("2026-03-03"), State::Overdue);
    }
}
