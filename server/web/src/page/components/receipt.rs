//! Receiving a component into the register: what its plate and its papers say. What the papers
//! do not say is left empty and stays unknown; it is never taken as zero.

use super::certificate;
use super::locations::{sent, sent_fields};
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, corrected, record_in_place};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::LocationName;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::{Brought, Fact, Receipt};
use domain::people::KEEPS_STOCK;
use domain::time::Day;
use domain::units::{Amount, Meter};
use serde::Deserialize;
use store::read::View;

/// What a scan has told already.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Scanned {
    #[serde(default)]
    part: String,
    #[serde(default)]
    serial: String,
    /// The receipt that was wrong, where another takes its place.
    #[serde(default)]
    corrects: String,
}

/// A receipt that was wrong, and its entry.
struct Wrong {
    entry: Entry,
    receipt: Receipt,
}

impl Wrong {
    /// The receipt of an entry.
    async fn read(view: &mut View, seq: Seq) -> Result<Self, Failure> {
        let not_found = || Failure::NotFound {
            what: "receipt that entry",
            name: seq.0.to_string(),
        };
        let kept = view.entry(seq).await?.ok_or_else(not_found)?;
        let Fact::ComponentReceived(receipt) = kept.entry.fact.clone() else {
            return Err(not_found());
        };
        Ok(Self {
            entry: kept.entry,
            receipt,
        })
    }

    /// What it says, by the names of the questions.
    fn said(&self) -> Vec<(&'static str, String)> {
        let it = &self.receipt;
        let day = |day: Option<Day>| day.map_or_else(String::new, |day| day.to_string());
        let number = it.certificate_number().unwrap_or_default();
        let state = it.modification.as_ref();
        let batch = it.batch.as_ref();
        let bound_for = it.sent.bound_for.as_ref();
        let mut said = vec![
            ("location", it.location.to_string()),
            (
                "bound_for",
                bound_for.map_or_else(String::new, ToString::to_string),
            ),
            ("expected_on", day(it.sent.expected_on)),
            ("alike_seen", it.alike_seen.clone().unwrap_or_default()),
            ("condition", it.condition.name().to_owned()),
            ("certificate", number.to_owned()),
            (
                "modification_state",
                state.map_or_else(String::new, ToString::to_string),
            ),
            ("batch", batch.map_or_else(String::new, ToString::to_string)),
            ("manufactured_on", day(it.manufactured_on)),
            ("overhauled_on", day(it.overhauled_on)),
        ];
        said.extend(it.release.iter().flat_map(|it| certificate::said(it)));
        for meter in Meter::ALL {
            let used = [it.brought, it.since_overhaul].map(|of| of.by_meter()[*meter]);
            let named = names(*meter).into_iter().zip(used);
            said.extend(named.filter_map(|((name, _), used)| Some((name, used?.to_string()))));
        }
        said
    }
}

/// `GET /components/new?part=…&serial=…`, or `?corrects=…` to put another receipt in the place of one
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
    let wrong = corrected(&scanned.corrects)?;
    let wrong = match wrong {
        Some(seq) => Some(Wrong::read(&mut view, seq).await?),
        None => None,
    };
    let locations = view.locations().await?;
    let parts = view.documents.parts.values();
    let parts = parts.map(|part| part.document.number.to_string()).collect();
    let frame = Frame::new(state, signed_in);
    let form = frame.holds(KEEPS_STOCK);
    let said = "Give what its plate and its papers say. What they do not say, leave empty: it stays \
                not known, and no due date is worked out from it.";
    let mut notes = vec![said.to_owned()];
    let (title, back) = match &wrong {
        Some(Wrong { entry, receipt }) => {
            notes.push(format!(
                "It takes the place of {}, which stays in the ledger as corrected. What follows is \
                 worked out anew and shown before it is recorded.",
                entry.seq
            ));
            let title = format!("Correct the receipt of {}", receipt.component);
            (title, (address::entry(entry.seq), entry.seq.to_string()))
        }
        None => (
            "Receive a component".to_owned(),
            ("/components".to_owned(), "Components".to_owned()),
        ),
    };
    let holds = wrong.iter().flat_map(|wrong| {
        let of_entry = view.holds.of_entry(wrong.entry.seq);
        let on = view.holds.of_component(&wrong.receipt.component, None);
        HoldNote::all(of_entry.chain(on), &state.zone)
    });
    let holds: Vec<HoldNote> = holds.collect();
    let shown = form && holds.is_empty();
    let made = || match &wrong {
        Some(wrong) => receipt_form(asked_of(wrong), &locations)
            .correcting(&wrong.entry, &wrong.said())
            .finish(tried),
        None => receipt_form(named(parts, scanned), &locations).finish(tried),
    };
    Ok(FormPage {
        frame,
        title,
        back,
        notes,
        form: shown.then(made),
        holds,
        further: Vec::new(),
    })
}

/// A form that asks which component it is.
fn named(parts: Vec<String>, scanned: &Scanned) -> EntryForm {
    EntryForm::new("new", "/components", "Receive a component")
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
            Field::text("alike_seen", "How it was seen to be another")
                .hint("Only where its part has a serial number that differs in case, blanks or hyphens alone."),
        )
}

/// A form about the component of a receipt that was wrong.
fn asked_of(wrong: &Wrong) -> EntryForm {
    let ComponentRef { part, serial } = &wrong.receipt.component;
    EntryForm::new("new", "/components", "Correct the receipt")
        .button("Correct it")
        .bring("part", part.to_string())
        .bring("serial", serial.to_string())
}

fn receipt_form(form: EntryForm, locations: &[LocationName]) -> EntryForm {
    let conditions = Condition::ALL
        .iter()
        .map(|condition| (condition.name().to_owned(), condition.to_string()));
    let form = form
        .ask(
            Field::text("location", "Where it is")
                .required()
                .suggest(locations.iter().map(ToString::to_string)),
        )
        .ask_all(sent_fields(locations))
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
        .ask(
            Field::text("batch", "Batch")
                .hint("The lot that its maker made it in, as its label says. What bears no serial number of its own is numbered by its batch and a running number, as L24-07-001."),
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
    let batch = fields.optional("batch", &mut errors);
    let sent = sent(fields, &mut errors);
    let alike_seen = Some(fields.text("alike_seen").to_owned());
    let release = certificate::answered(fields, "certificate", &mut errors);
    match (part, serial, location, condition, at) {
        (Some(part), Some(serial), Some(location), Some(condition), Some(at))
            if errors.is_empty() =>
        {
            let receipt = Receipt {
                component: ComponentRef { part, serial },
                condition,
                location,
                sent,
                manufactured_on,
                overhauled_on,
                brought,
                since_overhaul,
                certificate: certificate.filter(|text| !text.is_empty()),
                modification,
                batch,
                release,
                alike_seen: alike_seen.filter(|text| !text.is_empty()),
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
    let scanned = Scanned {
        corrects: submitted.fields.text("corrects").to_owned(),
        ..Scanned::default()
    };
    let corrects = corrected(&scanned.corrects)?;
    let recorded = record_in_place(&state, &submitted, ("new", corrects), &asks).await?;
    match (recorded.err(), received) {
        (None, Some(component)) => {
            Ok(Redirect::to(&address::component(&component)).into_response())
        }
        (tried, _) => {
            let signed_in = &submitted.signed_in;
            let shown = receipt_page(&state, signed_in, &scanned, tried.as_ref()).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
