//! Air that stays stored: what it still allows, and where it is drained.

use domain::decision::Supposed;
use domain::decision::answer::Answer;
use domain::decision::stored::StoredIn;
use domain::worked::{MissingFact, Step};

/// A reservoir that no source feeds any more.
#[derive(Debug)]
pub(crate) struct StoredRow {
    pub(crate) car: String,
    pub(crate) code: String,
    pub(crate) volume: u32,
    pub(crate) feeds: String,
    /// How many full applications; nothing where it feeds no brake or a fact is lacking.
    pub(crate) left: String,
    pub(crate) missing: Vec<MissingFact>,
    pub(crate) drains: Vec<String>,
    pub(crate) steps: Vec<Step>,
}

/// Every such reservoir of the train of an answer.
pub(crate) fn rows(answer: &Answer, supposed: &[Supposed]) -> Vec<StoredRow> {
    answer.stored_air(supposed).iter().map(row).collect()
}

fn row(stored: &StoredIn) -> StoredRow {
    let drains = stored.drains.iter();
    let (steps, missing) = match &stored.applications {
        Some(Ok(worked)) => (worked.steps.clone(), Vec::new()),
        Some(Err(missing)) => (Vec::new(), missing.0.clone()),
        None => (Vec::new(), Vec::new()),
    };
    StoredRow {
        car: stored.at.car_number.to_string(),
        code: stored.at.position.to_string(),
        volume: stored.volume_l,
        feeds: match stored.brakes {
            0 => "no brake".to_owned(),
            1 => "1 brake".to_owned(),
            brakes => format!("{brakes} brakes"),
        },
        left: applications(stored).unwrap_or_default(),
        missing,
        drains: drains
            .map(|at| format!("car {} {}", at.car_number, at.position))
            .collect(),
        steps,
    }
}

/// "8 full applications"; none where it feeds no brake or a fact is lacking.
pub(crate) fn applications(stored: &StoredIn) -> Option<String> {
    let worked = stored.applications.as_ref()?.as_ref().ok()?;
    Some(match worked.value {
        1 => "1 full application".to_owned(),
        count => format!("{count} full applications"),
    })
}
