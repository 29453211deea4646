//! Where a component was, what was done on it and how it was tested, as programs get it.

use super::amount::AmountBody;
use domain::configuration::certificate::Left;
use domain::configuration::component::RemovalReason;
use domain::due::task::{Interval, Metric, Task};
use domain::identity::TaskCode;
use domain::ledger::certified::{Certified, FoundLeft};
use domain::ledger::dossier::{DoneRecord, Fitment, TestedRecord};
use domain::ledger::estimated::Estimated;
use domain::ledger::standing::ComponentHistory;
use domain::time::Instant;
use serde::Serialize;
use std::sync::Arc;
use utoipa::ToSchema;

/// A component at a position of a car over a period, perhaps inside an assembly.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FitmentBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// From when.
    #[schema(format = DateTime)]
    from: String,
    /// The entry that began it.
    fitted_by: i64,
    /// Until when; none while it lasts.
    #[schema(format = DateTime)]
    until: Option<String>,
    /// The entry that ended it.
    removed_by: Option<i64>,
    /// Why it was taken off; none while it lasts, and where it went with the assembly it is inside.
    reason: Option<&'static str>,
}

/// A task as it was done.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DoneBody {
    /// The task.
    task: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
    /// The entry that recorded it.
    recorded_by: i64,
}

/// A test as it was recorded.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ComponentTestBody {
    /// The test record.
    id: String,
    /// The procedure followed.
    procedure: String,
    /// Its revision.
    revision: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
    /// What it came to: `passed`, `failed`, `incomplete` or `not_counted`.
    outcome: &'static str,
    /// The entry that recorded it.
    recorded_by: i64,
}

/// What is left by one clock.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LifeLeftBody {
    /// The clock: `calendar`, `odometer`, `running_hours` or `compressor_hours`.
    clock: &'static str,
    /// Until when, by the calendar.
    #[schema(format = Date)]
    until: Option<String>,
    /// How much, by a meter.
    amount: Option<AmountBody>,
}

/// What a certificate says is left, beside what the register finds for the same moment. The register
/// goes by its own records.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CertifiedBody {
    /// The task.
    task: String,
    /// The certificate.
    certificate: String,
    /// The entry that it came with.
    recorded_by: i64,
    /// What it says.
    said: LifeLeftBody,
    /// `same`, `other`, `no_limit` where the register knows of no such limit, `not_started` where
    /// the clock counts from fitting, or `unknown`.
    compared: &'static str,
    /// What the register finds, where that is another.
    found: Option<LifeLeftBody>,
    /// What no reading tells of the use on which that rests.
    estimated: Vec<EstimatedBody>,
}

/// Use that no reading tells: what a component ran at a position from the last reading of its car
/// until it came off. It is carried on at the car's daily rate until a later reading tells it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EstimatedBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// When the car was last read.
    #[schema(format = DateTime)]
    last_read: String,
    /// When it came off.
    #[schema(format = DateTime)]
    until: String,
}

/// A limit of due work that rests on such use.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EstimatedLimitBody {
    /// The task.
    task: String,
    /// The meter of the limit.
    #[schema(example = "odometer")]
    meter: &'static str,
    /// The use that no reading tells.
    estimated: Vec<EstimatedBody>,
}

impl EstimatedLimitBody {
    /// The limits of some tasks that rest on an estimate at a moment.
    pub(super) fn of(
        history: &ComponentHistory<'_>,
        tasks: &[Arc<Task>],
        at: Instant,
    ) -> Vec<Self> {
        let limits = tasks.iter().flat_map(|task| {
            let limits = task.limits.iter().map(|limit| limit.interval);
            limits.map(move |interval| (&task.code, interval))
        });
        let of = |(task, interval): (&TaskCode, Interval)| {
            let Interval::Usage(meter, _) = interval else {
                return None;
            };
            let estimated = history.estimated_for(task, meter, at);
            (!estimated.is_empty()).then(|| Self {
                task: task.to_string(),
                meter: meter.name(),
                estimated: estimated.iter().map(EstimatedBody::from).collect(),
            })
        };
        limits.filter_map(of).collect()
    }
}

impl From<&Estimated> for EstimatedBody {
    fn from(estimated: &Estimated) -> Self {
        Self {
            car: estimated.at.car.to_string(),
            position: estimated.at.position.to_string(),
            last_read: estimated.read.to_string(),
            until: estimated.until.to_string(),
        }
    }
}

impl From<Left> for LifeLeftBody {
    fn from(left: Left) -> Self {
        let (clock, until, amount) = match left {
            Left::Until(day) => (Metric::Calendar, Some(day.to_string()), None),
            Left::Run { meter, amount } => {
                let amount = AmountBody::new(amount, meter);
                (meter.into(), None, Some(amount))
            }
        };
        Self {
            clock: clock.name(),
            until,
            amount,
        }
    }
}

impl From<&Certified> for CertifiedBody {
    fn from(certified: &Certified) -> Self {
        let (compared, found) = match &certified.found {
            FoundLeft::Same => ("same", None),
            FoundLeft::Other { left, .. } => ("other", Some((*left).into())),
            FoundLeft::NoLimit => ("no_limit", None),
            FoundLeft::NotStarted => ("not_started", None),
            FoundLeft::Lacking(_) => ("unknown", None),
        };
        Self {
            task: certified.said.task.to_string(),
            certificate: certified.number.clone(),
            recorded_by: certified.by.0,
            said: certified.said.left.into(),
            compared,
            found,
            estimated: certified
                .estimated
                .iter()
                .map(EstimatedBody::from)
                .collect(),
        }
    }
}

impl From<&Fitment> for FitmentBody {
    fn from(fitment: &Fitment) -> Self {
        let end = fitment.end.as_ref();
        Self {
            car: fitment.at.car.to_string(),
            position: fitment.at.position.to_string(),
            from: fitment.from.to_string(),
            fitted_by: fitment.fitted_by.0,
            until: end.map(|end| end.at.to_string()),
            removed_by: end.map(|end| end.by.0),
            reason: end.and_then(|end| end.reason).map(RemovalReason::name),
        }
    }
}

impl From<&DoneRecord> for DoneBody {
    fn from(done: &DoneRecord) -> Self {
        Self {
            task: done.task.to_string(),
            at: done.at.to_string(),
            recorded_by: done.by.0,
        }
    }
}

impl From<&TestedRecord> for ComponentTestBody {
    fn from(tested: &TestedRecord) -> Self {
        let record = &tested.record;
        Self {
            id: record.id.to_string(),
            procedure: record.procedure.to_string(),
            revision: record.revision.to_string(),
            at: record.at.to_string(),
            outcome: tested.outcome.name(),
            recorded_by: tested.by.0,
        }
    }
}
