//! One concession: what it allows, why, who said so, how often it was prolonged, what is under it.

use super::list::{Row, WHAT};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::entry_form::{Asks, EntryForm, Field, Tried, dated, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::said::Said;
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::concession::{ConcessionRecord, ConcessionStanding};
use domain::identity::ConcessionNumber;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use domain::time::Zone;
use store::read::View;
use store::read::departures::DepartureFilter;

#[derive(Template)]
#[template(path = "concessions/one.html")]
struct ConcessionPage {
    frame: Frame,
    speaks: PageSpeaks,
    row: Row,
    /// What happened to it: the entry, its address, what it says, and who and when.
    history: Vec<Happened>,
    forms: Vec<EntryForm>,
}

/// An entry in the history of a concession.
struct Happened {
    entry: (String, String),
    what: String,
    said: Said,
}

/// `GET /concessions/{number}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(number): Path<String>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let number = number.parse()?;
    let shown = concession_page(&state, &signed_in, (&number, &query), None);
    page(&shown.await?)
}

/// Four statements.
async fn concession_page(
    state: &WebState,
    signed_in: &SignedIn,
    (number, query): (&ConcessionNumber, &AsAtQuery),
    tried: Option<&Tried>,
) -> Result<ConcessionPage, Failure> {
    let speaks = query.read(state)?;
    let at = speaks.times.effective;
    let today = state.zone.day_of(at);
    let mut view = speaks.view(state).await?;
    let known = view.documents.concessions.get(number);
    let known = known.and_then(|record| record.as_at(at));
    let known = known.ok_or_else(|| Failure::NotFound {
        what: "concession",
        name: number.to_string(),
    })?;
    let under = match speaks.then() {
        None => {
            let filter = DepartureFilter {
                concession: Some(number.clone()),
                ..DepartureFilter::all(today)
            };
            let counts = view.under_concessions(&filter).await?;
            Some(counts.get(number).copied().unwrap_or(0))
        }
        Some(_) => None,
    };
    let row = Row::new(&known, under, today);
    let history = history(&mut view, &known, &state.zone).await?;
    let frame = Frame::new(state, signed_in);
    let open = matches!(
        row.standing,
        ConcessionStanding::InForce | ConcessionStanding::Ending
    );
    let forms = if open && speaks.past.is_none() && frame.holds(APPROVES) {
        forms(number).map(|form| form.finish(tried)).into()
    } else {
        Vec::new()
    };
    Ok(ConcessionPage {
        frame,
        speaks: PageSpeaks::new((query, &speaks), address::concession(number), WHAT),
        row,
        history,
        forms,
    })
}

/// What happened to a concession, with who said so. One statement.
async fn history(
    view: &mut View,
    known: &ConcessionRecord,
    zone: &Zone,
) -> Result<Vec<Happened>, Failure> {
    let granted = std::iter::once((known.by, format!("granted until {}", known.granted.until)));
    let prolonged = known.prolonged.iter();
    let prolonged = prolonged.map(|(by, until)| (*by, format!("prolonged until {until}")));
    let withdrawn = known.withdrawn.map(|(by, _)| (by, "withdrawn".to_owned()));
    let entries: Vec<_> = granted.chain(prolonged).chain(withdrawn).collect();
    let numbers: Vec<Seq> = entries.iter().map(|(by, _)| *by).collect();
    let mut said = Said::of(view, &numbers, zone).await?;
    let happened = entries.into_iter().filter_map(|(by, what)| {
        Some(Happened {
            entry: (address::entry(by), by.to_string()),
            what,
            said: said.remove(&by)?,
        })
    });
    Ok(happened.collect())
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
            let now = AsAtQuery::default();
            let shown =
                concession_page(state, &submitted.signed_in, (number, &now), Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
