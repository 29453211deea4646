//! Checking the code of a sheet, for programs.

use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::page::check::{Checked, checked};
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use domain::decision::check_code::CheckCode;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};

/// Which code.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub(crate) struct CheckParams {
    /// The code as printed on the sheet, as `2224-K7Q2-9MXH`.
    #[serde(default)]
    code: String,
}

/// What a code leads to.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CheckedBody {
    /// Whether a decision with this code is in the ledger as it was recorded.
    genuine: bool,
    /// The entry that recorded it.
    entry: Option<i64>,
    /// The train.
    train: Option<String>,
    /// `may_not_run`, `with_restrictions` or `may_run`.
    permission: Option<&'static str>,
    /// The rule set and its revision.
    rule_set: Option<String>,
    /// When it was decided.
    #[schema(format = DateTime)]
    decided_at: Option<String>,
    /// Who decided.
    decided_by: Option<String>,
    /// Why it is void by now; null while it stands.
    void_because: Option<String>,
    /// The entry since which it is void, where an entry made it so.
    void_since_entry: Option<i64>,
    /// The last entry recorded since, a correction or one told late, with which the register would now
    /// find something else for the moment of the decision; not one that changes only what is told beside
    /// a verdict that another has moved.
    told_late_by_entry: Option<i64>,
    /// The last entry recorded since by which a component on its cars is to be judged again, which the
    /// verdict does not count.
    judge_again_by_entry: Option<i64>,
}

/// Is a sheet genuine, and does its decision still stand?
#[utoipa::path(
    get,
    path = "/api/v1/check",
    operation_id = "checkSheet",
    tag = "trains",
    params(CheckParams),
    responses(
        (status = 200, body = CheckedBody, description = "As asked"),
        (status = 422, body = Problem, content_type = "application/problem+json", description = "The code cannot be read: it was mistyped"),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Asked(params): Asked<CheckParams>,
) -> Result<Json<CheckedBody>, Problem> {
    let code: CheckCode = named("code", &params.code)?;
    let mut body = CheckedBody {
        genuine: false,
        entry: None,
        train: None,
        permission: None,
        rule_set: None,
        decided_at: None,
        decided_by: None,
        void_because: None,
        void_since_entry: None,
        told_late_by_entry: None,
        judge_again_by_entry: None,
    };
    match checked(&state, code).await? {
        Checked::Forged => {}
        Checked::Damaged(entry) => body.entry = Some(entry),
        Checked::Genuine(found) => {
            let (record, line) = (found.record, found.line);
            body.genuine = true;
            body.entry = Some(record.id.0);
            body.train = Some(found.train);
            body.permission = Some(record.taken.found.permission.name());
            body.rule_set = Some(line.rule_set);
            body.decided_at = Some(record.at.to_string());
            body.decided_by = Some(line.by);
            body.void_since_entry = record.void.map(|void| void.by.0);
            body.told_late_by_entry = record.told_late.map(|by| by.0);
            body.judge_again_by_entry = line.doubted.map(|(_, entry)| entry);
            body.void_because = line.void.map(|void| void.because);
        }
    }
    Ok(Json(body))
}
