//! One visit: when and where, what is to be done, and planning it otherwise.

use super::form::{Known, Offered, ask, asked};
use super::work::Work;
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::entry_form::{Asked, Asks, EntryForm, Field, ShownRefusal, Tried, left_over, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::due::visit::{Visit, VisitRecord};
use domain::identity::VisitNumber;
use domain::ledger::dossier::Documents;
use domain::ledger::fact::Fact;
use domain::people::PLANS_VISITS;
use domain::time::Day;

#[derive(Template)]
#[template(path = "visits/one.html")]
struct VisitPage {
    frame: Frame,
    speaks: PageSpeaks,
    record: VisitRecord,
    /// Modifications to be embodied: the address, the number and what is done.
    modifications: Vec<(String, String, String)>,
    /// What it takes on; nothing where it is over or cancelled.
    work: Option<Work>,
    forms: Vec<EntryForm>,
    left_over: Option<ShownRefusal>,
    /// The day that is told of.
    today: Day,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = ("how the visit was planned", "");

/// `GET /visits/{number}?at=…&known=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(number): Path<String>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let asked = (&number.parse()?, &query);
    page(&visit_page(&state, &signed_in, asked, None).await?)
}

/// Three statements, and one for whoever plans; of a past time as many more as the list of due work, and linear in the visits.
async fn visit_page(
    state: &WebState,
    signed_in: &SignedIn,
    (number, query): (&VisitNumber, &AsAtQuery),
    tried: Option<&Tried>,
) -> Result<VisitPage, Failure> {
    let speaks = query.read(state)?;
    let mut view = speaks.view(state).await?;
    let record = match speaks.then() {
        None => view.visit(number).await?,
        Some(as_at) => view.visits_told(as_at).await?.remove(number),
    };
    let record = record.ok_or_else(|| Failure::NotFound {
        what: "visit",
        name: number.to_string(),
    })?;
    let frame = Frame::new(state, signed_in);
    let visit = &record.visit;
    let today = state.zone.day_of(speaks.times.effective);
    let ahead = record.cancelled_by.is_none() && today <= visit.until;
    let work = if ahead {
        Some(Work::read(&mut view, visit, (query, state)).await?)
    } else {
        None
    };
    let open = speaks.past.is_none() && record.cancelled_by.is_none();
    let forms = if open && frame.holds(PLANS_VISITS) {
        let offered = Offered::read(&mut view, speaks.times.effective).await?;
        forms(&record, &offered, tried)
    } else {
        Vec::new()
    };
    Ok(VisitPage {
        frame,
        modifications: modifications(visit, &view.documents),
        work,
        left_over: left_over(tried, &forms),
        forms,
        record,
        today,
        speaks: PageSpeaks::new((query, &speaks), address::visit(number), WHAT),
    })
}

fn modifications(visit: &Visit, documents: &Documents) -> Vec<(String, String, String)> {
    let numbers = visit.modifications.iter();
    let row = |number: &domain::identity::ModificationNumber| {
        let known = documents.modifications.get(number);
        let title = known.map_or(String::new(), |known| known.document.title.clone());
        (address::modification(number), number.to_string(), title)
    };
    numbers.map(row).collect()
}

fn forms(record: &VisitRecord, offered: &Offered, tried: Option<&Tried>) -> Vec<EntryForm> {
    let visit = &record.visit;
    let own = address::visit(&visit.number);
    let otherwise = EntryForm::new("plan", &own, "Plan it otherwise")
        .button("Plan it so")
        .bring("planned_by", record.by.0.to_string());
    let cancel = EntryForm::new("cancel", &own, "Cancel it")
        .button("Cancel the visit")
        .ask(Field::text("reason", "Why").required());
    vec![
        ask(otherwise, &Known::from(visit), offered).finish(tried),
        cancel.finish(tried),
    ]
}

fn cancelled(fields: &Fields, visit: VisitNumber, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let at = fields.moment("at", now, &mut errors);
    let reason = fields.text("reason").to_owned();
    let at = at.ok_or(errors)?;
    Ok((Fact::VisitCancelled { visit, reason }, at))
}

/// `POST /visits/{number}/plan`
pub(crate) async fn plan(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let number: VisitNumber = number.parse()?;
    let asks = |now: Now<'_>| asked(&submitted.fields, Some(number.clone()), now);
    sent(&state, &submitted, ("plan", &number), &asks).await
}

/// `POST /visits/{number}/cancel`
pub(crate) async fn cancel(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let number: VisitNumber = number.parse()?;
    let asks = |now: Now<'_>| cancelled(&submitted.fields, number.clone(), now);
    sent(&state, &submitted, ("cancel", &number), &asks).await
}

async fn sent(
    state: &WebState,
    submitted: &Submitted,
    (form, number): (&'static str, &VisitNumber),
    asks: Asks<'_>,
) -> PageResult {
    match record(state, submitted, form, asks).await? {
        None => Ok(Redirect::to(&address::visit(number)).into_response()),
        Some(tried) => {
            let asked = (number, &AsAtQuery::default());
            let shown = visit_page(state, &submitted.signed_in, asked, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
