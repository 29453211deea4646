//! The meters of a car, and the forms that read and replace them.

use super::car;
use crate::address;
use crate::as_at::AsAtQuery;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::respond::{PageResult, page};
use crate::show;
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::Subject;
use domain::due::task::Task;
use domain::identity::CarNumber;
use domain::ledger::fact::{Fact, Reading};
use domain::ledger::standing::MeterStanding;
use domain::time::{Instant, Zone};
use domain::units::Meter;
use std::sync::Arc;

/// How a meter stands, in words; nothing is put in the place of what is not known.
#[derive(Debug)]
pub(crate) struct MeterRow {
    pub(crate) meter: Meter,
    /// What it showed last, and when.
    pub(crate) last: Option<(String, String)>,
    /// What it gains a day, likely, and from slow to fast.
    pub(crate) rate: Option<(String, String)>,
    /// What the car has run in all, through replacements, at the last reading.
    pub(crate) usage: Option<String>,
}

impl MeterRow {
    /// All meters of a car, read or not.
    pub(crate) fn all(standings: &[(Meter, MeterStanding)], zone: &Zone) -> Vec<Self> {
        let row = |&meter: &Meter| {
            let standing = standings.iter().find(|(other, _)| *other == meter);
            let standing = standing.map(|(_, standing)| standing);
            Self {
                meter,
                last: standing.map(|s| (show::tenths(s.shown, meter), zone.show(s.last.at))),
                rate: standing.and_then(|s| s.rate).map(|rate| {
                    let (slow, fast) = (rate.slow(), rate.fast());
                    let [slow, fast] = [slow, fast].map(|r| show::amount(r, meter));
                    (
                        show::amount(rate.likely(), meter),
                        format!("{slow} to {fast}"),
                    )
                }),
                usage: standing.map(|s| show::tenths(s.last.usage, meter)),
            }
        };
        Meter::ALL.iter().map(row).collect()
    }
}

fn meters() -> Vec<(String, String)> {
    Meter::ALL
        .iter()
        .map(|meter| {
            let words = format!("{meter}, {}", meter.unit());
            (meter.name().to_owned(), words)
        })
        .collect()
}

/// The form that records a reading.
pub(crate) fn reading_form(car: &CarNumber, tried: Option<&Tried>) -> EntryForm {
    EntryForm::new("readings", &address::car(car), "Record a reading")
        .button("Record the reading")
        .ask(Field::one_of("meter", "Meter", meters()))
        .ask(
            Field::number("value", "What it shows")
                .hint("As it stands on the meter, with a point before decimals.")
                .required(),
        )
        .ask(
            Field::text("confirmed", "Why an unusual reading is right")
                .hint("Only for a reading that was refused as too fast and is right all the same."),
        )
        .finish(tried)
}

/// The form that records that a meter was replaced.
pub(crate) fn replacement_form(car: &CarNumber, tried: Option<&Tried>) -> EntryForm {
    EntryForm::new("meters", &address::car(car), "Record a replaced meter")
        .button("Record the replacement")
        .ask(Field::one_of("meter", "Meter", meters()))
        .ask(Field::number("last_value", "What the old meter showed last").required())
        .ask(Field::number("first_value", "What the new meter showed first").required())
        .finish(tried)
}

/// The form that records work done on the car as a whole.
pub(crate) fn done_form(car: &CarNumber, tasks: &[Arc<Task>], tried: Option<&Tried>) -> EntryForm {
    let tasks = tasks.iter().map(|task| {
        (
            task.code.to_string(),
            format!("{}: {}", task.code, task.title),
        )
    });
    EntryForm::new("done", &address::car(car), "Record work done on the car")
        .button("Record the work")
        .ask(Field::one_of("task", "Task", tasks))
        .ask(
            Field::text("evidence", "Evidence")
                .hint("Order, certificate or test record.")
                .required(),
        )
        .finish(tried)
}

fn asked_reading(fields: &Fields, car: CarNumber, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let meter = fields.required("meter", &mut errors);
    let value = fields.required("value", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    let confirmed = fields.text("confirmed");
    let confirmed = (!confirmed.is_empty()).then(|| confirmed.to_owned());
    match (meter, value, at) {
        (Some(meter), Some(value), Some(at)) => {
            let reading = Reading {
                car,
                meter,
                value,
                confirmed,
            };
            Ok((Fact::ReadingTaken(reading), at))
        }
        _ => Err(errors),
    }
}

fn asked_replacement(fields: &Fields, car: CarNumber, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let meter = fields.required("meter", &mut errors);
    let last = fields.required("last_value", &mut errors);
    let first = fields.required("first_value", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    match (meter, last, first, at) {
        (Some(meter), Some(last_value), Some(first_value), Some(at)) => {
            let fact = Fact::MeterReplaced {
                car,
                meter,
                last_value,
                first_value,
            };
            Ok((fact, at))
        }
        _ => Err(errors),
    }
}

fn asked_done(fields: &Fields, car: CarNumber, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let task = fields.required("task", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    match (task, at) {
        (Some(task), Some(at)) => {
            let fact = Fact::TaskDone {
                subject: Subject::Car(car),
                task,
                evidence: fields.text("evidence").to_owned(),
                release: None,
            };
            Ok((fact, at))
        }
        _ => Err(errors),
    }
}

type Ask = fn(&Fields, CarNumber, (&Zone, Instant)) -> Asked;

async fn recorded(
    state: &WebState,
    number: &str,
    submitted: Submitted,
    (form, ask): (&'static str, Ask),
) -> PageResult {
    let number: CarNumber = number.parse()?;
    let asks = |now: Now<'_>| ask(&submitted.fields, number.clone(), now);
    match record(state, &submitted, form, &asks).await? {
        None => Ok(Redirect::to(&address::car(&number)).into_response()),
        Some(tried) => {
            let signed_in = &submitted.signed_in;
            let query = AsAtQuery::default();
            let shown = car::car_page(state, signed_in, (&number, &query), Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}

/// `POST /cars/{number}/readings`
pub(crate) async fn read(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    recorded(&state, &number, submitted, ("readings", asked_reading)).await
}

/// `POST /cars/{number}/meters`
pub(crate) async fn replace(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    recorded(&state, &number, submitted, ("meters", asked_replacement)).await
}

/// `POST /cars/{number}/done`
pub(crate) async fn done(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    recorded(&state, &number, submitted, ("done", asked_done)).await
}
