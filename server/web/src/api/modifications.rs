//! Modifications and how far they have come.

use super::components::ComponentBody;
use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::{AsAtParams, AsAtQuery};
use crate::campaigns::{Embodied, how_far};
use crate::page::modifications::one::{Come, issued};
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, Query, State};
use domain::configuration::component::Subject;
use domain::configuration::modification::Modification;
use domain::due::visit::Visit;
use domain::identity::ModificationNumber;
use domain::time::Day;
use serde::{Deserialize, Serialize};
use store::read::campaigns::Campaign;
use store::read::modifications::{Left, UnitProgress};
use utoipa::{IntoParams, ToSchema};

/// All modifications.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ModificationList {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The modifications, by number.
    modifications: Vec<ModificationBody>,
}

/// A campaign.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ModificationBody {
    /// Its number.
    number: String,
    /// What is done.
    title: String,
    /// In what, in words.
    scope: String,
    /// The last day by which it is to be embodied everywhere.
    #[schema(format = Date)]
    by: String,
    /// The instruction that tells how it is done.
    source: String,
    /// Whether it is embodied in everything in the register that it is for; none where nothing is in
    /// its scope, and of a past time told with the one modification alone.
    embodied_everywhere: Option<bool>,
    /// Whether nothing in the register is in its scope; of a past time the same.
    nothing_in_scope: Option<bool>,
    /// Whether its last day is over and something in its scope is left; of a past time the same.
    overdue: Option<bool>,
}

impl ModificationBody {
    /// `come` says how far it has come, where that is known.
    fn new(modification: &Modification, come: Option<Embodied>, on: Day) -> Self {
        let somewhere = come.filter(|come| *come != Embodied::NothingInScope);
        let is_left = |come: Embodied| come == Embodied::NotYet;
        Self {
            embodied_everywhere: somewhere.map(|come| come == Embodied::Everywhere),
            nothing_in_scope: come.map(|come| come == Embodied::NothingInScope),
            overdue: come.map(|come| is_left(come) && modification.by < on),
            number: modification.number.to_string(),
            title: modification.title.clone(),
            scope: modification.scope.to_string(),
            by: modification.by.to_string(),
            source: modification.source.clone(),
        }
    }
}

/// A modification that is still to be embodied in something.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CampaignBody {
    /// Its number.
    modification: String,
    /// What is done.
    title: String,
    /// The last day by which it is to be embodied everywhere.
    #[schema(format = Date)]
    by: String,
    /// Whether that day is over.
    overdue: bool,
    /// In how many components and cars it is left there; counted of a car or a unit alone.
    left: Option<usize>,
}

impl CampaignBody {
    pub(crate) fn new(one: &Campaign, on: Day) -> Self {
        let document = &one.issued.document;
        Self {
            modification: document.number.to_string(),
            title: document.title.clone(),
            by: document.by.to_string(),
            overdue: document.by < on,
            left: one.left,
        }
    }
}

/// How far a modification has come.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ModificationDetail {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The modification.
    modification: ModificationBody,
    /// By unit; without one, cars in no unit and what is on no car.
    units: Vec<ModificationUnitBody>,
    /// What is left, in the order in which it came into the register.
    left: Vec<LeftBody>,
    /// Where the next page of what is left begins, if there is one.
    next: Option<i64>,
}

/// How far a modification has come in a unit.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ModificationUnitBody {
    /// The unit.
    unit: Option<String>,
    /// How many are in the scope.
    in_scope: i64,
    /// In how many it is embodied.
    embodied: i64,
}

impl From<&UnitProgress> for ModificationUnitBody {
    fn from(progress: &UnitProgress) -> Self {
        Self {
            unit: progress.unit.as_ref().map(ToString::to_string),
            in_scope: progress.all,
            embodied: progress.done,
        }
    }
}

/// Something in which it is still to be embodied.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LeftBody {
    /// The component; none for a car as a whole.
    component: Option<ComponentBody>,
    /// Its modification state; none where it is not known.
    modification_state: Option<String>,
    /// The car it is on, or is.
    car: Option<String>,
    /// That car's unit.
    unit: Option<String>,
    /// Where it is fitted.
    position: Option<String>,
    /// Where it is while not fitted.
    location: Option<String>,
    /// The day on which that work on that car was due which is overdue the longest; of a past time
    /// not told here.
    #[schema(format = Date)]
    overdue: Option<String>,
    /// The day on which other work on that car is due next; of a past time not told here.
    #[schema(format = Date)]
    next_due: Option<String>,
    /// The next visit of that unit during which it is to be embodied.
    visit: Option<ThatVisitBody>,
}

/// A visit that will do it.
#[derive(Debug, Serialize, ToSchema)]
struct ThatVisitBody {
    /// Its number.
    number: String,
    /// Where.
    depot: String,
    /// The day on which it comes.
    #[schema(format = Date)]
    from: String,
}

impl From<&Visit> for ThatVisitBody {
    fn from(visit: &Visit) -> Self {
        Self {
            number: visit.number.to_string(),
            depot: visit.depot.to_string(),
            from: visit.from.to_string(),
        }
    }
}

impl From<&Left> for LeftBody {
    fn from(left: &Left) -> Self {
        Self {
            component: match &left.subject {
                Subject::Component(component) => Some(component.into()),
                Subject::Car(_) => None,
            },
            modification_state: left.state.as_ref().map(ToString::to_string),
            car: left.car.as_ref().map(ToString::to_string),
            unit: left.unit.as_ref().map(ToString::to_string),
            position: left.position.as_ref().map(ToString::to_string),
            location: left.location.as_ref().map(ToString::to_string),
            overdue: left.overdue.map(|on| on.to_string()),
            next_due: left.next_due.map(|on| on.to_string()),
            visit: left.visit.as_ref().map(ThatVisitBody::from),
        }
    }
}

/// All modifications that had been issued, as far as the register knew of them.
#[utoipa::path(
    get,
    path = "/api/v1/modifications",
    operation_id = "listModifications",
    tag = "cars",
    params(AsAtParams),
    responses(
        (status = 200, body = ModificationList, description = "As asked"),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<ModificationList>, Problem> {
    let speaks = params.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let far = how_far(&mut view, &speaks).await?;
    let issued = view.documents.modifications_issued(speaks.times.effective);
    let modifications = issued.map(|issued| {
        let come = far.as_ref().map(|far| far.of(&issued.document.number));
        ModificationBody::new(&issued.document, come, state.today())
    });
    Ok(Json(ModificationList {
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
        modifications: modifications.collect(),
    }))
}

/// Where the page of what is left begins, and of which times it is told; now where left out.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct LeftParams {
    /// `next` of the page before.
    after: Option<i64>,
    /// As it was in the world at this time, with its offset from UTC.
    #[serde(default)]
    #[param(format = DateTime)]
    at: String,
    /// As the register knew it at this time, with its offset from UTC.
    #[serde(default)]
    #[param(format = DateTime)]
    known: String,
}

/// How far a modification has come, and what is left of it.
#[utoipa::path(
    get,
    path = "/api/v1/modifications/{number}",
    operation_id = "showModification",
    tag = "cars",
    params(("number" = String, Path, description = "Its number"), LeftParams),
    responses(
        (status = 200, body = ModificationDetail, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register, or not then"
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
    Path(number): Path<String>,
    Query(params): Query<LeftParams>,
) -> Result<Json<ModificationDetail>, Problem> {
    let number: ModificationNumber = named("number", &number)?;
    let LeftParams { after, at, known } = params;
    let speaks = AsAtQuery { at, known }.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let known = issued(&view.documents, (&number, speaks.times.effective))?;
    let of = (after, &speaks, &state);
    let come = Come::read(&mut view, &known.document, of).await?;
    let units = come.progress.iter();
    let (all, done) = units.fold((0, 0), |(all, done), unit| {
        (all + unit.all, done + unit.done)
    });
    let on = state.zone.day_of(speaks.times.effective);
    let units = come.progress.iter();
    Ok(Json(ModificationDetail {
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
        next: come.next,
        modification: ModificationBody::new(
            &known.document,
            Some(Embodied::counted(all, done)),
            on,
        ),
        units: units.map(ModificationUnitBody::from).collect(),
        left: come.left.iter().map(LeftBody::from).collect(),
    }))
}
