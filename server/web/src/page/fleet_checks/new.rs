//! Opening a check of the fleet for the cars that carry what is looked for, or for cars that are
//! named.

use crate::address;
use crate::carrying::CarryingQuery;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record_entry};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::cars::carrying;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::effectivity::CarRange;
use domain::configuration::fleet_check::{CARS_MAX, FleetCheck};
use domain::configuration::looked_for::LookedFor;
use domain::identity::CarNumber;
use domain::ledger::fact::Fact;
use domain::people::OPENS_FLEET_CHECKS;
use domain::unreadable::Unreadable;
use std::collections::BTreeSet;

/// `GET /fleet-checks/new?ask=…&part=…`, asked as [`carrying`] is: the cars that carry it are named
/// in the form. Where nothing is asked none is.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(asked): Query<CarryingQuery>,
) -> PageResult {
    let known = match carrying::named_cars(&asked, &state, CARS_MAX).await? {
        None => Known::default(),
        Some(named) if CARS_MAX < named.cars.len() => {
            return Err(Failure::Unreadable(Unreadable {
                what: "cars of a check",
                given: format!("more than {CARS_MAX} cars"),
                expected: "what fewer cars carry".to_owned(),
            }));
        }
        Some(named) => Known {
            looked_for: named.words,
            sought: serde_json::to_string(&named.looked_for).unwrap_or_default(),
            cars: named.cars.iter().map(ToString::to_string).collect(),
            untold: named.untold.iter().map(ToString::to_string).collect(),
        },
    };
    page(&new_page(&state, &signed_in, &known, None))
}

/// What the form knows before anybody fills it in.
#[derive(Debug, Default)]
struct Known {
    looked_for: String,
    /// The question as it is kept.
    sought: String,
    cars: Vec<String>,
    /// Those of them of which it cannot be told whether they carry it.
    untold: Vec<String>,
}

fn new_page(
    state: &WebState,
    signed_in: &SignedIn,
    known: &Known,
    tried: Option<&Tried>,
) -> FormPage {
    let frame = Frame::new(state, signed_in);
    let form = frame
        .holds(OPENS_FLEET_CHECKS)
        .then(|| form(known).finish(tried));
    let cannot_be_told = (!known.untold.is_empty()).then(|| {
        format!(
            "Of {} of the cars that are named it cannot be told whether they carry it: {}. They are \
             asked as well, since they may.",
            known.untold.len(),
            known.untold.join(", ")
        )
    });
    let notes = [
        "Each car that is named is looked at and answered for. The check is closed by the last \
         answer, and by nothing else."
            .to_owned(),
        "It takes no car out of traffic: whether a car runs until it has answered is decided by those \
         who may, under the operator’s rules."
            .to_owned(),
    ];
    FormPage {
        frame,
        title: "Open a check of the fleet".to_owned(),
        back: ("/fleet-checks".to_owned(), "Checks of the fleet".to_owned()),
        notes: notes.into_iter().chain(cannot_be_told).collect(),
        holds: Vec::new(),
        form,
        further: vec![(
            "/carrying".to_owned(),
            "Which cars carry a part, serial numbers, a batch, a modification state or a setting"
                .to_owned(),
        )],
    }
}

fn form(known: &Known) -> EntryForm {
    EntryForm::new("new", "/fleet-checks", "Open a check of the fleet")
        .button("Open the check")
        .bring("sought", known.sought.as_str())
        .ask(Field::text("title", "What it is about").required())
        .ask(
            Field::text("instruction", "What is to be looked at and done")
                .hint("How it is recognised, and what is to be done where it is found.")
                .required(),
        )
        .ask(
            Field::text("looked_for", "How the cars were found")
                .with_value(known.looked_for.as_str())
                .required(),
        )
        .ask(
            Field::text("answer_by", "Answers until")
                .hint("A day, as 2026-03-31.")
                .required(),
        )
        .ask(
            Field::long_text("cars", "Cars that must answer")
                .hint(
                    "Their numbers, one a line, or with commas, semicolons or blanks between them.",
                )
                .with_value(known.cars.join("\n"))
                .required(),
        )
}

/// The cars by their numbers: of a range it is not known which cars there are in it.
fn cars(fields: &Fields, errors: &mut FieldErrors) -> BTreeSet<CarNumber> {
    let mut cars = BTreeSet::new();
    let ranges = CarRange::list(fields.text("cars")).unwrap_or_else(|why| {
        let given = match why.given.as_str() {
            "" => String::new(),
            given => format!("{given}: "),
        };
        errors.add("cars", format!("{given}expected {}", why.expected));
        Vec::new()
    });
    for range in ranges {
        match range.only() {
            Some(car) if car.as_str().to_lowercase().starts_with("car ") => {
                let expected = "expected its number alone, without the word car";
                errors.add("cars", format!("{car}: {expected}"));
            }
            Some(car) => drop(cars.insert(car.clone())),
            None => errors.add("cars", format!("{range}: expected each car by its number")),
        }
    }
    cars
}

fn asked(fields: &Fields, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let cars = cars(fields, &mut errors);
    let sought: Option<LookedFor> = match fields.text("sought") {
        "" => None,
        text => serde_json::from_str(text)
            .map_err(|why| errors.add("looked_for", why.to_string()))
            .ok(),
    };
    let answer_by = fields.required("answer_by", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    match (answer_by, at) {
        (Some(answer_by), Some(at)) if errors.is_empty() => {
            let check = FleetCheck {
                title: fields.text("title").to_owned(),
                instruction: fields.text("instruction").to_owned(),
                looked_for: fields.text("looked_for").to_owned(),
                sought,
                cars,
                answer_by,
                answered: Vec::new(),
            };
            Ok((Fact::FleetCheckOpened(Box::new(check)), at))
        }
        _ => Err(errors),
    }
}

/// `POST /fleet-checks/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    match record_entry(&state, &submitted, "new", &|now| {
        asked(&submitted.fields, now)
    })
    .await?
    {
        Ok(check) => Ok(Redirect::to(&address::fleet_check(check)).into_response()),
        Err(tried) => {
            let known = Known {
                sought: submitted.fields.text("sought").to_owned(),
                ..Known::default()
            };
            let shown = new_page(&state, &submitted.signed_in, &known, Some(&tried));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
