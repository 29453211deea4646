//! Receiving a component into the register: what its plate and its papers say. What the papers
//! do not say is left empty and stays unknown; it is never taken as zero.

use super::certificate;
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::LocationName;
use domain::ledger::fact::{Brought, Fact, Receipt};
use domain::people::KEEPS_STOCK;
use domain::units::{Amount, Meter};
use serde::Deserialize;

/// What a scan has told already.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Scanned {
    #[serde(default)]
    part: String,
    #[serde(default)]
    serial: String,
}

/// `GET /components/new?part=…&serial=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(scanned): Query<Scanned>,
) -> PageResult {
    page(&receipt_page(&state, &signed_in, &scanned, None).await?)
}

async fn receipt_page(
    state: &WebState,
    signed_in: &SignedIn,
    scanned: &Scanned,
    tried: Option<&Tried>,
) -> Result<FormPage, Failure> {
    let mut view = state.store.view().await?;
    let locations = view.locations().await?;
    let parts = view.documents.parts.values();
    let parts = parts.map(|part| part.document.number.to_string()).collect();
    let frame = Frame::new(state, signed_in);
    let form = frame.holds(KEEPS_STOCK);
    Ok(FormPage {
        frame,
        title: "Receive a component".to_owned(),
        back: ("/components".to_owned(), "Components".to_owned()),
        notes: vec![
            "Give what its plate and its papers say. What they do not say, leave empty: it stays \
             not known, and no due date is worked out from it."
                .to_owned(),
        ],
        holds: Vec::new(),
        form: form.then(|| receipt_form(parts, &locations, scanned).finish(tried)),
        further: Vec::new(),
    })
}

fn receipt_form(parts: Vec<String>, locations: &[LocationName], scanned: &Scanned) -> EntryForm {
    let conditions = Condition::ALL
        .iter()
        .map(|condition| (condition.name().to_owned(), condition.to_string()));
    let form = EntryForm::new("new", "/components", "Receive a component")
        .button("Receive it")
        .ask(
            Field::text("part", "Part number")
                .required()
                .suggest(parts)
                .with_value(&scanned.part),
        )
        .ask(
            Field::text("serial", "Serial number")
                .hint("To the letter, as on the plate.")
                .required()
                .with_value(&scanned.serial),
        )
        .ask(
            Field::text("location", "Where it is")
                .required()
                .suggest(locations.iter().map(ToString::to_string)),
        )
        .ask(
            Field::one_of("condition", "Condition", conditions)
                .with_value(Condition::Quarantined.name())
                .hint("In quarantine until its papers are seen; two people release it."),
        )
        .ask(
            Field::text("certificate", "Certificate")
                .hint("Its number: the paper that says what was done and what it has run. Without one nothing is received as serviceable."),
        )
        .ask(
            Field::text("modification_state", "Modification state")
                .hint("As its plate says, where its part has such states."),
        )
        .ask_all(certificate::questions())
        .ask(Field::text("manufactured_on", "Made on").hint("As 2026-03-31, where it is known."))
        .ask(
            Field::text("overhauled_on", "Last overhauled on")
                .hint("As 2026-03-31, where it is known."),
        );
    Meter::ALL.iter().fold(form, |form, meter| {
        let [since_made, since_overhaul] = names(*meter);
        form.ask(
            Field::number(since_made.0, since_made.1)
                .hint("A new component has run 0; empty is not known."),
        )
        .ask(Field::number(since_overhaul.0, since_overhaul.1).hint("Empty is not known."))
    })
}

/// The names and labels of the two questions about a meter: since it was made, since its last
/// overhaul.
fn names(meter: Meter) -> [(&'static str, &'static str); 2] {
    match meter {
        Meter::Odometer => [
            ("km", "Kilometres run since it was made"),
            ("km_since_overhaul", "Kilometres run since its overhaul"),
        ],
        Meter::RunningHours => [
            ("running_hours", "Running hours since it was made"),
            (
                "running_hours_since_overhaul",
                "Running hours since its overhaul",
            ),
        ],
        Meter::CompressorHours => [
            ("compressor_hours", "Compressor hours since it was made"),
            (
                "compressor_hours_since_overhaul",
                "Compressor hours since its overhaul",
            ),
        ],
    }
}

/// Use by meter from the questions since it was made (0) or since its overhaul (1).
fn used(fields: &Fields, since: usize, errors: &mut FieldErrors) -> Brought {
    let mut of = |meter| fields.optional::<Amount>(names(meter)[since].0, errors);
    Brought {
        odometer: of(Meter::Odometer),
        running_hours: of(Meter::RunningHours),
        compressor_hours: of(Meter::CompressorHours),
    }
}

fn asked(fields: &Fields, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let part = fields.required("part", &mut errors);
    let serial = fields.required("serial", &mut errors);
    let location = fields.required("location", &mut errors);
    let condition = fields.required("condition", &mut errors);
    let manufactured_on = fields.day("manufactured_on", &mut errors);
    let overhauled_on = fields.day("overhauled_on", &mut errors);
    let brought = used(fields, 0, &mut errors);
    let since_overhaul = used(fields, 1, &mut errors);
    let at = fields.moment("at", now, &mut errors);
    let certificate = Some(fields.text("certificate").to_owned());
    let modification = fields.optional("modification_state", &mut errors);
    let release = certificate::answered(fields, "certificate", &mut errors);
    match (part, serial, location, condition, at) {
        (Some(part), Some(serial), Some(location), Some(condition), Some(at))
            if errors.is_empty() =>
        {
            let receipt = Receipt {
                component: ComponentRef { part, serial },
                condition,
                location,
                manufactured_on,
                overhauled_on,
                brought,
                since_overhaul,
                certificate: certificate.filter(|text| !text.is_empty()),
                modification,
                release,
            };
            Ok((Fact::ComponentReceived(receipt), at))
        }
        _ => Err(errors),
    }
}

/// `POST /components/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let asks = |now: Now<'_>| asked(&submitted.fields, now);
    let received = match &asks((&state.zone, state.now())) {
        Ok((Fact::ComponentReceived(receipt), _)) => Some(receipt.component.clone()),
        _ => None,
    };
    match (record(&state, &submitted, "new", &asks).await?, received) {
        (None, Some(component)) => {
            Ok(Redirect::to(&address::component(&component)).into_response())
        }
        (tried, _) => {
            let signed_in = &submitted.signed_in;
            let scanned = Scanned::default();
            let shown = receipt_page(&state, signed_in, &scanned, tried.as_ref()).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
