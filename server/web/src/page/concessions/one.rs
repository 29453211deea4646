//! One concession: what it allows, why, who said so, how often it was prolonged, what is under it.

use super::list::Row;
use crate::address;
use crate::entry_form::{Asks, EntryForm, Field, Tried, dated, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::concession::ConcessionStanding;
use domain::identity::ConcessionNumber;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use store::read::View;
use store::read::departures::DepartureFilter;

#[derive(Template)]
#[template(path = "concessions/one.html")]
struct ConcessionPage {
    frame: Frame,
    row: Row,
    /// What happened to it: the entry, its address, what it says, and who and when.
    history: Vec<Happened>,
    forms: Vec<EntryForm>,
}

/// An entry in the history of a concession.
struct Happened {
    entry: (String, String),
    what: String,
    by: String,
    /// Who proposed it, where it needed two people.
    proposed_by: Option<String>,
    at: String,
}

/// `GET /concessions/{number}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(number): Path<String>,
) -> PageResult {
    let number = number.parse()?;
    page(&concession_page(&state, &signed_in, (&number, None)).await?)
}

/// Three statements, and two for each entry of its history.
async fn concession_page(
    state: &WebState,
    signed_in: &SignedIn,
    (number, tried): (&ConcessionNumber, Option<&Tried>),
) -> Result<ConcessionPage, Failure> {
    let today = state.today();
    let mut view = state.store.view().await?;
    let known = view.documents.concessions.get(number).cloned();
    let known = known.ok_or_else(|| Failure::NotFound {
        what: "concession",
        name: number.to_string(),
    })?;
    let filter = DepartureFilter {
        concession: Some(number.clone()),
        ..DepartureFilter::all(today)
    };
    let counts = view.under_concessions(&filter).await?;
    let row = Row::new(&known, counts.get(number).copied().unwrap_or(0), today);
    let granted = std::iter::once((known.by, format!("granted until {}", known.granted.until)));
    let prolonged = known.prolonged.iter();
    let prolonged = prolonged.map(|(by, until)| (*by, format!("prolonged until {until}")));
    let withdrawn = known.withdrawn.map(|(by, _)| (by, "withdrawn".to_owned()));
    let entries: Vec<_> = granted.chain(prolonged).chain(withdrawn).collect();
    let mut history = Vec::with_capacity(entries.len());
    for (by, what) in entries {
        history.push(happened(&mut view, state, (by, what)).await?);
    }
    let frame = Frame::new(state, signed_in);
    let open = matches!(
        row.standing,
        ConcessionStanding::InForce | ConcessionStanding::Ending
    );
    let forms = if open && frame.holds(APPROVES) {
        forms(number).map(|form| form.finish(tried)).into()
    } else {
        Vec::new()
    };
    Ok(ConcessionPage {
        frame,
        row,
        history,
        forms,
    })
}

async fn happened(
    view: &mut View,
    state: &WebState,
    (by, what): (Seq, String),
) -> Result<Happened, Failure> {
    let kept = view.entry(by).await?;
    let proposal = kept.as_ref().and_then(|kept| match kept.entry.fact {
        Fact::Approved { proposal } => Some(proposal),
        _ => None,
    });
    let proposed = match proposal {
        Some(proposal) => view.entry(proposal).await?,
        None => None,
    };
    Ok(Happened {
        entry: (address::entry(by), by.to_string()),
        what,
        by: kept
            .as_ref()
            .map_or(String::new(), |kept| kept.entry.actor.to_string()),
        proposed_by: proposed.map(|kept| kept.entry.actor.to_string()),
        at: kept.map_or(String::new(), |kept| {
            state.zone.show(kept.entry.effective_at)
        }),
    })
}

fn forms(number: &ConcessionNumber) -> [EntryForm; 2] {
    let page = address::concession(number);
    [
        EntryForm::new("prolong", &page, "Prolong it")
            .button("Propose it")
            .ask(
                Field::text("until", "Last day")
                    .hint("A day after its end, as 2026-03-31. Another brake engineer approves; say why below.")
                    .required(),
            ),
        EntryForm::new("withdraw", &page, "Withdraw it")
            .button("Withdraw it")
            .ask(
                Field::one_of("sure", "It ends now", [
                    ("no".to_owned(), "choose".to_owned()),
                    ("yes".to_owned(), "withdraw: what is under it is a finding from now on".to_owned()),
                ])
                .hint("One brake engineer may; say why below."),
            ),
    ]
}

/// `POST /concessions/{number}/prolong`
pub(crate) async fn prolong(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let number: ConcessionNumber = number.parse()?;
    let mut errors = FieldErrors::default();
    let until = submitted.fields.required("until", &mut errors);
    let prolonged = until.map(|until| {
        let number = number.clone();
        Fact::Proposed(Proposal::Prolongation { number, until })
    });
    let asks = dated(&submitted.fields, (prolonged, errors));
    sent(&state, &submitted, (&number, "prolong"), &asks).await
}

/// `POST /concessions/{number}/withdraw`
pub(crate) async fn withdraw(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let number: ConcessionNumber = number.parse()?;
    let mut errors = FieldErrors::default();
    if submitted.fields.text("sure") != "yes" {
        errors.add("sure", "choose to withdraw it");
    }
    let withdrawn = Fact::ConcessionWithdrawn {
        number: number.clone(),
    };
    let asks = dated(&submitted.fields, (Some(withdrawn), errors));
    sent(&state, &submitted, (&number, "withdraw"), &asks).await
}

async fn sent(
    state: &WebState,
    submitted: &Submitted,
    (number, form): (&ConcessionNumber, &'static str),
    asks: Asks<'_>,
) -> PageResult {
    match record(state, submitted, form, asks).await? {
        None if form == "prolong" => Ok(Redirect::to("/approvals").into_response()),
        None => Ok(Redirect::to(&address::concession(number)).into_response()),
        Some(tried) => {
            let tried = (number, Some(&tried));
            let shown = concession_page(state, &submitted.signed_in, tried).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
