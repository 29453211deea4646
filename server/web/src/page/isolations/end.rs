//! Ending a cut-out: only a passed test of the car, made since, that measured the brake behind it proves
//! it restored.

use super::age::age;
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
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
use domain::configuration::component::PositionRef;
use domain::identity::{CarNumber, PositionCode};
use domain::ledger::dossier::{IsolationRecord, TestedRecord};
use domain::ledger::fact::Fact;
use domain::ledger::proof::Ending;
use domain::people::ISOLATES;
use domain::time::{Instant, Zone};
use serde::Deserialize;
use std::sync::Arc;

/// Which cut-out.
#[derive(Debug, Deserialize)]
pub(crate) struct OfPosition {
    #[serde(default)]
    car: String,
    #[serde(default)]
    position: String,
}

/// A position by the names in an address or a form.
pub(super) fn position_ref(car: &str, position: &str) -> Result<PositionRef, Failure> {
    let car: CarNumber = car.trim().parse()?;
    let position: PositionCode = position.trim().parse()?;
    Ok(PositionRef { car, position })
}

/// `GET /isolations/end?car=…&position=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(of): Query<OfPosition>,
) -> PageResult {
    let at = position_ref(&of.car, &of.position)?;
    page(&end_page(&state, &signed_in, &at, None).await?)
}

/// The page with the form: five statements, and one more where work makes tests void.
async fn end_page(
    state: &WebState,
    signed_in: &SignedIn,
    at: &PositionRef,
    tried: Option<&Tried>,
) -> Result<FormPage, Failure> {
    let mut view = state.store.view().await?;
    let car = view.car(&at.car).await?.ok_or_else(|| Failure::NotFound {
        what: "car",
        name: at.car.to_string(),
    })?;
    let isolations = view.isolations_at(&car, &at.position).await?;
    let isolation = isolations.into_iter().find(|one| one.ended.is_none());
    let isolation = isolation.ok_or_else(|| Failure::NotFound {
        what: "cut-out in force at",
        name: at.to_string(),
    })?;
    let tests = view.tests_of_car(&car).await?;
    let touched = view.touched_on(&car, isolation.since).await?;
    let now = state.now();
    let car_type = view.documents.car_type(&car.car, state.zone.day_of(now));
    // The register checks it again.
    let ending = Ending {
        isolation: &isolation,
        at: now,
        car_type: car_type.map(Arc::as_ref),
        touched: &touched,
        documents: &view.documents,
        zone: &state.zone,
    };
    let passed = tests.iter().filter(|test| ending.is_passed_since(test));
    let judged = passed.map(|test| (test, ending.lacks(test, tests.iter())));
    let (proofs, others): (Vec<_>, Vec<_>) = judged.partition(|(_, lack)| lack.is_none());
    let proofs: Vec<&TestedRecord> = proofs.into_iter().map(|(test, _)| test).collect();
    let frame = Frame::new(state, signed_in);
    let mut notes = vec![in_words(&isolation, (&state.zone, now))];
    if proofs.is_empty() {
        notes.push(unproved(at, others.len()));
    }
    notes.extend(others.iter().filter_map(|(test, lack)| {
        let test = in_short(test, &state.zone);
        Some(format!(
            "Passed since and not offered: {test}: {}.",
            lack.as_ref()?
        ))
    }));
    let holds = HoldNote::all(view.holds.on_car(&at.car), &state.zone);
    let may = frame.holds(ISOLATES) && holds.is_empty();
    let form = may.then(|| form(at, &proofs, &state.zone).finish(tried));
    Ok(FormPage {
        frame,
        title: format!("End the cut-out at {at}"),
        back: ("/isolations".to_owned(), "Cut-outs in force".to_owned()),
        notes,
        holds,
        form,
        further: vec![(
            address::record_car_test(&at.car),
            format!("Record a test of car {}", at.car),
        )],
    })
}

/// That no test proves the end, of so many that passed since.
fn unproved(at: &PositionRef, passed: usize) -> String {
    let PositionRef { car, position } = at;
    let why = match passed {
        0 => format!("No test of car {car} passed since."),
        _ => format!(
            "No test of car {car} that passed since proves the brake behind {position} restored."
        ),
    };
    format!("{why} Without one the cut-out stays in force.")
}

/// "T-2, BT-A, 2026-11-25 12:00 +00:00".
fn in_short(test: &TestedRecord, zone: &Zone) -> String {
    let record = &test.record;
    format!(
        "{}, {}, {}",
        record.id,
        record.procedure,
        zone.show(record.at)
    )
}

fn in_words(isolation: &IsolationRecord, (zone, now): (&Zone, Instant)) -> String {
    let age = age(isolation, zone, now);
    let cut_out = &isolation.cut_out;
    format!(
        "{}: {} since {} ({}), {}.",
        cut_out.at, cut_out.state, age.since, age.ago, cut_out.cause
    )
}

fn form(at: &PositionRef, proofs: &[&TestedRecord], zone: &Zone) -> EntryForm {
    let known: Vec<String> = proofs.iter().map(|test| in_short(test, zone)).collect();
    let hint = match known.as_slice() {
        [] => "The identity of a test record of this car.".to_owned(),
        known => format!("Passed since: {}.", known.join("; ")),
    };
    let first = proofs.first().map(|test| test.record.id.to_string());
    EntryForm::new("end", "/isolations", format!("End the cut-out at {at}"))
        .button("Record the end")
        .bring("car", at.car.as_str())
        .bring("position", at.position.as_str())
        .ask(
            Field::text("proved_by", "Proved by test record")
                .hint(hint)
                .suggest(proofs.iter().map(|test| test.record.id.to_string()))
                .with_value(first.unwrap_or_default())
                .required(),
        )
}

fn asked(fields: &Fields, at: &PositionRef, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let proved_by = fields.required("proved_by", &mut errors);
    let moment = fields.moment("at", now, &mut errors);
    match (proved_by, moment) {
        (Some(proved_by), Some(moment)) => {
            let fact = Fact::IsolationEnded {
                at: at.clone(),
                proved_by,
            };
            Ok((fact, moment))
        }
        _ => Err(errors),
    }
}

/// `POST /isolations/end`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let fields = &submitted.fields;
    let at = position_ref(fields.text("car"), fields.text("position"))?;
    let asks = |now: Now<'_>| asked(fields, &at, now);
    match record(&state, &submitted, "end", &asks).await? {
        None => Ok(Redirect::to("/isolations").into_response()),
        Some(tried) => {
            let shown = end_page(&state, &submitted.signed_in, &at, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
