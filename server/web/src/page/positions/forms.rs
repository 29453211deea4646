//! Fitting a component at a position, and removing the one that is there.

use super::position::{Offered, found, position_page, position_ref};
use crate::address;
use crate::as_at::{AsAtQuery, Speaks};
use crate::entry_form::{Asked, Asks, EntryForm, Field, dated, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::page::components::locations::{sent, sent_fields};
use crate::page::scanned::Plate;
use crate::respond::{PageResult, page};
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::{ComponentRef, Condition, PositionRef, RemovalReason};
use domain::configuration::host::{Host, HostPosition};
use domain::identity::{LocationName, PartNumber, PositionCode};
use domain::ledger::dossier::Documents;
use domain::ledger::fact::{Fact, Fitting, Removal};
use domain::time::{Instant, Zone};

/// The form that fits a component: on the car, or inside the assembly that is there.
pub(super) fn fit_form(
    at: &PositionRef,
    (parts, assembly): (&[PartNumber], Option<&HostPosition>),
    offered: &Offered,
) -> EntryForm {
    let title = match assembly {
        None => "Fit a component here".to_owned(),
        Some(inside) => format!("Fit a component at {inside}"),
    };
    let form = EntryForm::new("fit", &address::position(at), title)
        .button("Record the fitting")
        .unfolded()
        .ask_all(component_fields(parts, offered))
        .ask(concession_field());
    match assembly.and_then(HostPosition::assembly) {
        None => form,
        Some(assembly) => form
            .bring("assembly_part", assembly.part.as_str())
            .bring("assembly_serial", assembly.serial.as_str()),
    }
}

/// The parts that may be fitted at a position: those approved there, and those that a concession
/// in force allows.
pub(super) fn fittable(
    (documents, approved): (&Documents, &[PartNumber]),
    at: &PositionRef,
    state: &WebState,
) -> Vec<PartNumber> {
    let conceded = documents.conceded_parts(at, (state.now(), state.today()));
    let conceded = conceded.into_iter().filter(|part| !approved.contains(part));
    approved.iter().chain(conceded).cloned().collect()
}

/// The field that names a concession.
pub(crate) fn concession_field() -> Field {
    Field::text("concession", "Concession")
        .hint("Its number, only where the part or its modification state is not approved there.")
}

/// The fields that name a component of one of these parts.
pub(crate) fn component_fields<'a>(
    parts: impl IntoIterator<Item = &'a PartNumber>,
    offered: &Offered,
) -> [Field; 2] {
    let any = (String::new(), "as the serial number tells".to_owned());
    let parts = parts
        .into_iter()
        .map(|part| (part.to_string(), part.to_string()));
    [
        Field::text("serial", "Serial number")
            .hint("Scan or type it as on the plate; blanks, hyphens and case do not matter.")
            .required()
            .with_value(&offered.serial),
        Field::one_of("part", "Part", std::iter::once(any).chain(parts)).with_value(&offered.part),
    ]
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
    .ask_all(removal_fields(locations))
}

/// The fields that say how a component comes off.
pub(crate) fn removal_fields(locations: &[LocationName]) -> [Field; 6] {
    let [bound_for, expected_on] = sent_fields(locations);
    [
        Field::one_of("why", "Why it comes off", reasons_off())
            .required()
            .hint("For another car it is robbed by a move to the position there, not by a removal."),
        Field::text("to", "Where it goes")
            .hint("A store, workshop, contractor, or “in transit”.")
            .required()
            .suggest(locations.iter().map(ToString::to_string)),
        Field::one_of("condition", "In which condition", conditions_off())
            .hint("Whatever comes off is to be judged; what was recalled or is evidence is quarantined. Serviceable only where the reason is no doubt about it: access, a set, a modification, an error of the register."),
        Field::text("evidence", "Evidence")
            .hint("Where it comes off serviceable, on what: certificate, test record or inspection. Else it may stay empty."),
        bound_for,
        expected_on,
    ]
}

/// The reasons for a removal to a location, as choices: what another car is robbed for goes
/// straight there. None is taken for granted.
fn reasons_off() -> Vec<(String, String)> {
    let reasons = RemovalReason::ALL.iter().copied();
    let reasons = reasons.filter(|reason| *reason != RemovalReason::Robbed);
    std::iter::once(to_choose())
        .chain(reasons.map(choice))
        .collect()
}

/// What stands in a choice until one is made.
pub(crate) fn to_choose() -> (String, String) {
    (String::new(), "choose".to_owned())
}

fn choice(reason: RemovalReason) -> (String, String) {
    (reason.name().to_owned(), reason.to_string())
}

/// The reasons for going straight to another position, as choices; none is taken for granted.
pub(crate) fn moving_reasons() -> Vec<(String, String)> {
    let reasons = RemovalReason::ALL.iter().copied();
    let reasons = reasons.filter(|reason| reason.leaves_serviceable());
    std::iter::once(to_choose())
        .chain(reasons.map(choice))
        .collect()
}

/// The reasons for changing places with another: also to see whether a fault goes with it.
pub(crate) fn swapping_reasons() -> Vec<(String, String)> {
    let mut reasons = moving_reasons();
    reasons.push(choice(RemovalReason::Suspected));
    reasons
}

/// Conditions of what comes off, first the one that follows from why it does.
fn conditions_off() -> Vec<(String, String)> {
    let usual = "as why it comes off says: to be judged, or quarantined";
    let conditions = Condition::ALL.iter();
    let conditions =
        conditions.map(|condition| (condition.name().to_owned(), condition.to_string()));
    std::iter::once((String::new(), usual.to_owned()))
        .chain(conditions)
        .collect()
}

async fn read_fit(
    state: &WebState,
    fields: &Fields,
    at: &PositionRef,
) -> Result<(Option<Fact>, FieldErrors), Failure> {
    let mut view = state.store.view().await?;
    let (_, _, there) = found(&mut view, at, (&Speaks::now(state.now()), state)).await?;
    let parts = fittable((&view.documents, &there.position.approved), at, state);
    let mut errors = FieldErrors::default();
    let plate = Plate {
        part: "part",
        serial: "serial",
        preferred: &parts,
    };
    let component = plate.read(&mut view, fields, &mut errors).await?;
    let concession = fields.optional("concession", &mut errors);
    let at = match (there.inside, fields.text("assembly_serial").is_empty()) {
        (Some((_, position)), false) => inside(fields, position, &mut errors),
        // Where no assembly is named, the register says what is to be done.
        _ => Some(at.clone().into()),
    };
    let fitted = component.zip(at).map(|(component, at)| {
        Fact::Fitted(Fitting {
            component,
            at,
            concession,
            ended: None,
        })
    });
    Ok((fitted, errors))
}

/// The position inside the assembly that the form was shown for.
fn inside(
    fields: &Fields,
    position: PositionCode,
    errors: &mut FieldErrors,
) -> Option<HostPosition> {
    let part = fields.required("assembly_part", errors);
    let serial = fields.required("assembly_serial", errors);
    let host = Host::Assembly(ComponentRef {
        part: part?,
        serial: serial?,
    });
    Some(HostPosition { host, position })
}

fn asked_remove(fields: &Fields, at: &PositionRef, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let part = fields.required("part", &mut errors);
    let serial = fields.required("serial", &mut errors);
    match (part, serial) {
        (Some(part), Some(serial)) => {
            let component = ComponentRef { part, serial };
            asked_off(fields, (component, Some(at)), now)
        }
        _ => Err(errors),
    }
}

/// The removal of a component that the fields ask for, wherever it is.
pub(crate) fn asked_removal(
    fields: &Fields,
    component: ComponentRef,
    now: (&Zone, Instant),
) -> Asked {
    asked_off(fields, (component, None), now)
}

/// The removal of a component, from a position of a car where it was seen to come off there.
fn asked_off(
    fields: &Fields,
    (component, from): (ComponentRef, Option<&PositionRef>),
    now: (&Zone, Instant),
) -> Asked {
    let mut errors = FieldErrors::default();
    let reason: Option<RemovalReason> = fields.chosen("why", &mut errors);
    let to = fields.required("to", &mut errors);
    let condition: Option<Condition> = fields.optional("condition", &mut errors);
    let evidence = fields.text("evidence");
    let sent = sent(fields, &mut errors);
    let moment = fields.moment("at", now, &mut errors);
    let (Some(reason), Some(to), Some(moment)) = (reason, to, moment) else {
        return Err(errors);
    };
    if !errors.is_empty() {
        return Err(errors);
    }
    let fact = Fact::Removed {
        component,
        from: from.cloned().map(Box::new),
        removal: Removal {
            reason,
            to,
            sent,
            condition: condition.unwrap_or(reason.leaves()),
            evidence: (!evidence.is_empty()).then(|| evidence.to_owned()),
        },
    };
    Ok((fact, moment))
}

/// The page on which people go on: that of a position, and of what came off as evidence its own, where
/// it is held.
fn page_after(fields: &Fields, at: &PositionRef) -> String {
    let part = fields.text("part").parse();
    let serial = fields.text("serial").parse();
    match (part, serial) {
        (Ok(part), Ok(serial)) if fields.text("why") == RemovalReason::Evidence.name() => {
            address::component(&ComponentRef { part, serial })
        }
        _ => address::position(at),
    }
}

/// Records what a form of a position asks for and shows where people go on.
pub(super) async fn answered(
    state: &WebState,
    submitted: &Submitted,
    at: &PositionRef,
    (form, asks): (&'static str, Asks<'_>),
) -> PageResult {
    match record(state, submitted, form, asks).await? {
        None => Ok(Redirect::to(&page_after(&submitted.fields, at)).into_response()),
        Some(tried) => {
            let signed_in = &submitted.signed_in;
            let shown = (&Offered::default(), Some(&tried));
            let shown = position_page(state, signed_in, (at, &AsAtQuery::default()), shown).await?;
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
    let fields = &submitted.fields;
    let read = read_fit(&state, fields, &at).await?;
    answered(&state, &submitted, &at, ("fit", &dated(fields, read))).await
}

/// `POST /positions/{car}/{code}/remove`
pub(crate) async fn remove(
    State(state): State<WebState>,
    Path((car, code)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let at = position_ref(&car, &code)?;
    let asks = |now: Now<'_>| asked_remove(&submitted.fields, &at, now);
    answered(&state, &submitted, &at, ("remove", &asks)).await
}
