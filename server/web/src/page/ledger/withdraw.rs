//! Withdrawing an entry that was wrong: it stays in the ledger, and what followed from it is
//! worked out anew.

use super::entry::{Tried, answer, kept};
use super::number;
use crate::address;
use crate::failure::Failure;
use crate::form::{FieldErrors, Submitted};
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use store::StoreError;

/// `POST /ledger/{n}/withdraw`
pub(crate) async fn withdraw(
    State(state): State<WebState>,
    Path(text): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let seq = number(&text)?;
    let Submitted {
        actor,
        signed_in,
        fields,
    } = submitted;
    let mut errors = FieldErrors::default();
    if fields.text("reason").is_empty() {
        errors.add("reason", "expected why the entry was wrong");
    }
    let mut refusal = None;
    if errors.is_empty() {
        let (wrong, _) = kept(&state, seq).await?;
        let command = Command {
            corrects: Some(seq),
            ..fields.command(Fact::Withdrawn, wrong.entry.effective_at)
        };
        match state.store.record(actor, command, state.now()).await {
            Ok(_) => return Ok(Redirect::to(&address::entry(seq)).into_response()),
            Err(StoreError::Refused(Refusal::NotPermitted { needed })) => {
                return Err(Failure::NotPermitted(needed));
            }
            Err(StoreError::Refused(why)) => refusal = Some(why),
            Err(other) => return Err(other.into()),
        }
    }
    let tried = Tried {
        fields,
        errors,
        refusal,
    };
    let page = answer(&state, &signed_in, seq, Some(tried)).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}
