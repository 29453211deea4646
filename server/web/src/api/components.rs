//! Components: their life, what they have run, and what is due on them.

use super::amount::AmountBody;
use super::changed::DoubtBody;
use super::component_history::{
    ComponentTestBody, DoneBody, EstimatedBody, EstimatedLimitBody, FitmentBody,
};
use super::due::{DueBody, bodies};
use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::{AsAtParams, Speaks};
use crate::not_there::no_component;
use crate::page::components::component::holds;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::configuration::component::ComponentRef;
use domain::configuration::plate::PlateRecord;
use domain::ledger::dossier::{Documents, MeterValues, OwnFitment};
use domain::time::{Instant, Zone};
use domain::units::Meter;
use serde::Serialize;
use store::read::assemblies::Content;
use store::read::cars::Standings;
use store::read::components::ComponentLife;
use store::read::{AsAt, View};
use utoipa::ToSchema;

/// A component's identity.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub(crate) struct ComponentBody {
    /// Its part number.
    part: String,
    /// Its serial number, unique with the part number.
    serial: String,
}

impl From<&ComponentRef> for ComponentBody {
    fn from(component: &ComponentRef) -> Self {
        Self {
            part: component.part.to_string(),
            serial: component.serial.to_string(),
        }
    }
}

/// A component with its life.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ComponentDetail {
    /// Which one.
    component: ComponentBody,
    /// What its part is.
    title: String,
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// Its condition.
    condition: &'static str,
    /// Its modification state; none where it is not known, or its part has none.
    modification_state: Option<String>,
    /// The lot that its maker made it in, as its receipt says; none where that is not known.
    batch: Option<String>,
    /// The entries that set the evidence holds in force then on it, on what it was inside, or on its
    /// car.
    held_by: Vec<i64>,
    /// Of now only: why it is to be judged again, if it is.
    judge_again: Vec<DoubtBody>,
    /// Where it is while not fitted.
    location: Option<String>,
    /// Of which kind that location is: `store`, `workshop`, `contractor`, `in_transit`,
    /// `quarantine` or `scrapped`; none where that was not told.
    location_kind: Option<&'static str>,
    /// Where it is bound for, if it is in transit.
    bound_for: Option<String>,
    /// The day on which it is expected, if it is away and that was told.
    #[schema(format = Date)]
    expected_on: Option<String>,
    /// The assemblies it is inside, from the innermost.
    inside: Vec<InnerPlaceBody>,
    /// What is inside it, on all levels.
    contents: Vec<ContentBody>,
    /// What its plate says now.
    plate: String,
    /// Of now only: components of its part with a serial number that differs only in case, blanks or hyphens:
    /// it may be in the register twice.
    alike: Vec<ComponentBody>,
    /// The plates it bore after the one under which it came in, by their time.
    plates: Vec<PlateBody>,
    /// When it came into the register.
    #[schema(format = DateTime)]
    received_at: String,
    /// The entry that brought it in.
    received_by: i64,
    /// The day it was made.
    #[schema(format = Date)]
    manufactured_on: Option<String>,
    /// The day of the overhaul before it came in.
    #[schema(format = Date)]
    overhauled_on: Option<String>,
    /// What it has run, meter by meter.
    usage: Vec<UsageBody>,
    /// Where it was on cars, by itself or inside assemblies, by the beginning.
    fitments: Vec<FitmentBody>,
    /// The work done on it, by its time.
    done: Vec<DoneBody>,
    /// Its newest test records, newest first.
    tests: Vec<ComponentTestBody>,
    /// The work due on it, by date; what has no date comes last.
    due: Vec<DueBody>,
    /// The limits of that work that rest on use which no reading tells.
    due_estimated: Vec<EstimatedLimitBody>,
}

/// A plate that a component bears or bore.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PlateBody {
    /// The serial number on it.
    plate: String,
    /// Since when.
    #[schema(format = DateTime)]
    since: String,
    /// `replaced`, or `misread` where it was there before.
    cause: &'static str,
    /// The entry that says so.
    recorded_by: i64,
}

impl From<&PlateRecord> for PlateBody {
    fn from(record: &PlateRecord) -> Self {
        Self {
            plate: record.plate.to_string(),
            since: record.since.to_string(),
            cause: record.cause.name(),
            recorded_by: record.by.0,
        }
    }
}

/// What a component has run by one meter.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct UsageBody {
    /// The meter.
    #[schema(example = "odometer")]
    meter: &'static str,
    /// Counted since it came in, up to the last reading of the car it is on; none where unknown.
    counted: Option<AmountBody>,
    /// In its whole life, up to the same; none where unknown.
    total: Option<AmountBody>,
    /// The number of the entry since which the total is unknown, where it is.
    unknown_since: Option<i64>,
    /// What of it no reading tells: where there is any, the amounts are estimated.
    estimated: Vec<EstimatedBody>,
}

/// A position of an assembly.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct InnerPlaceBody {
    /// The assembly.
    host: ComponentBody,
    /// The code of the position within it.
    position: String,
    /// Since when what is there is there.
    #[schema(format = DateTime)]
    from: String,
    /// The entry that put it there.
    fitted_by: i64,
}

/// A component inside an assembly.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ContentBody {
    /// Which one.
    component: ComponentBody,
    /// Where it is.
    at: InnerPlaceBody,
    /// Its condition.
    condition: &'static str,
}

impl InnerPlaceBody {
    fn new(own: &OwnFitment) -> Option<Self> {
        Some(Self {
            host: own.at.assembly()?.into(),
            position: own.at.position.to_string(),
            from: own.from.to_string(),
            fitted_by: own.fitted_by.0,
        })
    }
}

impl ContentBody {
    fn new(content: &Content) -> Option<Self> {
        Some(Self {
            component: (&content.fitment.component).into(),
            at: InnerPlaceBody::new(&content.fitment)?,
            condition: content.condition.name(),
        })
    }
}

/// A component with its life, what it has run and what is due on it.
#[utoipa::path(
    get,
    path = "/api/v1/components/{part}/{serial}",
    operation_id = "showComponent",
    tag = "components",
    params(
        ("part" = String, Path, description = "The part number, percent-encoded"),
        ("serial" = String, Path, description = "The serial number, percent-encoded"),
        AsAtParams,
    ),
    responses(
        (status = 200, body = ComponentDetail, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Path((part, serial)): Path<(String, String)>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<ComponentDetail>, Problem> {
    let component = ComponentRef {
        part: named("part", &part)?,
        serial: named("serial", &serial)?,
    };
    let speaks = params.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let (life, standings, due) = told(&mut view, &component, (&speaks, &state)).await?;
    let usage = usage(&life, &standings, (speaks.times.effective, &state.zone));
    let part = view.documents.part(&component.part);
    let title = part.map_or_else(String::new, |part| part.title.clone());
    let open = life.fitments.iter().find(|fitment| fitment.end.is_none());
    let on = open.map(|fitment| &fitment.at.car);
    let above = &life.surroundings;
    let holds = holds(&mut view, (&component, above), (on, &speaks)).await?;
    let held_by = holds.iter().map(|hold| hold.id.0).collect();
    let again = DoubtBody::of(&mut view, &component, &speaks).await?;
    let at = speaks.times.effective;
    let location = life.record.location();
    let kind = location.and_then(|name| view.documents.location_kind(name, at));
    let kind = kind.map(|(kind, _)| kind.name());
    let of = ((title, kind), speaks.times);
    Ok(Json(detail(&life, of, (usage, held_by, again), due)))
}

/// The work due on a component, and its limits that rest on an estimate.
type DueOn = (Vec<DueBody>, Vec<EstimatedLimitBody>);

/// What is told of a component, where the meters of its car stand, and its due work.
async fn told(
    view: &mut View,
    component: &ComponentRef,
    (speaks, state): (&Speaks, &WebState),
) -> Result<(ComponentLife, Standings, DueOn), Problem> {
    let limits = |life: &ComponentLife, documents: &Documents| {
        let tasks = documents.tasks_of_part(&component.part);
        EstimatedLimitBody::of(&life.history(), tasks, speaks.times.effective)
    };
    if let Some(as_at) = speaks.then() {
        let then = view.life_then(component, as_at).await?;
        let Some(then) = then else {
            return Err(no_component(view, component).await?.into());
        };
        let due = bodies(&then.due, &then.documents, state);
        let estimated = limits(&then.life, &then.documents);
        return Ok((then.life, then.standings, (due, estimated)));
    }
    let Some(life) = view.component(component).await? else {
        return Err(no_component(view, component).await?.into());
    };
    let open = life.fitments.iter().find(|fitment| fitment.end.is_none());
    let standings = match open {
        Some(fitment) => view.meters(&fitment.at.car).await?,
        None => Standings::new(),
    };
    let due = view.due_of_component(life.record.id, state.today()).await?;
    let due = bodies(&due, &view.documents, state);
    let estimated = limits(&life, &view.documents);
    Ok((life, standings, (due, estimated)))
}

fn detail(
    life: &ComponentLife,
    ((title, location_kind), times): ((String, Option<&'static str>), AsAt),
    (usage, held_by, judge_again): (Vec<UsageBody>, Vec<i64>, Vec<DoubtBody>),
    (due, due_estimated): DueOn,
) -> ComponentDetail {
    let record = &life.record;
    let sent = record.kept.as_ref().map(|kept| &kept.sent);
    ComponentDetail {
        at: times.effective.to_string(),
        known: times.known.to_string(),
        component: (&record.component).into(),
        title,
        inside: life
            .surroundings
            .above
            .iter()
            .filter_map(InnerPlaceBody::new)
            .collect(),
        contents: life.contents.iter().filter_map(ContentBody::new).collect(),
        condition: record.condition.name(),
        modification_state: record.modification.as_ref().map(ToString::to_string),
        batch: record.batch.as_ref().map(ToString::to_string),
        held_by,
        judge_again,
        location: record.location().map(ToString::to_string),
        location_kind,
        bound_for: sent.and_then(|sent| Some(sent.bound_for.as_ref()?.to_string())),
        expected_on: sent.and_then(|sent| Some(sent.expected_on?.to_string())),
        alike: life.alike.iter().map(ComponentBody::from).collect(),
        plate: record.plate().to_string(),
        plates: record.plates.iter().map(PlateBody::from).collect(),
        received_at: record.received_at.to_string(),
        received_by: record.id.0,
        manufactured_on: record.manufactured_on.map(|day| day.to_string()),
        overhauled_on: record.overhauled_on.map(|day| day.to_string()),
        usage,
        fitments: life.fitments.iter().map(FitmentBody::from).collect(),
        done: life.done.iter().map(DoneBody::from).collect(),
        tests: life.tests.iter().map(ComponentTestBody::from).collect(),
        due,
        due_estimated,
    }
}

/// What a component has run, given where the meters of its car stand.
fn usage(
    life: &ComponentLife,
    standings: &Standings,
    (at, zone): (Instant, &Zone),
) -> Vec<UsageBody> {
    let mut host = MeterValues::default();
    for (meter, standing) in standings {
        host[*meter] = Some(standing.last.usage);
    }
    let history = life.history();
    let used = |meter: &Meter| {
        let used = history.used(*meter, (&host, at), zone);
        let amount = |amount| AmountBody::new(amount, *meter);
        UsageBody {
            meter: meter.name(),
            counted: used.counted.ok().map(|counted| amount(counted.value)),
            unknown_since: used.unknown_since.map(|by| by.0),
            total: used.total.ok().map(amount),
            estimated: used.estimated.iter().map(EstimatedBody::from).collect(),
        }
    };
    Meter::ALL.iter().map(used).collect()
}
