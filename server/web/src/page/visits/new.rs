//! A visit planned.

use super::form::{Known, Offered, ask, asked};
use crate::address;
use crate::entry_form::{EntryForm, Field, Tried, record};
use crate::failure::Failure;
use crate::form::{Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::identity::VisitNumber;
use domain::ledger::fact::Fact;
use domain::people::PLANS_VISITS;
use serde::Deserialize;

/// `?unit=…&modification=…`, with which the form is filled in.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct For {
    #[serde(default)]
    unit: String,
    #[serde(default)]
    modification: String,
}

/// `GET /visits/new`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(wanted): Query<For>,
) -> PageResult {
    let known = Known {
        unit: wanted.unit,
        modifications: wanted.modification,
        ..Known::default()
    };
    page(&new_page(&state, &signed_in, &known, None).await?)
}

async fn new_page(
    state: &WebState,
    signed_in: &SignedIn,
    known: &Known,
    tried: Option<&Tried>,
) -> Result<FormPage, Failure> {
    let frame = Frame::new(state, signed_in);
    let form = if frame.holds(PLANS_VISITS) {
        let mut view = state.store.view().await?;
        let offered = Offered::read(&mut view, state.now()).await?;
        let form = EntryForm::new("new", "/visits", "Plan a visit")
            .button("Plan it")
            .ask(Field::text("number", "Number").required());
        Some(ask(form, known, &offered).finish(tried))
    } else {
        None
    };
    Ok(FormPage {
        frame,
        title: "Plan a visit".to_owned(),
        back: ("/visits".to_owned(), "Visits".to_owned()),
        notes: vec![
            "A visit is a stay of one unit at one depot. It takes no train out of traffic and \
             puts no work off: what is due stays in the due list until it is done."
                .to_owned(),
        ],
        holds: Vec::new(),
        form,
        further: vec![("/due".to_owned(), "What is due".to_owned())],
    })
}

/// `POST /visits/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let asks = |now: Now<'_>| asked(&submitted.fields, None, now);
    let number: Option<VisitNumber> = match &asks((&state.zone, state.now())) {
        Ok((Fact::VisitPlanned(visit), _)) => Some(visit.number.clone()),
        _ => None,
    };
    match (record(&state, &submitted, "new", &asks).await?, number) {
        (None, Some(number)) => Ok(Redirect::to(&address::visit(&number)).into_response()),
        (None, None) => Ok(Redirect::to("/visits").into_response()),
        (Some(tried), _) => {
            let known = Known::default();
            let shown = new_page(&state, &submitted.signed_in, &known, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
