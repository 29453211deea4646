//! Weak points, for programs.

use super::bodies::{LossesBody, SpotBody};
use super::posed;
use crate::api::decided::MissingBody;
use crate::api::problem::Problem;
use crate::limits::API_PAGE;
use crate::page::further::weak_points;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use domain::isolation::closing::Spot;
use domain::isolation::weak_points::{Fails, Failure, WeakPair, WeakPoint, WeakPoints};
use serde::Serialize;
use utoipa::ToSchema;

/// The weak points of a formation.
#[derive(Debug, Serialize, ToSchema)]
pub(in crate::api) struct WeakPointsBody {
    /// What is lacking where there is no answer.
    missing: Vec<MissingBody>,
    /// Braked weight in emergency braking as the train stands, in kilograms.
    at_once_kg: i64,
    /// The same once stored air is used up.
    later_kg: i64,
    /// Every single failure, the worst first.
    singles: Vec<SingleBody>,
    /// How many pairs were evaluated.
    pairs_evaluated: usize,
    /// How many of them take braked weight.
    pairs_that_take: usize,
    /// How many take more than their two failures by themselves.
    pairs_that_take_beyond_each: usize,
    /// The worst pairs, at most 200.
    worst_pairs: Vec<PairBody>,
    /// The pairs that take the most beyond each by itself, at most 200.
    hidden_pairs: Vec<PairBody>,
}

/// A failure.
#[derive(Debug, Serialize, ToSchema)]
struct FailureBody {
    /// Where.
    #[serde(flatten)]
    at: SpotBody,
    /// How it fails: a cock is closed, everything else delivers nothing. `leaks`: a hose or drain cock
    /// by which the pipe that it stands in loses all its air.
    #[schema(example = "failed")]
    state: &'static str,
}

/// A failure with what it takes.
#[derive(Debug, Serialize, ToSchema)]
struct SingleBody {
    /// The failure.
    #[serde(flatten)]
    failure: FailureBody,
    /// Of one that leaks, the other hoses and drain cocks of its pipe, whose leaking does the same.
    likewise: Vec<SpotBody>,
    /// What it takes.
    losses: LossesBody,
}

/// Two failures with what they take.
#[derive(Debug, Serialize, ToSchema)]
struct PairBody {
    /// The one.
    one: FailureBody,
    /// The other.
    other: FailureBody,
    /// Braked weight lost at once, in kilograms.
    at_once_kg: i64,
    /// The same once stored air is used up.
    later_kg: i64,
    /// By how much that is more than each by itself.
    beyond_each_kg: i64,
}

/// What every single failure of a formation takes away, and every pair.
#[utoipa::path(
    get,
    path = "/api/v1/weak-points",
    tag = "trains",
    operation_id = "weak_points",
    params(crate::api::decision::DecisionParams),
    responses(
        (status = 200, description = "Failures and pairs, the worst first.", body = WeakPointsBody),
        (status = 404, description = "A train, unit or car is not in the register.", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The question cannot be read.", body = Problem, content_type = "application/problem+json"),
    )
)]
pub(in crate::api) async fn find_weak_points(
    State(state): State<WebState>,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Json<WeakPointsBody>, Problem> {
    let posed = posed(&state, query).await?;
    Ok(Json(match weak_points::weak_points(posed).await? {
        Ok(found) => body(&found),
        Err(missing) => WeakPointsBody {
            missing: MissingBody::all(&missing),
            ..body(&WeakPoints::default())
        },
    }))
}

fn body(found: &WeakPoints) -> WeakPointsBody {
    let pair = |pair: &WeakPair| pair_body(&found.singles, pair);
    let pairs = &found.pairs;
    WeakPointsBody {
        missing: Vec::new(),
        at_once_kg: found.at_once.0,
        later_kg: found.later.0,
        singles: found.singles.iter().map(single_body).collect(),
        pairs_evaluated: pairs.evaluated,
        pairs_that_take: pairs.that_take,
        pairs_that_take_beyond_each: pairs.that_take_beyond_each,
        worst_pairs: pairs.worst.iter().take(API_PAGE).filter_map(pair).collect(),
        hidden_pairs: pairs
            .hidden
            .iter()
            .take(API_PAGE)
            .filter_map(pair)
            .collect(),
    }
}

fn failure_body(failure: &Failure) -> FailureBody {
    let spot = Spot {
        car: failure.car,
        car_number: failure.car_number.clone(),
        position: failure.position.clone(),
    };
    FailureBody {
        at: (&spot).into(),
        state: failure.how.name(),
    }
}

fn single_body(single: &WeakPoint) -> SingleBody {
    SingleBody {
        failure: failure_body(&single.failure),
        likewise: match &single.failure.how {
            Fails::To(_) => Vec::new(),
            Fails::Leaks { likewise, .. } => likewise.iter().map(SpotBody::from).collect(),
        },
        losses: (&single.losses).into(),
    }
}

fn pair_body(singles: &[WeakPoint], pair: &WeakPair) -> Option<PairBody> {
    Some(PairBody {
        one: failure_body(&singles.get(pair.one)?.failure),
        other: failure_body(&singles.get(pair.other)?.failure),
        at_once_kg: pair.at_once.0,
        later_kg: pair.later.0,
        beyond_each_kg: pair.beyond_each.0,
    })
}
