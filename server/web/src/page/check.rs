//! Checking a sheet: is there a decision with this code, is it as it was recorded, and does it
//! still stand?

use super::decision::answered::rule_sets;
use super::decision::decided::{self, DecidedLine};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use domain::decision::check_code::CheckCode;
use domain::ledger::dossier::DecisionRecord;
use serde::Deserialize;
use std::slice;
use store::read::decisions::{Proof, ProvenDecision};

#[derive(Template)]
#[template(path = "check/check.html")]
struct CheckPage {
    frame: Frame,
    code: String,
    /// What is wrong with the code as typed.
    unreadable: Option<String>,
    found: Option<Checked>,
}

/// What a code leads to.
pub(crate) enum Checked {
    /// No entry has it: the sheet was not made from this register.
    Forged,
    /// The entry was changed since it was recorded.
    Damaged(i64),
    /// It is genuine.
    Genuine(Box<Genuine>),
}

/// A genuine decision.
pub(crate) struct Genuine {
    pub(crate) record: DecisionRecord,
    pub(crate) line: DecidedLine,
    pub(crate) train: String,
    pub(crate) entry: (String, i64),
}

/// The code as typed.
#[derive(Debug, Deserialize)]
pub(crate) struct CodeQuery {
    #[serde(default)]
    code: String,
}

/// Looks a code up: twelve statements at most, and one more where anything was ever to be judged again.
pub(crate) async fn checked(state: &WebState, code: CheckCode) -> Result<Checked, Failure> {
    let mut view = state.store.view().await?;
    let proven = view.decision(code.entry).await?;
    let Some(proven) = proven.filter(|proven| code.proves(&proven.hash)) else {
        return Ok(Checked::Forged);
    };
    let ProvenDecision { record, proof, .. } = proven;
    if proof == Proof::Fails {
        return Ok(Checked::Damaged(record.id.0));
    }
    let in_force = rule_sets(&view.documents, state.today());
    let clock = (&state.zone, state.now());
    let mut line = decided::line(&record, &record.taken.train, &in_force, clock);
    if line.void.is_none() {
        line.void = decided::runs_elsewhere(&mut view, &record.taken.train).await?;
    }
    line.doubted = decided::doubted_since(&record, &view.doubted().await?);
    let told = view.told_after(slice::from_ref(&record)).await?;
    line.tell(told.get(&record.id), &state.zone);
    Ok(Checked::Genuine(Box::new(Genuine {
        line,
        train: record.taken.train.to_string(),
        entry: decided::entry_link(record.id),
        record,
    })))
}

/// `GET /check?code=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<CodeQuery>,
) -> PageResult {
    let typed = query.code.trim();
    let mut shown = CheckPage {
        frame: Frame::new(&state, &signed_in),
        code: typed.chars().take(40).collect(),
        unreadable: None,
        found: None,
    };
    if typed.is_empty() {
        return page(&shown);
    }
    match typed.parse::<CheckCode>() {
        Ok(code) => {
            shown.found = Some(checked(&state, code).await?);
            shown.code = code.to_string();
            page(&shown)
        }
        Err(why) => {
            shown.unreadable = Some(why.expected);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
