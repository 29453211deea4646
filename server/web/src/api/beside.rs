//! What must be known beside the verdicts about a train, as programs get it.

use domain::decision::Decision;
use domain::decision::overdue::{Overdue, OverdueInTrain};
use domain::decision::warning::Warning;
use serde::Serialize;
use utoipa::ToSchema;

/// Something to know beside the verdicts.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct WarningBody {
    /// What it is about.
    #[schema(example = "drags")]
    kind: &'static str,
    /// In one sentence.
    text: String,
}

impl WarningBody {
    /// All there is, the gravest first.
    pub(super) fn all(decision: &Decision) -> Vec<Self> {
        decision.warnings().iter().map(Self::from).collect()
    }
}

impl From<&Warning> for WarningBody {
    fn from(warning: &Warning) -> Self {
        Self {
            kind: warning.kind.name(),
            text: warning.text.clone(),
        }
    }
}

/// A car of which work is overdue, or of which that was not looked at.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OverdueOnCarBody {
    /// The car.
    car: String,
    /// How many tasks are overdue on it and on what is fitted to it; null where that was not looked
    /// at, as of a past time: the due list of the car tells it.
    tasks: Option<usize>,
    /// One that is due at once as well, or the one that is overdue for the longest time.
    worst: Option<OverdueTaskBody>,
}

/// A task that is overdue.
#[derive(Debug, Serialize, ToSchema)]
struct OverdueTaskBody {
    /// The task.
    task: String,
    /// Where the component is fitted that the work is done on; null for the car as a whole.
    position: Option<String>,
    /// The day on which it was due.
    #[schema(format = Date)]
    due_on: String,
    /// The last day within tolerance; null of what is due at once as well, which no interval tolerates.
    #[schema(format = Date)]
    latest_on: Option<String>,
    /// The meter whose limit sets the day; null for a limit by the calendar.
    #[schema(example = "odometer")]
    meter: Option<&'static str>,
    /// What that meter shows at the limit, in kilometres or hours.
    meter_at: Option<f64>,
}

impl OverdueOnCarBody {
    /// The cars, in the order of the train.
    pub(super) fn all(decision: &Decision) -> Vec<Self> {
        decision.overdue.iter().map(Self::from).collect()
    }
}

impl From<&OverdueInTrain> for OverdueOnCarBody {
    fn from(one: &OverdueInTrain) -> Self {
        let work = match &one.overdue {
            Overdue::Work(work) => Some(work),
            Overdue::Nothing | Overdue::NotLookedAt => None,
        };
        let worst = work.map(|work| &work.worst);
        Self {
            car: one.car_number.to_string(),
            tasks: work.map(|work| work.tasks),
            worst: worst.map(|worst| OverdueTaskBody {
                task: worst.task.to_string(),
                position: worst.position.as_ref().map(ToString::to_string),
                due_on: worst.due.to_string(),
                latest_on: worst.latest.map(|latest| latest.to_string()),
                meter: worst.at.map(|(meter, _)| meter.name()),
                meter_at: worst.at.map(|(_, at)| at.units()),
            }),
        }
    }
}
