//! The page of a component.

use super::contents::{self, InsideRow};
use super::due::{self, TaskRow, Where};
use super::forms;
use super::locations::named;
use super::used::{self, Host, UsedRow};
use crate::drawing::life_strip::{Life, LifeStrip};
use crate::entry_form::{EntryForm, ShownRefusal, Tried, left_over};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::show;
use crate::sides::{Sides, of_fitments};
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use domain::configuration::component::ComponentRef;
use domain::configuration::location::{Kept, LocationKind};
use domain::due::facts::MeterFacts;
use domain::ledger::dossier::{ComponentRecord, DoneRecord, Fitment, TestedRecord};
use domain::ledger::standing::MeterStanding;
use domain::people::HOLDS_EVIDENCE;
use domain::time::Zone;
use domain::units::{ByMeter, Meter};
use store::read::View;
use store::read::assemblies::Surroundings;
use store::read::components::ComponentLife;

#[derive(Template)]
#[template(path = "components/component.html")]
pub(crate) struct ComponentPage {
    frame: Frame,
    record: ComponentRecord,
    part_title: String,
    /// Where it is on a car, if it is.
    fitted: Option<Fitment>,
    /// Of which kind the location is where it is kept, where that was told.
    location_kind: Option<LocationKind>,
    /// By how many days it is overdue, if it is.
    overdue: Option<i64>,
    /// What it is and was inside.
    surroundings: Surroundings,
    /// Its own positions and those of what is inside it; none unless it is an assembly.
    inside: Vec<InsideRow>,
    strip: LifeStrip,
    used: Vec<UsedRow>,
    /// What it had run since its overhaul when it came in, as far as that is known.
    since_overhaul: Vec<String>,
    due: Vec<TaskRow>,
    /// Both sides of the entries that moved it.
    sides: Sides,
    /// Newest first.
    fitments: Vec<Fitment>,
    done: Vec<DoneRecord>,
    tests: Vec<TestedRecord>,
    holds: Vec<HoldNote>,
    may_hold: bool,
    forms: Vec<EntryForm>,
    left_over: Option<ShownRefusal>,
    zone: Zone,
}

/// `GET /components/{part}/{serial}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((part, serial)): Path<(String, String)>,
) -> PageResult {
    let component = component_ref(&part, &serial)?;
    page(&component_page(&state, &signed_in, &component, None).await?)
}

/// A component as its address names it.
pub(super) fn component_ref(part: &str, serial: &str) -> Result<ComponentRef, Failure> {
    Ok(ComponentRef {
        part: part.parse()?,
        serial: serial.parse()?,
    })
}

/// The page of a component, with a form that was tried and not recorded. Seven statements, one
/// for what is inside an assembly, and one where it was moved from position to position.
pub(super) async fn component_page(
    state: &WebState,
    signed_in: &SignedIn,
    component: &ComponentRef,
    tried: Option<&Tried>,
) -> Result<ComponentPage, Failure> {
    let mut view = state.store.view().await?;
    let life = view.component(component).await?;
    let life = life.ok_or_else(|| Failure::NotFound {
        what: "component",
        name: component.to_string(),
    })?;
    let open = life.fitments.iter().find(|fitment| fitment.end.is_none());
    let fitted = open.cloned();
    let standings = host_meters(&mut view, fitted.as_ref()).await?;
    let (used, due) = answers(&life, (&view, &standings), fitted.as_ref(), state);
    let frame = Frame::new(state, signed_in);
    let locations = named(&view.documents, state.now());
    let entries = of_fitments(&life.fitments, &life.surroundings.history);
    let sides = Sides(view.sides(&entries).await?);
    let inside = contents::rows(&view.documents, component, (&life.contents, state.today()));
    let holds = holds(&view, component, fitted.as_ref(), &state.zone);
    let forms = forms::Shown {
        held: !holds.is_empty(),
        record: &life.record,
        on_car: fitted.is_some(),
        within: life.surroundings.above.first(),
        vacant: &contents::vacant(&view.documents, component, &life.contents),
        tasks: view.documents.tasks_of_part(&component.part),
        locations: &locations,
    }
    .forms(&frame, tried);
    let strip = strip(&life, state);
    let since_overhaul = since_overhaul(&life.record);
    let kept = life.record.kept.as_ref();
    let (location_kind, overdue) = kept.map_or((None, None), |kept| location(&view, kept, state));
    let ComponentLife {
        record,
        mut fitments,
        surroundings,
        mut done,
        tests,
        ..
    } = life;
    fitments.reverse();
    done.reverse();
    Ok(ComponentPage {
        left_over: left_over(tried, &forms),
        may_hold: frame.holds(HOLDS_EVIDENCE),
        frame,
        record,
        part_title: part_title(&view, component),
        fitted,
        location_kind,
        overdue,
        surroundings,
        inside,
        strip,
        used,
        since_overhaul,
        sides,
        due,
        fitments,
        done,
        tests,
        holds,
        forms,
        zone: state.zone.clone(),
    })
}

fn holds(
    view: &View,
    component: &ComponentRef,
    fitted: Option<&Fitment>,
    zone: &Zone,
) -> Vec<HoldNote> {
    let on = fitted.map(|fitment| &fitment.at.car);
    HoldNote::all(view.holds.of_component(component, on), zone)
}

/// Of which kind a location is, where that was told, and by how many days what is there is
/// overdue, if it is.
fn location(view: &View, kept: &Kept, state: &WebState) -> (Option<LocationKind>, Option<i64>) {
    let kind = view.documents.location_kind(&kept.location, state.now());
    (kind.map(|(kind, _)| kind), kept.overdue(state.today()))
}

fn strip(life: &ComponentLife, state: &WebState) -> LifeStrip {
    Life {
        record: &life.record,
        fitments: &life.fitments,
        done: &life.done,
        now: state.now(),
        zone: &state.zone,
    }
    .strip()
}

fn part_title(view: &View, component: &ComponentRef) -> String {
    let part = view.documents.part(&component.part);
    part.map_or_else(String::new, |part| part.title.clone())
}

/// What a component had run since its overhaul when it came in, as far as that is known.
fn since_overhaul(record: &ComponentRecord) -> Vec<String> {
    let amounts = record.since_overhaul.by_meter();
    let known = Meter::ALL
        .iter()
        .filter_map(|&meter| Some(show::exact(amounts[meter]?, meter)));
    known.collect()
}

impl ComponentPage {
    /// How many of its positions are vacant.
    fn vacant(&self) -> usize {
        self.inside.iter().filter(|row| row.holds.is_err()).count()
    }
}

/// Where the meters of the car stand that a component is on.
async fn host_meters(
    view: &mut View,
    fitted: Option<&Fitment>,
) -> Result<Vec<(Meter, MeterStanding)>, Failure> {
    let Some(fitment) = fitted else {
        return Ok(Vec::new());
    };
    Ok(view.meters(&fitment.at.car).await?)
}

/// What the component has run, and when its work is due: the core's answers.
fn answers(
    life: &ComponentLife,
    (view, standings): (&View, &[(Meter, MeterStanding)]),
    fitted: Option<&Fitment>,
    state: &WebState,
) -> (Vec<UsedRow>, Vec<TaskRow>) {
    let history = life.history();
    let host = fitted.map(|fitment| Host {
        standings,
        since: fitment.from,
    });
    let used = used::rows(&history, host.as_ref(), (state.now(), &state.zone));
    let facts: ByMeter<MeterFacts> = used::facts(standings, &state.zone);
    let worked = history.due_worked(&view.documents, &facts, &state.zone);
    let place = if fitted.is_some() {
        Where::OnCar(standings)
    } else {
        Where::InStore
    };
    (used, due::rows(worked, place, state.today()))
}
