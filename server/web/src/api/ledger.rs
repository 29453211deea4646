//! Entries of the ledger, narrowed.

use super::entries::{EntryBody, add_sides};
use super::problem::Problem;
use crate::form::Fields;
use crate::page::ledger::query::EntriesQuery;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Query, State};
use serde::Serialize;
use std::collections::HashMap;
use store::read::entries::ENTRIES_PAGE;
use utoipa::ToSchema;

/// Entries, newest first.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EntryList {
    /// A page of them.
    entries: Vec<EntryBody>,
    /// What to give as `before` for the next page; none where these are the oldest.
    before: Option<i64>,
}

/// The entries asked for, newest first, fifty at a time.
#[utoipa::path(
    get,
    path = "/api/v1/entries",
    operation_id = "listEntries",
    tag = "ledger",
    params(
        ("kind" = Option<String>, Query, description = "Of this kind, as `reading_taken`"),
        ("about" = Option<String>, Query, description = "What kind of thing they are about: `car`, `unit`, `train`, `component`, `part`, `car_type`, `task`, `procedure`, `rule_set`, `concession`, `modification`, `visit` or `location`; needs `name`"),
        ("name" = Option<String>, Query, description = "Its name; of a component, `part serial number` with the word between"),
        ("by" = Option<String>, Query, description = "By this person"),
        ("from" = Option<String>, Query, description = "Recorded on this day of the depot or later"),
        ("until" = Option<String>, Query, description = "Recorded on this day or earlier"),
        ("before" = Option<i64>, Query, description = "Before this entry"),
    ),
    responses(
        (status = 200, body = EntryList, description = "As asked"),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Query(fields): Query<Vec<(String, String)>>,
) -> Result<Json<EntryList>, Problem> {
    let mut query = EntriesQuery::read(Fields(fields.into_iter().collect()), &state.zone);
    let mut view = state.store.view().await?;
    query.refuse_unkept(&mut view).await?;
    if let Some((field, what)) = query.errors.first() {
        return Err(Problem::bad_field(field, format!("{field}: {what}")));
    }
    let mut entries = view.entries(&query.filter).await?;
    let more = ENTRIES_PAGE < entries.len();
    entries.truncate(ENTRIES_PAGE);
    let corrected = match (entries.last(), entries.first()) {
        (Some(oldest), Some(newest)) => view.corrected_between(oldest.seq, newest.seq).await?,
        _ => HashMap::new(),
    };
    let before = entries.last().filter(|_| more).map(|entry| entry.seq.0);
    let mut bodies = Vec::with_capacity(entries.len());
    for entry in &entries {
        let corrected_by = corrected.get(&entry.seq).copied();
        bodies.push(EntryBody::listed(entry, corrected_by));
    }
    add_sides(&mut view, &entries, &mut bodies).await?;
    Ok(Json(EntryList {
        entries: bodies,
        before,
    }))
}
