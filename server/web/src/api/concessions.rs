//! Concessions.

use super::body::Asked;
use super::problem::Problem;
use crate::as_at::AsAtParams;
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use domain::configuration::concession::ConcessionRecord;
use domain::time::Day;
use serde::Serialize;
use store::read::departures::DepartureFilter;
use utoipa::ToSchema;

/// All concessions.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ConcessionList {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The day by which standings are told.
    #[schema(format = Date)]
    as_on: String,
    /// The concessions, by number.
    concessions: Vec<ConcessionBody>,
}

/// Written permission for a departure from the baseline.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ConcessionBody {
    /// Its number.
    number: String,
    /// `in_force`, `ending`, `expired` or `withdrawn`.
    standing: &'static str,
    /// The cars it is for.
    #[schema(example = "4101 to 4120, 4131")]
    cars: String,
    /// The position, by its full code.
    position: String,
    /// The part that it allows there, if it is for one.
    part: Option<String>,
    /// The setting that it allows to be otherwise there, if it is for one.
    setting: Option<String>,
    /// The values that it allows outside the range of the setting, if it does; one that is for such and
    /// names none was granted before it had to, and allows any.
    #[schema(example = "8.7 to 9.2 bar")]
    values: Option<String>,
    /// Why the risk is accepted.
    reason: String,
    /// Its last day.
    #[schema(format = Date)]
    until: String,
    /// How often it was prolonged.
    prolonged: usize,
    /// The number of the entry by which it is in force.
    entry: i64,
    /// How many positions it is for now; in a list of due work, at the place asked about. Null of a
    /// past time, of which it is not counted.
    positions: Option<i64>,
}

impl ConcessionBody {
    pub(super) fn new(record: &ConcessionRecord, positions: Option<i64>, today: Day) -> Self {
        let granted = &record.granted;
        Self {
            number: granted.number.to_string(),
            standing: record.standing(today).name(),
            cars: granted.cars.to_string(),
            position: granted.position.to_string(),
            part: granted.allows.part().map(ToString::to_string),
            setting: granted.allows.setting().map(ToString::to_string),
            values: granted.values.as_ref().map(ToString::to_string),
            reason: granted.reason.clone(),
            until: record.until().to_string(),
            prolonged: record.prolonged.len(),
            entry: record.by.0,
            positions,
        }
    }
}

/// All concessions that had ever been granted, as they stood at a time.
#[utoipa::path(
    get,
    path = "/api/v1/concessions",
    operation_id = "listConcessions",
    tag = "cars",
    params(AsAtParams),
    responses(
        (status = 200, body = ConcessionList, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<ConcessionList>, Problem> {
    let speaks = params.read(&state)?;
    let times = speaks.times;
    let today = state.zone.day_of(times.effective);
    let mut view = speaks.view(&state).await?;
    let counts = match speaks.then() {
        None => Some(view.under_concessions(&DepartureFilter::all(today)).await?),
        Some(_) => None,
    };
    let known = view.documents.concessions.values();
    let known = known.filter_map(|record| record.as_at(times.effective));
    let bodies = known.map(|record| {
        let (number, counts) = (&record.granted.number, counts.as_ref());
        let positions = counts.map(|counts| counts.get(number).copied().unwrap_or(0));
        ConcessionBody::new(&record, positions, today)
    });
    Ok(Json(ConcessionList {
        at: times.effective.to_string(),
        known: times.known.to_string(),
        as_on: today.to_string(),
        concessions: bodies.collect(),
    }))
}
