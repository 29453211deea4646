//! Withdrawing an entry that was wrong: first what that changes is shown, then it is recorded with
//! it. The entry stays in the ledger, and what followed from it is worked out anew.

use super::entry::{Tried, answer, kept};
use super::number;
use crate::address;
use crate::consequences::Consequences;
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
use store::{Foresight, Recorded, StoreError};

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
        note,
    } = submitted;
    let mut errors = FieldErrors::default();
    if fields.text("reason").is_empty() {
        errors.add("reason", "expected why the entry was wrong");
    }
    let mut tried = Tried {
        fields,
        errors,
        refusal: None,
        consequences: None,
    };
    if !tried.errors.is_empty() {
        let page = answer(&state, &signed_in, seq, Some(tried)).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let (wrong, _) = kept(&state, seq).await?;
    let command = Command {
        corrects: Some(seq),
        ..tried
            .fields
            .command(Fact::Withdrawn, wrong.entry.effective_at)
    };
    let now = state.now();
    let recorded = match state.store.foresee(&actor, command.clone(), now).await {
        Ok(Foresight::Would(foreseen)) => {
            let consequences = Consequences::new(&foreseen, &state.zone);
            if !consequences.are_agreed_to(&tried.fields) {
                tried.consequences = Some(consequences);
                return answer(&state, &signed_in, seq, Some(tried)).await;
            }
            state.store.record(actor, command, now).await
        }
        Ok(Foresight::Recorded(seq)) => Ok(Recorded::Before(seq)),
        Err(StoreError::Refused(_)) => state.store.record(actor, command, now).await,
        Err(other) => Err(other),
    };
    match recorded {
        Ok(recorded) => {
            note.entry(recorded.seq());
            Ok(Redirect::to(&address::entry(seq)).into_response())
        }
        Err(StoreError::Refused(Refusal::NotPermitted { needed })) => {
            Err(Failure::NotPermitted(needed))
        }
        Err(StoreError::Refused(why)) => {
            tried.refusal = Some(why);
            let page = answer(&state, &signed_in, seq, Some(tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
        }
        Err(other) => Err(other.into()),
    }
}
