//! The work that stands on what goes on a car or into an assembly.

use super::Listed;
use crate::configuration::component::ComponentRef;
use crate::due::forecast::Forecast;
use crate::due::state::State;
use crate::due::task::{Task, TaskKind};
use crate::identity::TaskCode;
use crate::people::Authority;
use crate::refusal::Refusal;
use crate::time::Day;
use serde::{Deserialize, Serialize};
use std::cmp::Reverse;
use std::sync::Arc;

/// A task of a component, and when it is due.
#[derive(Debug, Clone)]
pub struct DueWork {
    /// The component.
    pub component: ComponentRef,
    /// The task.
    pub task: Arc<Task>,
    /// Its dates.
    pub forecast: Forecast,
}

/// Work that stands on a component that was fitted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StandingWork {
    /// The component.
    pub component: ComponentRef,
    /// The task.
    pub task: TaskCode,
    /// How it stood when the component was fitted.
    pub state: State,
    /// When it was due, if that has a date.
    pub on: Option<Day>,
}

/// The work that stands on components as they are fitted on a day: overdue, due, in its late
/// tolerance, or not to be told; the worst first. A person fits nothing whose life is over (a
/// limit of life has no tolerance); of a fleet that is brought in, what was fitted is told as it
/// was. Linear in the work.
pub fn of_fitted(
    works: Vec<DueWork>,
    (day, authority): (Day, Authority),
) -> Result<Listed<StandingWork>, Refusal> {
    let mut standing = Vec::new();
    for DueWork {
        component,
        task,
        forecast,
    } in works
    {
        let state = forecast.state_on(day);
        match state {
            State::NoDate | State::NotDue | State::InWindow => continue,
            State::Overdue if task.kind == TaskKind::LifeLimit && authority == Authority::Own => {
                return Err(Refusal::LifeOver {
                    component,
                    task: task.code.clone(),
                    on: forecast.on,
                });
            }
            State::Due | State::InLateTolerance | State::Unknown | State::Overdue => {}
        }
        standing.push(StandingWork {
            component,
            task: task.code.clone(),
            state,
            on: forecast.on,
        });
    }
    standing.sort_by_key(|one| (Reverse(one.state), one.on));
    Ok(Listed::of(standing))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::due::compute;
    use crate::due::examples::{day, fitted_new, odometer, overhaul};

    /// Work due on 2026-01-31 that is overdue from 2026-03-03 on.
    fn work(kind: TaskKind, code: &str) -> DueWork {
        let mut task = overhaul();
        task.kind = kind;
        task.code = code.parse().expect("a code");
        let row = compute(&task, &fitted_new(), &odometer("2025-06-01", 60_000));
        DueWork {
            component: ComponentRef {
                part: "RV-10".parse().expect("a part number"),
                serial: "0001".parse().expect("a serial number"),
            },
            task: Arc::new(task),
            forecast: row.forecast,
        }
    }

    #[test]
    fn what_is_overdue_is_told_and_what_is_not_yet_due_is_not() {
        let works = || vec![work(TaskKind::Overhaul, "OH-1")];
        let on = |text| of_fitted(works(), (day(text), Authority::Own)).expect("no life limit");
        assert!(on("2025-12-31").is_empty());
        assert_eq!(on("2026-01-31").told[0].state, State::Due);
        assert_eq!(on("2026-03-03").told[0].state, State::Overdue);
        assert_eq!(on("2026-03-03").told[0].on, Some(day("2026-01-31")));
    }

    #[test]
    fn what_has_reached_the_limit_of_its_life_is_fitted_by_nobody() {
        let works = || vec![work(TaskKind::LifeLimit, "LL-1")];
        let fitted = |text, authority| of_fitted(works(), (day(text), authority));
        assert_eq!(
            fitted("2026-01-31", Authority::Own).map(|told| told.count()),
            Ok(1)
        );
        let over = fitted("2026-03-03", Authority::Own);
        assert!(
            matches!(&over, Err(Refusal::LifeOver { on: Some(on), .. }) if *on == day("2026-01-31")),
            "{over:?}"
        );
        let brought_in = fitted("2026-03-03", Authority::Founder);
        assert_eq!(
            brought_in.map(|told| told.told[0].state),
            Ok(State::Overdue)
        );
    }
}
