//! What can be recorded of a component: its condition, where it is kept, a swap in one act, work
//! done. Which positions it goes to, and what goes inside it, has a file of its own.

use super::certificate;
use super::component::{component_page, component_ref};
use super::contents::VacantPlace;
use super::locations::{sent, sent_fields};
use super::places::{fit_form, move_form, take_out_form};
use super::plates::plate_form;
use crate::address;
use crate::as_at::AsAtQuery;
use crate::entry_form::{Asked, Asks, EntryForm, Field, Tried, dated, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::positions::{swapping_reasons, to_choose};
use crate::page::scanned::Plate;
use crate::respond::{PageResult, page};
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::{ComponentRef, Condition, Subject};
use domain::due::task::{Task, TaskKind};
use domain::identity::LocationName;
use domain::ledger::dossier::{ComponentRecord, OwnFitment};
use domain::ledger::fact::{Fact, Relocation};
use domain::ledger::proposal::Proposal;
use domain::people;
use domain::time::{Instant, Zone};
use std::sync::Arc;

/// A component as its forms need it.
pub(super) struct Shown<'a> {
    pub(super) record: &'a ComponentRecord,
    pub(super) on_car: bool,
    /// Whether it is held as evidence: nothing is recorded of it then.
    pub(super) held: bool,
    /// Whether two people release it though it counts as free: that it was quarantined was told only
    /// after it was judged.
    pub(super) released: bool,
    /// Where it is in an assembly, if it is in one.
    pub(super) within: Option<&'a OwnFitment>,
    /// Its own positions that are vacant.
    pub(super) vacant: &'a [VacantPlace<'a>],
    pub(super) tasks: &'a [Arc<Task>],
    pub(super) locations: &'a [LocationName],
}

impl Shown<'_> {
    /// The forms that the person may send, as far as they make sense for where the component is.
    pub(super) fn forms(&self, frame: &Frame, tried: Option<&Tried>) -> Vec<EntryForm> {
        let page = address::component(&self.record.component);
        let mut forms = Vec::new();
        if self.held {
            return forms;
        }
        if frame.holds(people::DOES_WORK) && !self.tasks.is_empty() {
            forms.push(done_form(&page, self.tasks));
        }
        let fitted = self.on_car || self.within.is_some();
        let held = self.record.condition == Condition::Quarantined;
        if frame.holds(people::HANDLES_COMPONENTS) {
            if !held || frame.approves() {
                forms.push(condition_form(&page, self.record.condition));
            }
            if (held || self.released) && frame.approves() {
                forms.push(release_form(&page, self.record.condition));
            }
            forms.push(plate_form(&page));
            if !self.vacant.is_empty() {
                forms.push(fit_form(&page, self.vacant));
            }
            if let Some(within) = self.within {
                forms.push(take_out_form(&page, within, self.locations));
            }
            if fitted {
                forms.push(move_form(&page));
                forms.push(swap_form(&page));
            }
        }
        if frame.holds(people::KEEPS_STOCK) && !fitted {
            forms.push(relocate_form(&page, self.locations));
        }
        forms.into_iter().map(|form| form.finish(tried)).collect()
    }
}

fn condition_form(page: &str, condition: Condition) -> EntryForm {
    let conditions = Condition::ALL
        .iter()
        .filter(|to| condition != Condition::Quarantined || to.stays_held())
        .map(|condition| (condition.name().to_owned(), condition.to_string()));
    let conditions = std::iter::once(to_choose()).chain(conditions);
    EntryForm::new("condition", page, "Judge its condition")
        .button("Record the condition")
        .ask(Field::one_of("condition", "Condition found", conditions).required())
        .ask(
            Field::text("evidence", "Evidence")
                .hint("Certificate, test record or inspection.")
                .required(),
        )
}

fn release_form(page: &str, condition: Condition) -> EntryForm {
    let until = match condition {
        Condition::Quarantined => {
            "It stays in quarantine until another brake engineer approves.".to_owned()
        }
        free => format!(
            "It counts as {free} since it was judged, and is to be judged again until another brake \
             engineer approves."
        ),
    };
    let conditions = Condition::ALL
        .iter()
        .filter(|to| !to.stays_held())
        .map(|condition| (condition.name().to_owned(), condition.to_string()));
    EntryForm::new("release", page, "Propose its release from quarantine")
        .button("Propose the release")
        .ask(Field::one_of("condition", "Released as", conditions).hint(until))
        .ask(
            Field::text("evidence", "Evidence")
                .hint("Certificate, test record or inspection.")
                .required(),
        )
}

fn relocate_form(page: &str, locations: &[LocationName]) -> EntryForm {
    EntryForm::new("relocate", page, "Move it to another location")
        .button("Record the location")
        .ask(
            Field::text("to", "Where it is now")
                .hint("A store, workshop, contractor, or “in transit”.")
                .required()
                .suggest(locations.iter().map(ToString::to_string)),
        )
        .ask_all(sent_fields(locations))
}

fn swap_form(page: &str) -> EntryForm {
    EntryForm::new("swap", page, "Swap it with another fitted component")
        .button("Record the swap")
        .ask(
            Field::text("other_serial", "Serial number of the other")
                .hint("Both change places in one entry; each keeps its life.")
                .required(),
        )
        .ask(
            Field::text("other_part", "Part of the other")
                .hint("May stay empty where the serial number tells it."),
        )
        .ask(Field::one_of("why", "Why", swapping_reasons()).required().hint(
            "Suspected: to see whether a fault goes with this one. It is then to be judged where it is.",
        ))
        .ask(
            Field::text("concession", "Concession for this one there")
                .hint("Its number, where the baseline does not approve it there. Else empty."),
        )
        .ask(
            Field::text("other_concession", "Concession for the other here")
                .hint("Its number, where the baseline does not approve it here. Else empty."),
        )
}

fn done_form(page: &str, tasks: &[Arc<Task>]) -> EntryForm {
    // A limit of life is reached; nobody does it.
    let tasks = tasks.iter().filter(|task| task.kind != TaskKind::LifeLimit);
    let tasks = tasks.map(|task| {
        (
            task.code.to_string(),
            format!("{}: {}", task.code, task.title),
        )
    });
    EntryForm::new("done", page, "Record work done")
        .button("Record the work")
        .ask(Field::one_of("task", "Task", tasks))
        .ask(
            Field::text("evidence", "Evidence")
                .hint("Order, certificate or test record: its number.")
                .required(),
        )
        .ask_all(certificate::questions())
}

/// What both a judgement and a proposed release say: the condition, on what evidence, when.
fn asked_judgement(
    fields: &Fields,
    now: (&Zone, Instant),
) -> Result<(Condition, String, Instant), FieldErrors> {
    let mut errors = FieldErrors::default();
    let condition = fields.chosen("condition", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    let judged = condition.zip(at).ok_or(errors)?;
    Ok((judged.0, fields.text("evidence").to_owned(), judged.1))
}

fn asked_condition(fields: &Fields, component: ComponentRef, now: (&Zone, Instant)) -> Asked {
    let (condition, evidence, at) = asked_judgement(fields, now)?;
    let fact = Fact::ConditionJudged {
        component,
        condition,
        evidence,
    };
    Ok((fact, at))
}

fn asked_release(fields: &Fields, component: ComponentRef, now: (&Zone, Instant)) -> Asked {
    let (condition, evidence, at) = asked_judgement(fields, now)?;
    let release = Proposal::Release {
        component,
        condition,
        evidence,
    };
    Ok((Fact::Proposed(release), at))
}

fn asked_relocate(fields: &Fields, component: ComponentRef, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let to = fields.required("to", &mut errors);
    let sent = sent(fields, &mut errors);
    let at = fields.moment("at", now, &mut errors);
    match (to, at) {
        (Some(to), Some(at)) if errors.is_empty() => {
            let relocation = Relocation {
                component,
                to,
                sent,
            };
            Ok((Fact::Relocated(relocation), at))
        }
        _ => Err(errors),
    }
}

fn asked_done(fields: &Fields, component: ComponentRef, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let task = fields.required("task", &mut errors);
    let release = certificate::answered(fields, "evidence", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    match (task, at) {
        (Some(task), Some(at)) if errors.is_empty() => {
            let subject = Subject::Component(component);
            let evidence = fields.text("evidence").to_owned();
            let fact = Fact::TaskDone {
                subject,
                task,
                evidence,
                release,
            };
            Ok((fact, at))
        }
        _ => Err(errors),
    }
}

async fn read_swap(
    state: &WebState,
    fields: &Fields,
    first: ComponentRef,
) -> Result<(Option<Fact>, FieldErrors), Failure> {
    let mut view = state.store.view().await?;
    let mut errors = FieldErrors::default();
    let plate = Plate {
        part: "other_part",
        serial: "other_serial",
        preferred: std::slice::from_ref(&first.part),
    };
    let second = plate.read(&mut view, fields, &mut errors).await?;
    let reason = fields.chosen("why", &mut errors);
    let first_concession = fields.optional("concession", &mut errors);
    let second_concession = fields.optional("other_concession", &mut errors);
    let swapped = second.zip(reason).map(|(second, reason)| Fact::Swapped {
        first,
        second,
        reason,
        first_concession,
        second_concession,
    });
    Ok((swapped, errors))
}

pub(super) async fn answered(
    state: &WebState,
    submitted: &Submitted,
    component: &ComponentRef,
    (form, asks): (&'static str, Asks<'_>),
) -> PageResult {
    match record(state, submitted, form, asks).await? {
        None => Ok(Redirect::to(&address::component(component)).into_response()),
        Some(tried) => {
            let signed_in = &submitted.signed_in;
            let now = AsAtQuery::default();
            let shown = component_page(state, signed_in, (component, &now), Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}

type Ask = fn(&Fields, ComponentRef, (&Zone, Instant)) -> Asked;

pub(super) async fn simple(
    state: &WebState,
    (part, serial): (String, String),
    submitted: Submitted,
    (form, ask): (&'static str, Ask),
) -> PageResult {
    let component = component_ref(&part, &serial)?;
    let asks = |now: Now<'_>| ask(&submitted.fields, component.clone(), now);
    answered(state, &submitted, &component, (form, &asks)).await
}

/// `POST /components/{part}/{serial}/condition`
pub(crate) async fn judge(
    State(state): State<WebState>,
    Path(plate): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    simple(&state, plate, submitted, ("condition", asked_condition)).await
}

/// `POST /components/{part}/{serial}/release`
pub(crate) async fn release(
    State(state): State<WebState>,
    Path(plate): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    simple(&state, plate, submitted, ("release", asked_release)).await
}

/// `POST /components/{part}/{serial}/relocate`
pub(crate) async fn relocate(
    State(state): State<WebState>,
    Path(plate): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    simple(&state, plate, submitted, ("relocate", asked_relocate)).await
}

/// `POST /components/{part}/{serial}/done`
pub(crate) async fn done(
    State(state): State<WebState>,
    Path(plate): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    simple(&state, plate, submitted, ("done", asked_done)).await
}

/// `POST /components/{part}/{serial}/swap`
pub(crate) async fn swap(
    State(state): State<WebState>,
    Path((part, serial)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let first = component_ref(&part, &serial)?;
    let fields = &submitted.fields;
    let read = read_swap(&state, fields, first.clone()).await?;
    answered(&state, &submitted, &first, ("swap", &dated(fields, read))).await
}
