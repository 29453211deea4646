//! Rule sets: which there are, and one in words and as it was issued.

use super::body::Asked;
use super::fields::named;
use super::problem::Problem;
use crate::as_at::AsAtParams;
use crate::page::rule_sets::standing;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::identity::{Revision, RuleSetName};
use domain::ledger::dossier::{Documents, InForce};
use domain::rule_set::RuleSet;
use domain::rule_set::words::{Part, head, rules};
use domain::time::Day;
use serde::Serialize;
use serde_json::Value;
use std::sync::Arc;
use utoipa::ToSchema;

/// A revision of a rule set.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RuleSetBody {
    /// Its name.
    rule_set: String,
    /// Its revision.
    revision: String,
    /// Who issued it.
    issuer: String,
    /// How it stands on the day told of, in words.
    #[schema(example = "in force")]
    standing: String,
    /// The entry that issued it.
    issued_by: i64,
}

impl RuleSetBody {
    fn new(set: &InForce<Arc<RuleSet>>, (documents, on): (&Documents, Day)) -> Self {
        Self {
            rule_set: set.document.name.to_string(),
            revision: set.document.revision.to_string(),
            issuer: set.document.issuer.clone(),
            standing: standing(documents, &set.document, on).to_string(),
            issued_by: set.by.0,
        }
    }
}

/// A rule set with its rules.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RuleSetDetail {
    /// Which.
    issued: RuleSetBody,
    /// What everybody must know who uses it, its validity and what it takes as usual, in words.
    head: Vec<PartBody>,
    /// Its rules in words.
    rules: Vec<PartBody>,
    /// The rule set as in the ledger.
    #[schema(value_type = Object)]
    document: Value,
}

/// A part of a rule set in words.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PartBody {
    /// Which part: what stands in its head, or the title of a rule.
    what: String,
    /// What it says, one line for each thing said.
    lines: Vec<String>,
}

impl From<Part> for PartBody {
    fn from(Part { what, lines }: Part) -> Self {
        Self { what, lines }
    }
}

/// All rule sets by name and revision, in force or not, as they stood at a time.
#[utoipa::path(
    get,
    path = "/api/v1/rule-sets",
    operation_id = "listRuleSets",
    tag = "trains",
    params(AsAtParams),
    responses(
        (status = 200, body = Vec<RuleSetBody>, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    ),
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<Vec<RuleSetBody>>, Problem> {
    let speaks = params.read(&state)?;
    let view = speaks.view(&state).await?;
    let on = state.zone.day_of(speaks.times.effective);
    let as_of = (&*view.documents, on);
    let sets = view.documents.rule_sets.values();
    Ok(Json(sets.map(|set| RuleSetBody::new(set, as_of)).collect()))
}

/// A rule set: what it says, in words and as it was issued.
#[utoipa::path(
    get,
    path = "/api/v1/rule-sets/{name}/{revision}",
    operation_id = "showRuleSet",
    tag = "trains",
    params(
        ("name" = String, Path, description = "The rule set's name"),
        ("revision" = String, Path, description = "Its revision"),
        AsAtParams,
    ),
    responses(
        (status = 200, body = RuleSetDetail, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Path((name, revision)): Path<(String, String)>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<RuleSetDetail>, Problem> {
    let key: (RuleSetName, Revision) = (named("name", &name)?, named("revision", &revision)?);
    let speaks = params.read(&state)?;
    let on = state.zone.day_of(speaks.times.effective);
    let view = speaks.view(&state).await?;
    let found = view.documents.rule_sets.get(&key);
    let not_found = || Problem::not_found("rule set", &format!("{name} revision {revision}"));
    let set = found.ok_or_else(not_found)?;
    let part = |parts: Vec<Part>| parts.into_iter().map(PartBody::from).collect();
    Ok(Json(RuleSetDetail {
        issued: RuleSetBody::new(set, (&view.documents, on)),
        head: part(head(&set.document)),
        rules: part(rules(&set.document)),
        // What was read from JSON can be written as JSON.
        document: serde_json::to_value(&*set.document).unwrap_or_default(),
    }))
}
