//! What reveals a wrong cock, for programs.

use super::bodies::SpotBody;
use super::{posed, question};
use crate::api::decided::MissingBody;
use crate::api::problem::Problem;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use domain::isolation::reveal::{Detection, Test};
use domain::test_record::procedure::Procedure;
use serde::Serialize;
use utoipa::ToSchema;

/// Which test reveals which cock.
#[derive(Debug, Serialize, ToSchema)]
pub(in crate::api) struct RevealBody {
    /// What is lacking where there is no answer.
    missing: Vec<MissingBody>,
    /// Every cock in every wrong state.
    cocks: Vec<DetectionBody>,
    /// Measured values that say not where and when they are read.
    not_counted: Vec<RevealingTestBody>,
}

/// A cock in a wrong state.
#[derive(Debug, Serialize, ToSchema)]
struct DetectionBody {
    /// Where.
    #[serde(flatten)]
    at: SpotBody,
    /// The wrong state.
    #[schema(example = "closed_trapped")]
    state: &'static str,
    /// The tests that surely reveal it; none of them is a cock that only looking finds.
    revealed_by: Vec<RevealingTestBody>,
    /// The tests that reveal it unless shut-in air hides it.
    perhaps_by: Vec<RevealingTestBody>,
}

/// A test.
#[derive(Debug, Serialize, ToSchema)]
struct RevealingTestBody {
    /// A test of the train: `continuity`, `brake_test` or another; or else a procedure.
    test: Option<&'static str>,
    /// The procedure.
    procedure: Option<String>,
    /// Its revision.
    revision: Option<String>,
    /// What it measures.
    measurand: Option<String>,
}

/// For each cock and each wrong state of it, the tests that reveal it.
#[utoipa::path(
    get,
    path = "/api/v1/revealed",
    tag = "trains",
    operation_id = "reveal",
    params(crate::api::decision::DecisionParams),
    responses(
        (status = 200, description = "Cocks and tests.", body = RevealBody),
        (status = 404, description = "A train, unit or car is not in the register.", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "The question cannot be read.", body = Problem, content_type = "application/problem+json"),
    )
)]
pub(in crate::api) async fn reveal(
    State(state): State<WebState>,
    Query(query): Query<Vec<(String, String)>>,
) -> Result<Json<RevealBody>, Problem> {
    let posed = posed(&state, query).await?;
    let procedures = posed.documents.newest_procedures();
    let procedures: Vec<&Procedure> = procedures.iter().map(|one| &**one).collect();
    let found = question(&posed).and_then(|question| question.reveal(&procedures));
    Ok(Json(match found {
        Ok(found) => RevealBody {
            missing: Vec::new(),
            cocks: found.detections.iter().map(detection_body).collect(),
            not_counted: found.not_counted.iter().map(test_body).collect(),
        },
        Err(missing) => RevealBody {
            missing: MissingBody::all(&missing),
            cocks: Vec::new(),
            not_counted: Vec::new(),
        },
    }))
}

fn detection_body(one: &Detection) -> DetectionBody {
    DetectionBody {
        at: (&one.at).into(),
        state: one.state.name(),
        revealed_by: one.revealed_by.iter().map(test_body).collect(),
        perhaps_by: one.perhaps_by.iter().map(test_body).collect(),
    }
}

fn test_body(test: &Test) -> RevealingTestBody {
    match test {
        Test::OfTheTrain(test) => RevealingTestBody {
            test: Some(test.name()),
            procedure: None,
            revision: None,
            measurand: None,
        },
        Test::OfACar {
            procedure,
            revision,
            measurand,
        } => RevealingTestBody {
            test: None,
            procedure: Some(procedure.to_string()),
            revision: Some(revision.to_string()),
            measurand: Some(measurand.to_string()),
        },
    }
}
