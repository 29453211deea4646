//! Every item of a batch, wherever it is.

use super::components::ComponentBody;
use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::AsAtQuery;
use crate::page::components::batch::Sought;
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use domain::configuration::component::ComponentRef;
use domain::configuration::host::{Host, HostPosition};
use domain::ledger::dossier::ComponentRecord;
use serde::{Deserialize, Serialize};
use store::read::stock::COMPONENTS_PAGE;
use store::read::whereabouts::Whereabouts;
use utoipa::{IntoParams, ToSchema};

/// Which batch, of which times it is told, and where a page begins.
#[derive(Debug, Default, Deserialize, IntoParams)]
#[serde(default, deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct ItemsParams {
    /// The batch, whatever case, blanks and hyphens it is written with. Needed.
    #[param(example = "L24-07")]
    batch: String,
    /// The part; any where left out.
    part: String,
    /// As it was in the world at this time, with its offset from UTC; now where left out.
    #[param(format = DateTime)]
    at: String,
    /// As the register knew it at this time, with its offset from UTC; now where left out.
    #[param(format = DateTime)]
    known: String,
    /// The part of the item after which a page begins.
    after_part: String,
    /// The serial number of the item after which it begins.
    after_serial: String,
}

/// A page of the items of a batch. What was received without a batch is not among them.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ItemList {
    /// The time in the world that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// As the register knew it at this time.
    #[schema(format = DateTime)]
    known: String,
    /// By part and serial number.
    items: Vec<ItemBody>,
    /// The item after which the next page begins, if there is one: to be given as `after_part` and
    /// `after_serial`.
    next: Option<ComponentBody>,
}

/// An item of a batch.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ItemBody {
    /// Which component it is.
    component: ComponentBody,
    /// The batch, as its receipt writes it.
    batch: Option<String>,
    /// Its condition.
    condition: &'static str,
    /// Where it is while not fitted.
    location: Option<String>,
    /// Of now only: where it is fitted.
    place: Option<ItemPlaceBody>,
    /// Since when it is where it is.
    #[schema(format = DateTime)]
    since: String,
}

/// Where an item is fitted: on a car, or in an assembly that is on none.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ItemPlaceBody {
    /// The car.
    car: Option<String>,
    /// The assembly.
    assembly: Option<ComponentBody>,
    /// The code of the position.
    position: String,
}

impl From<&HostPosition> for ItemPlaceBody {
    fn from(place: &HostPosition) -> Self {
        let (car, assembly) = match &place.host {
            Host::Car(car) => (Some(car.to_string()), None),
            Host::Assembly(assembly) => (None, Some(assembly.into())),
        };
        Self {
            car,
            assembly,
            position: place.position.to_string(),
        }
    }
}

impl ItemBody {
    fn new(item: &ComponentRecord, places: &Whereabouts) -> Self {
        Self {
            component: (&item.component).into(),
            batch: item.batch.as_ref().map(ToString::to_string),
            condition: item.condition.name(),
            location: item.location().map(ToString::to_string),
            place: places.get(&item.id).map(ItemPlaceBody::from),
            since: item.since.to_string(),
        }
    }
}

/// Every item of a batch, in stores, in assemblies and on cars.
#[utoipa::path(
    get,
    path = "/api/v1/components",
    operation_id = "listItemsOfBatch",
    tag = "components",
    params(ItemsParams),
    responses(
        (status = 200, body = ItemList, description = "As asked"),
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
    Asked(params): Asked<ItemsParams>,
) -> Result<Json<ItemList>, Problem> {
    let after = match params.after_part.as_str() {
        "" => None,
        part => Some(ComponentRef {
            part: named("after_part", part)?,
            serial: named("after_serial", &params.after_serial)?,
        }),
    };
    let times = AsAtQuery {
        at: params.at,
        known: params.known,
    };
    let speaks = times.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let sought = Sought::read(&view, (&params.batch, &params.part), speaks.then())?;
    let asked = (after.as_ref(), COMPONENTS_PAGE);
    let mut items = sought.items(&mut view, asked).await?;
    let more = COMPONENTS_PAGE < items.len();
    items.truncate(COMPONENTS_PAGE);
    let places = match speaks.then() {
        Some(_) => Whereabouts::new(),
        None => view.whereabouts(&items).await?,
    };
    let last = items.last().filter(|_| more);
    Ok(Json(ItemList {
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
        next: last.map(|last| (&last.component).into()),
        items: items
            .iter()
            .map(|item| ItemBody::new(item, &places))
            .collect(),
    }))
}
