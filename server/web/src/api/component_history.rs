//! Where a component was, what was done on it and how it was tested, as programs get it.

use domain::configuration::component::RemovalReason;
use domain::ledger::dossier::{DoneRecord, Fitment, TestedRecord};
use serde::Serialize;
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
