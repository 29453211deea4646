//! A concession proposed, perhaps for a departure that is there.

use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::concession::{Allowed, Concession};
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use serde::Deserialize;

/// What the form begins with.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Departing {
    #[serde(default)]
    cars: String,
    #[serde(default)]
    position: String,
    #[serde(default)]
    part: String,
    #[serde(default)]
    setting: String,
    #[serde(default)]
    range: String,
}

/// What the form calls a value outside what the baseline admits.
const OUTSIDE: &str = "outside";

/// Which values of a setting are meant, with their words.
fn ranges() -> [(String, String); 2] {
    [
        ("within", "another value that the baseline admits"),
        (OUTSIDE, "a value outside what the baseline admits"),
    ]
    .map(|(name, words)| (name.to_owned(), words.to_owned()))
}

/// `GET /concessions/new`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(departing): Query<Departing>,
) -> PageResult {
    page(&form_page(&state, &signed_in, &departing, None))
}

fn form_page(
    state: &WebState,
    signed_in: &SignedIn,
    departing: &Departing,
    tried: Option<&Tried>,
) -> FormPage {
    let frame = Frame::new(state, signed_in);
    let form = frame.holds(APPROVES).then(|| form(departing).finish(tried));
    FormPage {
        frame,
        title: "Propose a concession".to_owned(),
        back: ("/concessions".to_owned(), "Concessions".to_owned()),
        notes: vec![
            "It allows one part at one position of some cars, though the baseline does not approve it there or not in its modification state; or one setting there to be otherwise than wanted, within its range or outside it. It ends by itself after its last day; what is fitted under it is a finding from then on.".to_owned(),
            "It is in force only once another brake engineer has approved it. What restricts the car meanwhile is for your rules to say: write it down with the reason, which is told beside every verdict about a train with something under it.".to_owned(),
        ],
        holds: Vec::new(),
        form,
        further: Vec::new(),
    }
}

fn form(departing: &Departing) -> EntryForm {
    EntryForm::new("new", "/concessions", "Concession")
        .button("Propose it")
        .ask(
            Field::text("number", "Number")
                .hint("As on the paper.")
                .required(),
        )
        .ask(
            Field::text("cars", "Cars")
                .hint("As 4101 to 4120, 4131.")
                .with_value(&*departing.cars)
                .required(),
        )
        .ask(
            Field::text("position", "Position code")
                .hint("The full code, also inside an assembly.")
                .with_value(&*departing.position)
                .required(),
        )
        .ask(
            Field::text("part", "Part number")
                .hint("The part that is allowed there; empty where it is for a setting.")
                .with_value(&*departing.part),
        )
        .ask(
            Field::text("setting", "Setting")
                .hint("The setting that may be otherwise there; empty where it is for a part.")
                .with_value(&*departing.setting),
        )
        .ask(Field::one_of("range", "Of a setting", ranges()).with_value(&*departing.range))
        .ask(
            Field::text("values", "Values allowed outside the range").hint(
                "Of a setting outside it: as 8.7 to 9.2 bar, words as inverted or sideways, or revisions as revision 2.3 or revision 2.2.",
            ),
        )
        .ask(
            Field::text("why", "Why the risk is accepted, and what keeps it small")
                .hint("With what the car may not do meanwhile. Whoever decides about its train reads it.")
                .says_why(),
        )
        .ask(
            Field::text("until", "Last day")
                .hint("A day, as 2026-03-31; at most two years ahead.")
                .required(),
        )
}

/// What it allows: a part or a setting.
fn allowed(fields: &Fields, errors: &mut FieldErrors) -> Option<Allowed> {
    match (fields.text("part"), fields.text("setting")) {
        (_, "") => fields.required("part", errors).map(Allowed::Part),
        ("", _) => {
            let setting = fields.required("setting", errors)?;
            Some(match fields.text("range") {
                OUTSIDE => Allowed::SettingOutOfRange(setting),
                _ => Allowed::Setting(setting),
            })
        }
        _ => {
            errors.add("setting", "expected nothing where a part is named");
            None
        }
    }
}

fn asked(fields: &Fields, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let number = fields.required("number", &mut errors);
    let cars = fields.required("cars", &mut errors);
    let position = fields.required("position", &mut errors);
    let allows = allowed(fields, &mut errors);
    let values = fields.optional("values", &mut errors);
    let until = fields.required("until", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    let reason = fields.text("why").to_owned();
    if reason.is_empty() {
        errors.add("why", "expected a few words");
    }
    match (number, cars, position, allows, until, at) {
        (Some(number), Some(cars), Some(position), Some(allows), Some(until), Some(at))
            if errors.is_empty() =>
        {
            let concession = Concession {
                number,
                cars,
                position,
                allows,
                values,
                reason,
                until,
            };
            Ok((Fact::Proposed(Proposal::Concession(concession)), at))
        }
        _ => Err(errors),
    }
}

/// `POST /concessions/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    match record(&state, &submitted, "new", &|now| {
        asked(&submitted.fields, now)
    })
    .await?
    {
        None => Ok(Redirect::to("/approvals").into_response()),
        Some(tried) => {
            let departing = Departing::default();
            let shown = form_page(&state, &submitted.signed_in, &departing, Some(&tried));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
