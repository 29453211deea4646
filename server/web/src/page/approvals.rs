//! What waits for a second person, and what was decided lately.

use crate::address;
use crate::consequences::Consequences;
use crate::entry_form::{left_over, record};
use crate::fact::{FactRow, LimitsCompared, proposed, rows};
use crate::form::{FieldErrors, Now, Submitted, new_command};
use crate::frame::Frame;
use crate::page::rule_sets::one::Compared;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::show::Dated;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::identity::PersonName;
use domain::ledger::command::Command;
use domain::ledger::consequences::reaches_back;
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::{Outcome, Proposal, ProposalRecord};
use domain::people::{APPROVES, Actor};
use domain::unreadable::Unreadable;
use store::read::proposals::{DecidedProposal, OpenProposal, PROPOSALS_PAGE};
use store::{Foresight, StoreError};

#[derive(Template)]
#[template(path = "approvals/approvals.html")]
struct ApprovalsPage {
    frame: Frame,
    waiting: Vec<Waiting>,
    decided: Vec<Decided>,
    at_most: i64,
    may_decide: bool,
    wrong: Option<String>,
}

/// A proposal that waits.
struct Waiting {
    entry: i64,
    address: String,
    what: String,
    by: String,
    at: Dated,
    reason: String,
    rows: Vec<FactRow>,
    /// What differs from the revision of a rule set that was issued last.
    compared: Option<Compared>,
    /// What differs from the limits in force.
    limits: Option<LimitsCompared>,
    /// Where is shown what it changes, if that is more than the rows tell.
    changes: Option<(String, &'static str)>,
    /// What it changes of days that are over or of due work, to be agreed to.
    consequences: Option<Consequences>,
    /// What was noted when these were shown.
    note: String,
    /// Whether the reader proposed it: another must approve it.
    own: bool,
    /// The identities of the two commands that decide on it.
    commands: [String; 2],
}

/// A proposal that was decided.
struct Decided {
    entry: i64,
    address: String,
    what: String,
    by: String,
    outcome: String,
    other_person: String,
    decision: String,
    at: Dated,
    reason: String,
}

/// `GET /approvals`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    list(&state, &signed_in, Tried::default()).await
}

/// What became of a decision that was not recorded.
#[derive(Default)]
struct Tried {
    /// Why it was refused.
    wrong: Option<String>,
    /// What approving a proposal changes, which must be agreed to, and what was noted with it.
    foreseen: Option<(Seq, Consequences, String)>,
}

async fn list(state: &WebState, signed_in: &SignedIn, tried: Tried) -> PageResult {
    let mut view = state.store.view().await?;
    let waiting = view.open_proposals().await?;
    let decided = view.decided_proposals().await?;
    let frame = Frame::new(state, signed_in);
    let person = frame.person.as_deref();
    let person: Option<PersonName> = person.and_then(|name| name.parse().ok());
    let mut waiting: Vec<Waiting> = waiting
        .into_iter()
        .map(|open| shown(state, &view.documents, open, person.as_ref()))
        .collect();
    if let Some((proposal, consequences, note)) = tried.foreseen {
        let mut waiting = waiting.iter_mut();
        if let Some(one) = waiting.find(|one| one.entry == proposal.0) {
            one.consequences = Some(consequences);
            one.note = note;
        }
    }
    page(&ApprovalsPage {
        waiting,
        decided: decided.into_iter().map(|one| told(state, one)).collect(),
        at_most: PROPOSALS_PAGE,
        may_decide: frame.holds(APPROVES),
        frame,
        wrong: tried.wrong,
    })
}

fn shown(
    state: &WebState,
    documents: &Documents,
    open: OpenProposal,
    person: Option<&PersonName>,
) -> Waiting {
    let OpenProposal {
        record,
        recorded_at,
        reason,
    } = open;
    let compared = match &record.proposal {
        Proposal::RuleSet(set) => Compared::of_proposal(documents, set, record.id),
        _ => None,
    };
    Waiting {
        entry: record.id.0,
        address: address::entry(record.id),
        what: proposed(&record.proposal),
        own: person.is_some_and(|person| person.is_same_person(&record.by)),
        by: record.by.to_string(),
        at: Dated::new(record.at, recorded_at, &state.zone),
        reason,
        rows: rows(&record.proposal.fact(), &state.zone),
        compared,
        limits: LimitsCompared::of(documents, &record.proposal, &state.zone),
        changes: changes(&record),
        consequences: None,
        note: String::new(),
        commands: [new_command(), new_command()],
    }
}

/// Where is shown what a proposal changes, and in which words.
fn changes(record: &ProposalRecord) -> Option<(String, &'static str)> {
    let (page, words) = match record.proposal {
        Proposal::CarType(_) => (
            "circuit",
            "Its circuit and approved parts, and what they change",
        ),
        Proposal::RuleSet(_) => ("rule-set", "Its rules in words, and what they change"),
        _ => return None,
    };
    Some((format!("/approvals/{}/{page}", record.id.0), words))
}

fn told(state: &WebState, decided: DecidedProposal) -> Decided {
    let record = decided.record;
    let (outcome, by) = record
        .decided
        .map_or_else(Default::default, |(outcome, by)| {
            (outcome.to_string(), address::entry(by))
        });
    Decided {
        entry: record.id.0,
        address: address::entry(record.id),
        what: proposed(&record.proposal),
        by: record.by.to_string(),
        outcome,
        decision: by,
        other_person: decided.decided_by.to_string(),
        at: Dated::new(decided.decided_at, decided.recorded_at, &state.zone),
        reason: decided.reason,
    }
}

/// `POST /approvals/{entry}`
pub(crate) async fn decide(
    State(state): State<WebState>,
    Path(text): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let not_found = || Unreadable::new("proposal", &text, "the number of an entry");
    let proposal = Seq(text.parse().map_err(|_| not_found())?);
    let fields = &submitted.fields;
    let mut errors = FieldErrors::default();
    let outcome: Option<Outcome> = fields.required("outcome", &mut errors);
    let fact = match outcome {
        Some(Outcome::Approved) => Fact::Approved { proposal },
        Some(Outcome::Rejected) => Fact::Rejected { proposal },
        None => return Err(Unreadable::new("outcome", "", "approved or rejected").into()),
    };
    let command = fields.command(fact.clone(), state.now());
    if let Some(foreseen) = foreseen(&state, &submitted.actor, &command).await?
        && !foreseen.are_agreed_to(fields)
    {
        let tried = Tried {
            foreseen: Some((proposal, foreseen, fields.text("reason").to_owned())),
            ..Tried::default()
        };
        let page = list(&state, &submitted.signed_in, tried).await?;
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    }
    let asks = |(_, now): Now<'_>| Ok((fact.clone(), now));
    let Some(refused) = record(&state, &submitted, "approvals", &asks).await? else {
        return Ok(Redirect::to("/approvals").into_response());
    };
    let refused = left_over(Some(&refused), &[]);
    let tried = Tried {
        wrong: refused.map(|refused| format!("Proposal of {proposal}: {}", refused.text)),
        ..Tried::default()
    };
    let page = list(&state, &submitted.signed_in, tried).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response())
}

/// What an approval changes of days that are over, and what of due work where a task is agreed on,
/// where it changes anything.
async fn foreseen(
    state: &WebState,
    actor: &Actor,
    command: &Command,
) -> Result<Option<Consequences>, StoreError> {
    let Fact::Approved { proposal } = &command.fact else {
        return Ok(None);
    };
    let mut view = state.store.view().await?;
    let proposed = view.entry(*proposal).await?;
    drop(view);
    let Some(Fact::Proposed(proposed)) = proposed.map(|kept| kept.entry.fact) else {
        return Ok(None);
    };
    let now = state.now();
    let reaches_back = reaches_back(&proposed.fact(), now, &state.zone) < now.earlier_by_days(1);
    if !reaches_back && !matches!(proposed, Proposal::Task(_)) {
        return Ok(None);
    }
    match state.store.foresee(actor, command.clone(), now).await {
        Ok(Foresight::Would(told)) if !told.is_nothing() => {
            Ok(Some(Consequences::new(&told, &state.zone)))
        }
        // A refusal is one only when it is refused to be recorded.
        Ok(_) | Err(StoreError::Refused(_)) => Ok(None),
        Err(other) => Err(other),
    }
}
