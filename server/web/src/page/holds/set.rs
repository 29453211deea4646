//! Setting an evidence hold on a component, a car or an entry.

use crate::address;
use crate::entry_form::{EntryForm, Field, Tried, dated, record_entry};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::page::scanned::Plate;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::held::Held;
use domain::identity::CarNumber;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::people::HOLDS_EVIDENCE;
use std::collections::BTreeMap;
use store::read::View;

/// `GET /holds/new?car=…`, `?part=…&serial=…` or `?entry=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<BTreeMap<String, String>>,
) -> PageResult {
    page(&set_page(&state, &signed_in, &Fields(query), None))
}

fn set_page(
    state: &WebState,
    signed_in: &SignedIn,
    known: &Fields,
    tried: Option<&Tried>,
) -> FormPage {
    let frame = Frame::new(state, signed_in);
    let form = frame
        .holds(HOLDS_EVIDENCE)
        .then(|| form(known).finish(tried));
    FormPage {
        frame,
        title: "Hold as evidence".to_owned(),
        back: ("/holds".to_owned(), "Evidence holds".to_owned()),
        notes: vec![
            "Give one of the three: a component by its plate, a car, or an entry of the ledger. \
             Until you lift the hold it is neither moved, opened, tested, scrapped nor amended, \
             and nobody else lifts it alone."
                .to_owned(),
            "A component is held with all that is inside it, a car with all that is on it. On a \
             held car a cut-out is still taken down, and a meter read: neither changes anything \
             on it."
                .to_owned(),
        ],
        holds: Vec::new(),
        form,
        further: Vec::new(),
    }
}

fn form(known: &Fields) -> EntryForm {
    EntryForm::new("new", "/holds", "Hold as evidence")
        .button("Set the hold")
        .ask(Field::text("serial", "Serial number of a component").with_value(known.text("serial")))
        .ask(
            Field::text("part", "Its part")
                .hint("May stay empty where the serial number tells it.")
                .with_value(known.text("part")),
        )
        .ask(Field::text("car", "Or a car").with_value(known.text("car")))
        .ask(
            Field::number("entry", "Or an entry of the ledger")
                .hint("Its number: the entry that recorded a test, for instance.")
                .with_value(known.text("entry")),
        )
        .ask(
            Field::text("investigation", "What is investigated, and for whom")
                .hint("The occurrence, and the investigation’s own reference.")
                .says_why(),
        )
}

async fn read(view: &mut View, fields: &Fields) -> Result<(Option<Fact>, FieldErrors), Failure> {
    let mut errors = FieldErrors::default();
    let held = held(view, fields, &mut errors).await?;
    let fact = held.map(|held| Fact::HeldAsEvidence {
        held,
        investigation: fields.text("investigation").to_owned(),
    });
    Ok((fact, errors))
}

async fn held(
    view: &mut View,
    fields: &Fields,
    errors: &mut FieldErrors,
) -> Result<Option<Held>, Failure> {
    let given = |name| !fields.text(name).is_empty();
    match (given("serial"), given("car"), given("entry")) {
        (true, false, false) => {
            let plate = Plate {
                part: "part",
                serial: "serial",
                preferred: &[],
            };
            Ok(plate.read(view, fields, errors).await?.map(Held::Component))
        }
        (false, true, false) => {
            let car: Option<CarNumber> = fields.required("car", errors);
            Ok(car.map(Held::Car))
        }
        (false, false, true) => {
            let number = fields.text("entry").parse();
            if number.is_err() {
                errors.add("entry", "the number of an entry, as 1204");
            }
            Ok(number.ok().map(|number| Held::Entry(Seq(number))))
        }
        _ => {
            errors.add(
                "serial",
                "give a component, a car or an entry, and only one of them",
            );
            Ok(None)
        }
    }
}

/// `POST /holds/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let fields = &submitted.fields;
    let read = {
        let mut view = state.store.view().await?;
        read(&mut view, fields).await?
    };
    match record_entry(&state, &submitted, "new", &dated(fields, read)).await? {
        Ok(hold) => Ok(Redirect::to(&address::hold(hold)).into_response()),
        Err(tried) => {
            let shown = set_page(
                &state,
                &submitted.signed_in,
                &submitted.fields,
                Some(&tried),
            );
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
