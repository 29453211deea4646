//! Fitting a component at a position, and removing the one that is there.

use super::position::{Offered, found, position_page, position_ref};
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Submitted};
use crate::page::scanned::Plate;
use crate::respond::{PageResult, page};
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::{ComponentRef, Condition, PositionRef, RemovalReason};
use domain::identity::{LocationName, PartNumber};
use domain::ledger::fact::{Fact, Fitting, Removal};
use domain::time::{Instant, Zone};

/// The form that fits a component.
pub(super) fn fit_form(at: &PositionRef, approved: &[PartNumber], offered: &Offered) -> EntryForm {
    let any = (String::new(), "as the serial number tells".to_owned());
    let parts = approved
        .iter()
        .map(|part| (part.to_string(), part.to_string()));
    EntryForm::new("fit", &address::position(at), "Fit a component here")
        .button("Record the fitting")
        .unfolded()
        .ask(
            Field::text("serial", "Serial number")
                .hint("Scan or type it as on the plate; blanks, hyphens and case do not matter.")
                .required()
                .with_value(&offered.serial),
        )
        .ask(
            Field::one_of("part", "Part", std::iter::once(any).chain(parts))
                .with_value(&offered.part),
        )
}

/// The form that removes the component that is fitted.
pub(super) fn remove_form(
    at: &PositionRef,
    component: &ComponentRef,
    locations: &[LocationName],
) -> EntryForm {
    EntryForm::new(
        "remove",
        &address::position(at),
        format!("Remove {component}"),
    )
    .button("Record the removal")
    .bring("part", component.part.as_str())
    .bring("serial", component.serial.as_str())
    .ask(Field::one_of("why", "Why it comes off", removal_reasons()))
    .ask(
        Field::text("to", "Where it goes")
            .hint("A store, workshop, contractor, or “in transit”.")
            .required()
            .suggest(locations.iter().map(ToString::to_string)),
    )
    .ask(
        Field::one_of("condition", "In which condition", conditions_off())
            .hint("Whatever comes off is to be judged, unless there is evidence for more."),
    )
}

/// The reasons for a removal, as choices.
pub(crate) fn removal_reasons() -> Vec<(String, String)> {
    RemovalReason::ALL
        .iter()
        .map(|reason| (reason.name().to_owned(), reason.to_string()))
        .collect()
}

/// Conditions of what comes off, the usual one first.
fn conditions_off() -> Vec<(String, String)> {
    let usual = Condition::RemovedToBeJudged;
    let others = Condition::ALL.iter().filter(|other| **other != usual);
    std::iter::once(&usual)
        .chain(others)
        .map(|condition| (condition.name().to_owned(), condition.to_string()))
        .collect()
}

async fn asked_fit(state: &WebState, fields: &Fields, at: &PositionRef) -> Result<Asked, Failure> {
    let mut view = state.store.view().await?;
    let (_, _, position) = found(&mut view, at).await?;
    let mut errors = FieldErrors::default();
    let plate = Plate {
        part: "part",
        serial: "serial",
        preferred: &position.approved,
    };
    let component = plate.read(&mut view, fields, &mut errors).await?;
    let moment = fields.moment("at", (&state.zone, state.now()), &mut errors);
    Ok(match (component, moment) {
        (Some(component), Some(moment)) => {
            let fitting = Fitting {
                component,
                at: at.clone(),
                ended: None,
            };
            Ok((Fact::Fitted(fitting), moment))
        }
        _ => Err(errors),
    })
}

fn asked_remove(fields: &Fields, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let part = fields.required("part", &mut errors);
    let serial = fields.required("serial", &mut errors);
    let reason = fields.required("why", &mut errors);
    let to = fields.required("to", &mut errors);
    let condition = fields.required("condition", &mut errors);
    let moment = fields.moment("at", now, &mut errors);
    let (Some(part), Some(serial), Some(reason)) = (part, serial, reason) else {
        return Err(errors);
    };
    let (Some(to), Some(condition), Some(moment)) = (to, condition, moment) else {
        return Err(errors);
    };
    let fact = Fact::Removed {
        component: ComponentRef { part, serial },
        removal: Removal {
            reason,
            to,
            condition,
        },
    };
    Ok((fact, moment))
}

async fn answered(
    state: &WebState,
    submitted: &Submitted,
    at: &PositionRef,
    (form, asked): (&'static str, Asked),
) -> PageResult {
    match record(state, submitted, form, asked).await? {
        None => Ok(Redirect::to(&address::position(at)).into_response()),
        Some(tried) => {
            let signed_in = &submitted.signed_in;
            let shown = (&Offered::default(), Some(&tried));
            let shown = position_page(state, signed_in, at, shown).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}

/// `POST /positions/{car}/{code}/fit`
pub(crate) async fn fit(
    State(state): State<WebState>,
    Path((car, code)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let at = position_ref(&car, &code)?;
    let asked = asked_fit(&state, &submitted.fields, &at).await?;
    answered(&state, &submitted, &at, ("fit", asked)).await
}

/// `POST /positions/{car}/{code}/remove`
pub(crate) async fn remove(
    State(state): State<WebState>,
    Path((car, code)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let at = position_ref(&car, &code)?;
    let asked = asked_remove(&submitted.fields, (&state.zone, state.now()));
    answered(&state, &submitted, &at, ("remove", asked)).await
}
