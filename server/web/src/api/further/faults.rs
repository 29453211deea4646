//! Fault finding, for programs.

use super::bodies::SpotBody;
use super::{posed, question};
use crate::api::components::ComponentBody;
use crate::api::decided::MissingBody;
use crate::api::problem::Problem;
use crate::failure::Failure;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use domain::decision::seen::{Sight, sights};
use domain::decision::trial::{Trial, trials};
use domain::identity::CarNumber;
use domain::isolation::Supply;
use domain::isolation::fault_finding::{AsRecorded, Candidate, FaultFinding, NextTest};
use serde::Serialize;
use utoipa::ToSchema;

/// What explains what was seen.
#[derive(Debug, Serialize, ToSchema)]
pub(in crate::api) struct FaultsBody {
    /// What is lacking where there is no answer.
    missing: Vec<MissingBody>,
    /// How many single faults were tried.
    tried: usize,
    /// Whether the train as recorded explains it all without a further fault.
    explained_as_recorded: bool,
    /// The single faults that explain all that was seen, cocks before parts.
    suspects: Vec<SuspectBody>,
    /// Where to look next, that which tells most apart first.
    next: Vec<NextLookBody>,
    /// Swaps that tell whether a component is at fault, by whether the fault goes with it; of a past
    /// time none is told.
    swaps: Vec<SwapBody>,
}

/// Two like components that would change places, of which the first is suspected.
#[derive(Debug, Serialize, ToSchema)]
struct SwapBody {
    /// Where the suspected one is.
    #[serde(flatten)]
    at: SpotBody,
    /// The suspected one.
    first: ComponentBody,
    /// The other, which is not suspected.
    second: ComponentBody,
    /// Where that one is.
    second_at: SpotBody,
}

/// A single fault.
#[derive(Debug, Serialize, ToSchema)]
struct SuspectBody {
    /// Where.
    #[serde(flatten)]
    at: SpotBody,
    /// What.
    #[schema(example = "closed_vented")]
    fault: &'static str,
    /// Where the same would show the same: the other hoses and valves of a pipe.
    likewise: Vec<SpotBody>,
}

/// Somewhere to look.
#[derive(Debug, Serialize, ToSchema)]
struct NextLookBody {
    /// What to look for, written as it is sent as `saw` when it is seen.
    #[schema(example = "4101:=BS1-XT1:service:pressure")]
    look_for: String,
    /// How many faults are left when it is seen.
    left_if_seen: usize,
    /// How many are left when it is not.
    left_if_not: usize,
}

/// The single faults that explain all that was seen, and where to look next.
#[utoipa::path(
    get,
    path = "/api/v1/faults",
    tag = "trains",
    operation_id = "find_faults",
    params(
        crate::api::decision::DecisionParams,
        ("saw" = Vec<String>, Query, description = "What was seen, as `4101:=BS1-XT1:service:no_pressure` or `4101:bogie 2:released:braking`; a position by its code or by any other of its names."),
        ("supply" = Option<String>, Query, description = "`now`, or `exhausted` where the train had stood for a while."),
    ),
    responses(
        (status = 200, description = "Suspects, and where to look next.", body = FaultsBody),
        (status = 404, description = "A train, unit or car is not in the register.", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The question cannot be read.", body = Problem, content_type = "application/problem+json"),
    )
)]
pub(in crate::api) async fn find_faults(
    State(state): State<WebState>,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Json<FaultsBody>, Problem> {
    let posed = posed(&state, query).await?;
    let cars = posed.asking.cars.as_slice();
    let unreadable = |why| Problem::unreadable("saw", &why);
    let sights = sights(posed.extra.all("saw")).map_err(unreadable)?;
    let observations = sights.iter().map(|sight| sight.in_train(cars));
    let observations: Vec<_> = observations.collect::<Result<_, _>>().map_err(unreadable)?;
    if observations.is_empty() {
        return Err(Problem::bad_field(
            "saw",
            "something that was seen".to_owned(),
        ));
    }
    let supply = posed.extra.read("supply");
    let supply = supply.map_err(|why| Problem::unreadable("supply", &why))?;
    let supply = supply.unwrap_or(Supply::Now);
    let found = question(&posed).and_then(|q| q.find_faults(&observations, supply));
    Ok(Json(match found {
        Ok(found) => {
            // What stood somewhere at a past time may be elsewhere now: no swap is proposed of it.
            let fitted = if posed.link.is_of_then() {
                Vec::new()
            } else {
                let mut view = state.store.view().await.map_err(Failure::from)?;
                let numbers: Vec<&CarNumber> = cars.iter().map(|car| &car.number).collect();
                view.fitted_on(&numbers).await.map_err(Failure::from)?
            };
            body(&found, &trials(cars, &found.candidates, &fitted))
        }
        Err(missing) => FaultsBody {
            missing: MissingBody::all(&missing),
            tried: 0,
            explained_as_recorded: false,
            suspects: Vec::new(),
            next: Vec::new(),
            swaps: Vec::new(),
        },
    }))
}

fn body(found: &FaultFinding, trials: &[Trial]) -> FaultsBody {
    let suspect = |candidate: &Candidate| SuspectBody {
        at: (&candidate.at).into(),
        fault: candidate.suspected.name(),
        likewise: candidate.likewise.iter().map(SpotBody::from).collect(),
    };
    let next = |next: &NextTest| NextLookBody {
        look_for: Sight::of(&next.at, next.during, next.seen).to_string(),
        left_if_seen: next.left_if_seen,
        left_if_not: next.left_if_not,
    };
    let swap = |trial: &Trial| SwapBody {
        at: (&trial.at).into(),
        first: (&trial.component).into(),
        second: (&trial.other).into(),
        second_at: (&trial.other_at).into(),
    };
    FaultsBody {
        swaps: trials.iter().map(swap).collect(),
        missing: Vec::new(),
        tried: found.tried,
        explained_as_recorded: found.as_recorded == AsRecorded::Explains,
        suspects: found.candidates.iter().map(suspect).collect(),
        next: found.next.iter().map(next).collect(),
    }
}
