//! Locations: of which kind each is, and naming one.

use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::location::{Location, LocationKind, Sent};
use domain::identity::LocationName;
use domain::ledger::dossier::Documents;
use domain::ledger::fact::Fact;
use domain::people::KEEPS_STOCK;
use domain::time::Instant;
use std::collections::BTreeMap;

/// Locations that were named, and those where something is kept, each with its kind where that
/// was told.
pub(crate) fn with_kinds(
    documents: &Documents,
    holding: Vec<LocationName>,
    now: Instant,
) -> Vec<(LocationName, Option<LocationKind>)> {
    let mut all: BTreeMap<LocationName, Option<LocationKind>> =
        holding.into_iter().map(|name| (name, None)).collect();
    all.extend(
        documents
            .locations(now)
            .map(|(name, kind)| (name.clone(), Some(kind))),
    );
    all.into_iter().collect()
}

/// The names of the locations that were named with their kind, to be suggested: no statement.
pub(crate) fn named(documents: &Documents, now: Instant) -> Vec<LocationName> {
    let names = documents.locations(now);
    names.map(|(name, _)| name.clone()).collect()
}

/// The fields that say what is expected of what goes away.
pub(crate) fn sent_fields(locations: &[LocationName]) -> [Field; 2] {
    [
        Field::text("bound_for", "Bound for")
            .hint("Only where it is in transit: the location where it is to arrive.")
            .suggest(locations.iter().map(ToString::to_string)),
        Field::text("expected_on", "Expected on").hint(
            "Where it is in transit or with a contractor: the day it should have come, as 2026-03-31.",
        ),
    ]
}

/// What the fields say of what goes away.
pub(crate) fn sent(fields: &Fields, errors: &mut FieldErrors) -> Sent {
    Sent {
        bound_for: fields.optional("bound_for", errors),
        expected_on: fields.day("expected_on", errors),
    }
}

/// `GET /locations/new`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let locations = state.store.view().await?.locations().await?;
    page(&form_page(&state, &signed_in, &locations, None))
}

fn form_page(
    state: &WebState,
    signed_in: &SignedIn,
    locations: &[LocationName],
    tried: Option<&Tried>,
) -> FormPage {
    let frame = Frame::new(state, signed_in);
    let form = frame.holds(KEEPS_STOCK);
    FormPage {
        frame,
        title: "Say what a location is".to_owned(),
        back: ("/components".to_owned(), "Components".to_owned()),
        notes: vec![
            "What is in transit or with a contractor is expected to come: it stands in the list of what is away. Where things are in transit, the location is the carrier or the way, and each thing says where it is bound for.".to_owned(),
            "What was said before stays true until then; only what is scrapped goes where scrapped things are kept.".to_owned(),
        ],
        holds: Vec::new(),
        form: form.then(|| naming(locations).finish(tried)),
        further: Vec::new(),
    }
}

fn naming(locations: &[LocationName]) -> EntryForm {
    let kinds = LocationKind::ALL
        .iter()
        .map(|kind| (kind.name().to_owned(), kind.to_string()));
    EntryForm::new("new", "/locations", "Location")
        .button("Record it")
        .ask(
            Field::text("name", "Location")
                .required()
                .suggest(locations.iter().map(ToString::to_string)),
        )
        .ask(Field::one_of("kind", "What it is", kinds))
}

fn asked(fields: &Fields, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let name = fields.required("name", &mut errors);
    let kind = fields.required("kind", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    match (name, kind, at) {
        (Some(name), Some(kind), Some(at)) => {
            Ok((Fact::LocationDefined(Location { name, kind }), at))
        }
        _ => Err(errors),
    }
}

/// `POST /locations/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    match record(&state, &submitted, "new", &|now| {
        asked(&submitted.fields, now)
    })
    .await?
    {
        None => Ok(Redirect::to("/components#locations").into_response()),
        Some(tried) => {
            let locations = state.store.view().await?.locations().await?;
            let shown = form_page(&state, &submitted.signed_in, &locations, Some(&tried));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
