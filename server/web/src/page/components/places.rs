//! What can be recorded of the places of a component in and on others: something is fitted inside
//! it, it is taken out of an assembly, it moves to another position in one act.

use super::component::component_ref;
use super::contents::VacantPlace;
use super::forms::{answered, simple};
use crate::entry_form::{EntryForm, Field, dated};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Submitted};
use crate::page::named_place;
use crate::page::positions::{
    Offered, asked_removal, component_fields, concession_field, moving_reasons, removal_fields,
};
use crate::page::scanned::Plate;
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Path, State};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::configuration::host::{Host, HostPosition};
use domain::identity::{LocationName, PartNumber, PositionCode};
use domain::ledger::dossier::OwnFitment;
use domain::ledger::fact::{Fact, Fitting};
use domain::time::Day;
use std::collections::BTreeSet;
use store::read::View;

pub(super) fn fit_form(page: &str, vacant: &[VacantPlace<'_>]) -> EntryForm {
    let places = vacant.iter().map(|VacantPlace(position)| {
        let words = format!("{}: {}", position.code, position.title);
        (position.code.to_string(), words)
    });
    let parts = vacant
        .iter()
        .flat_map(|VacantPlace(position)| &position.approved);
    let parts: BTreeSet<&PartNumber> = parts.collect();
    EntryForm::new("fit", page, "Fit a component inside it")
        .button("Record the fitting")
        .ask(Field::one_of("position", "Position inside it", places))
        .ask_all(component_fields(parts, &Offered::default()))
        .ask(concession_field())
}

pub(super) fn take_out_form(
    page: &str,
    within: &OwnFitment,
    locations: &[LocationName],
) -> EntryForm {
    EntryForm::new("remove", page, format!("Take it out of {}", within.at))
        .button("Record the removal")
        .ask_all(removal_fields(locations))
}

pub(super) fn move_form(page: &str) -> EntryForm {
    EntryForm::new("move", page, "Move it to another position")
        .button("Record the move")
        .ask(Field::text("car", "Car").hint("Empty where it goes into an assembly that is on no car."))
        .ask(
            Field::text("position", "Position")
                .hint("On a car the full code, also inside an assembly. To rob one car for another is this entry, with that reason.")
                .required(),
        )
        .ask(
            Field::text("assembly_serial", "Serial number of the assembly")
                .hint("Only where it goes into an assembly and no car is given; the position code is then that within it."),
        )
        .ask(Field::text("assembly_part", "Part of the assembly").hint("May stay empty where the serial number tells it."))
        .ask(Field::one_of("why", "Why", moving_reasons()).required())
        .ask(
            Field::text("concession", "Concession")
                .hint("Its number, where the baseline does not approve it there. Else empty."),
        )
}

async fn read_move(
    state: &WebState,
    fields: &Fields,
    component: ComponentRef,
) -> Result<(Option<Fact>, FieldErrors), Failure> {
    let mut view = state.store.view().await?;
    let mut errors = FieldErrors::default();
    let to = if fields.text("car").is_empty() {
        let position = fields.required("position", &mut errors);
        let plate = Plate {
            part: "assembly_part",
            serial: "assembly_serial",
            preferred: &[],
        };
        let assembly = plate.read(&mut view, fields, &mut errors).await?;
        assembly
            .zip(position)
            .map(|(assembly, position)| HostPosition {
                host: Host::Assembly(assembly),
                position,
            })
    } else {
        let today = state.today();
        let at = named_place::on_car(&mut view, fields, today, &mut errors).await?;
        match at {
            Some(at) => Some(inside_or_on(&mut view, at, today).await?),
            None => None,
        }
    };
    let reason = fields.chosen("why", &mut errors);
    let concession = fields.optional("concession", &mut errors);
    let moved = to.zip(reason).map(|(to, reason)| Fact::Moved {
        component,
        to,
        reason,
        concession,
    });
    Ok((moved, errors))
}

/// A place on a car as what carries it: the car, or the assembly that is there now.
async fn inside_or_on(
    view: &mut View,
    at: PositionRef,
    today: Day,
) -> Result<HostPosition, Failure> {
    if let Some(car) = view.car(&at.car).await?
        && let Some(car_type) = view.documents.car_type(&car.car, today)
        && let Some(place) = view.documents.place(car_type, &at.position)
        && let Some((assembly, position)) = place.inside
        && let Some(assembly) = view.fitted_at(&car, &assembly).await?
    {
        let host = Host::Assembly(assembly);
        return Ok(HostPosition { host, position });
    }
    Ok(at.into())
}

async fn read_fit(
    state: &WebState,
    fields: &Fields,
    assembly: ComponentRef,
) -> Result<(Option<Fact>, FieldErrors), Failure> {
    let mut view = state.store.view().await?;
    let mut errors = FieldErrors::default();
    let position: Option<PositionCode> = fields.required("position", &mut errors);
    let part = view.documents.part(&assembly.part).cloned();
    let known = part.zip(position.as_ref());
    let known = known.and_then(|(part, code)| part.position(code).cloned());
    let plate = Plate {
        part: "part",
        serial: "serial",
        preferred: known.as_ref().map_or(&[], |known| &known.approved),
    };
    let component = plate.read(&mut view, fields, &mut errors).await?;
    let concession = fields.optional("concession", &mut errors);
    let fitted = component.zip(position).map(|(component, position)| {
        let host = Host::Assembly(assembly);
        Fact::Fitted(Fitting {
            component,
            at: HostPosition { host, position },
            concession,
            ended: None,
        })
    });
    Ok((fitted, errors))
}

/// `POST /components/{part}/{serial}/move`
pub(crate) async fn move_on(
    State(state): State<WebState>,
    Path((part, serial)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let component = component_ref(&part, &serial)?;
    let fields = &submitted.fields;
    let read = read_move(&state, fields, component.clone()).await?;
    let asks = dated(fields, read);
    answered(&state, &submitted, &component, ("move", &asks)).await
}

/// `POST /components/{part}/{serial}/fit`
pub(crate) async fn fit(
    State(state): State<WebState>,
    Path((part, serial)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let assembly = component_ref(&part, &serial)?;
    let fields = &submitted.fields;
    let read = read_fit(&state, fields, assembly.clone()).await?;
    answered(&state, &submitted, &assembly, ("fit", &dated(fields, read))).await
}

/// `POST /components/{part}/{serial}/remove`
pub(crate) async fn take_out(
    State(state): State<WebState>,
    Path(plate): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    simple(&state, plate, submitted, ("remove", asked_removal)).await
}
