//! Withdrawing an entry that was wrong: first what that changes is shown, then it is recorded with
//! it. The entry stays in the ledger, and what followed from it is worked out anew.

use super::entry::{Tried, answer, kept};
use super::{hex, number};
use crate::address;
use crate::failure::Failure;
use crate::form::{FieldErrors, Submitted};
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::Subject;
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use domain::time::Day;
use sha2::{Digest, Sha256};
use store::{DueMoved, Foreseen, StoreError};

/// What a withdrawal changes, as it is shown before and recorded with it.
pub(super) struct Consequences {
    /// In one sentence.
    pub(super) summary: String,
    /// What the form brings back, so that nobody agrees to something else: a hash of all dates
    /// shown, how many more there are, and the decisions.
    pub(super) seal: String,
    pub(super) due: Vec<DueRow>,
    /// How many dates move that are not shown.
    pub(super) more: usize,
    /// Decisions that become void: the train, and the address of the decision.
    pub(super) void: Vec<(String, String)>,
}

/// Due work whose date moves.
pub(super) struct DueRow {
    pub(super) what: String,
    pub(super) address: String,
    pub(super) task: String,
    pub(super) before: String,
    pub(super) after: String,
}

impl Consequences {
    fn new(foreseen: &Foreseen) -> Self {
        let due: Vec<DueRow> = foreseen.due.iter().map(DueRow::new).collect();
        Self {
            summary: summary(foreseen),
            seal: seal(foreseen),
            more: foreseen.moved - due.len(),
            due,
            void: foreseen
                .void
                .iter()
                .map(|(id, train)| (train.to_string(), format!("/decisions/{}", id.0)))
                .collect(),
        }
    }
}

impl DueRow {
    fn new(moved: &DueMoved) -> Self {
        let day = |day: Option<Day>| day.map_or("no date".to_owned(), |day| day.to_string());
        Self {
            what: match &moved.subject {
                Subject::Component(component) => component.to_string(),
                Subject::Car(car) => format!("car {car}"),
            },
            address: match &moved.subject {
                Subject::Component(component) => address::component(component),
                Subject::Car(car) => address::car(car),
            },
            task: moved.task.to_string(),
            before: day(moved.before),
            after: day(moved.after),
        }
    }
}

fn seal(foreseen: &Foreseen) -> String {
    hex(&Sha256::digest(format!("{foreseen:?}")).into())
}

fn summary(foreseen: &Foreseen) -> String {
    let dates = match foreseen.moved {
        0 => "no due date moves".to_owned(),
        1 => "1 due date moves".to_owned(),
        several => format!("{several} due dates move"),
    };
    match foreseen.void.as_slice() {
        [] => format!("{dates}; no decision about a train becomes void"),
        [(_, train)] => format!("{dates}; the decision about train {train} becomes void"),
        several => format!(
            "{dates}; {} decisions about trains become void",
            several.len()
        ),
    }
}

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
        Ok(Some(foreseen)) => {
            let consequences = Consequences::new(&foreseen);
            if tried.fields.text("foreseen") != consequences.seal {
                tried.consequences = Some(consequences);
                return answer(&state, &signed_in, seq, Some(tried)).await;
            }
            let reason = format!(
                "{} As shown before: {}.",
                command.reason, consequences.summary
            );
            let command = Command { reason, ..command };
            state.store.record(actor, command, now).await.map(drop)
        }
        // It was recorded before.
        Ok(None) => Ok(()),
        Err(StoreError::Refused(_)) => state.store.record(actor, command, now).await.map(drop),
        Err(other) => Err(other),
    };
    match recorded {
        Ok(()) => Ok(Redirect::to(&address::entry(seq)).into_response()),
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
