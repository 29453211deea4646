//! Trains, and the cut-outs in force.

use super::body::{Asked, Nothing};
use super::decided::DecisionBody;
use super::fields::named;
use super::problem::Problem;
use crate::as_at::{AsAtParams, AsAtQuery};
use crate::failure::Failure;
use crate::page::decision::link::QuestionLink;
use crate::page::decision::then::answered_then;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::configuration::car::{Train, Vehicle};
use domain::identity::TrainId;
use domain::ledger::dossier::{Documents, Formed, IsolationRecord};
use domain::time::Day;
use serde::Serialize;
use store::read::board::BOARD_MAX;
use store::read::formations::CarInTrain;
use store::read::trains::TRAINS_MAX;
use utoipa::ToSchema;

/// The cut-outs in force.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct IsolationList {
    /// The cut-outs, oldest first.
    isolations: Vec<IsolationBody>,
    /// Whether there are more than are listed here.
    more: bool,
}

/// A cut-out in force.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct IsolationBody {
    /// The entry that recorded it.
    entry: i64,
    /// The car.
    car: String,
    /// The position.
    position: String,
    /// Its state, such as `closed_vented`.
    #[schema(example = "closed_vented")]
    state: &'static str,
    /// Why it was closed or how it was found.
    cause: String,
    /// Since when it is in that state.
    #[schema(format = DateTime)]
    since: String,
    /// Since when it is cut out without a break, in that state or in others before it.
    #[schema(format = DateTime)]
    cut_out_since: String,
    /// The last time it was seen in its normal state, where nobody saw it change.
    #[schema(format = DateTime)]
    not_before: Option<String>,
    /// The car's unit.
    unit: Option<String>,
    /// The train that the car runs in.
    train: Option<String>,
}

impl IsolationBody {
    fn new(record: &IsolationRecord, unit: Option<String>, train: Option<String>) -> Self {
        let cut_out = &record.cut_out;
        Self {
            entry: record.id.0,
            car: cut_out.at.car.to_string(),
            position: cut_out.at.position.to_string(),
            state: cut_out.state.name(),
            cause: cut_out.cause.clone(),
            since: record.since.to_string(),
            cut_out_since: record.first.to_string(),
            not_before: cut_out.not_before.map(|at| at.to_string()),
            unit,
            train,
        }
    }
}

/// The cut-outs in force now, oldest first, at most 2,000. Those of a past time are told with a car
/// or a position.
#[utoipa::path(
    get,
    path = "/api/v1/isolations",
    operation_id = "listIsolations",
    tag = "trains",
    responses(
        (status = 200, body = IsolationList, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    ),
)]
pub(crate) async fn isolations(
    State(state): State<WebState>,
    Asked(Nothing {}): Asked<Nothing>,
) -> Result<Json<IsolationList>, Problem> {
    let board = state.store.view().await?.isolations_in_force().await?;
    let isolations = board.iter().take(BOARD_MAX).map(|in_force| {
        let unit = in_force.unit.as_ref().map(ToString::to_string);
        let train = in_force.train.as_ref().map(ToString::to_string);
        IsolationBody::new(&in_force.isolation, unit, train)
    });
    Ok(Json(IsolationList {
        isolations: isolations.collect(),
        more: board.len() > BOARD_MAX,
    }))
}

/// All trains.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TrainList {
    /// The trains, by name, at most 500.
    trains: Vec<TrainBody>,
    /// Whether there are more than are listed here.
    more: bool,
}

/// A train.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TrainBody {
    /// Its name.
    id: String,
    /// When it was formed as it is.
    #[schema(format = DateTime)]
    formed_at: String,
    /// The entry that says so.
    formed_by: i64,
    /// Its units and single cars from the first to the last.
    vehicles: Vec<VehicleBody>,
}

/// A unit or a single car in a train.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VehicleBody {
    /// `unit` or `car`.
    kind: &'static str,
    /// Its number.
    number: String,
    /// Which way it stands: `forward` or `reversed`.
    orientation: &'static str,
}

impl From<&Vehicle> for VehicleBody {
    fn from(vehicle: &Vehicle) -> Self {
        let (kind, number, orientation) = match vehicle {
            Vehicle::Unit(unit, orientation) => ("unit", unit.to_string(), orientation),
            Vehicle::Car(car, orientation) => ("car", car.to_string(), orientation),
        };
        Self {
            kind,
            number,
            orientation: orientation.name(),
        }
    }
}

impl From<&Formed<Train>> for TrainBody {
    fn from(train: &Formed<Train>) -> Self {
        let vehicles = train.formation.vehicles.iter();
        Self {
            id: train.formation.id.to_string(),
            formed_at: train.formed_at.to_string(),
            formed_by: train.by.0,
            vehicles: vehicles.map(VehicleBody::from).collect(),
        }
    }
}

/// Trains by name as they are formed now, or were at a time: the first 500, and whether there are more.
#[utoipa::path(
    get,
    path = "/api/v1/trains",
    operation_id = "listTrains",
    tag = "trains",
    params(AsAtParams),
    responses(
        (status = 200, body = TrainList, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    ),
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(times): Asked<AsAtParams>,
) -> Result<Json<TrainList>, Problem> {
    let speaks = times.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let (trains, more): (Vec<Formed<Train>>, bool) = match speaks.then() {
        None => {
            let trains = view.trains().await?;
            let more = TRAINS_MAX < trains.len();
            (trains, more)
        }
        Some(as_at) => {
            let told = view.trains_told(as_at).await?;
            let trains = told.trains.into_iter().map(|one| one.train);
            (trains.collect(), 0 < told.more)
        }
    };
    let shown = trains.iter().take(TRAINS_MAX);
    Ok(Json(TrainList {
        trains: shown.map(TrainBody::from).collect(),
        more,
    }))
}

/// A train with its cars.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TrainDetail {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The train as it was formed then.
    train: TrainBody,
    /// Trains formed later that cars of it are in, or were in by then: these run there.
    formed_later: Vec<String>,
    /// Its cars from the first to the last, units as they were formed then.
    cars: Vec<CarInTrainBody>,
    /// Of a past time: what is found about it as at then, by the rules of then and with what is usual
    /// assumed. It is no decision. Of now null: that is `/api/v1/decision`.
    found: Option<DecisionBody>,
}

/// A car in a train.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarInTrainBody {
    /// Its number.
    number: String,
    /// Which way it stands in the train: `forward` has end 1 in front.
    orientation: &'static str,
    /// Its type.
    car_type: String,
    /// The baseline revision in force for it.
    revision: String,
    /// The cut-outs in force on it.
    isolations: Vec<IsolationBody>,
}

impl CarInTrainBody {
    fn new(car: &CarInTrain, train: &TrainId, (documents, on): (&Documents, Day)) -> Self {
        let unit = car.record.unit.as_ref().map(|unit| unit.unit.to_string());
        let isolations = car.isolations.iter();
        Self {
            number: car.place.car.to_string(),
            orientation: car.place.orientation.name(),
            car_type: car.record.car.car_type.to_string(),
            revision: documents.revision(&car.record.car, on).to_string(),
            isolations: isolations
                .map(|record| IsolationBody::new(record, unit.clone(), Some(train.to_string())))
                .collect(),
        }
    }
}

/// A train with its cars in order and the cut-outs in force on them, now or as at a time; of a past time
/// with what is found about it as at then.
#[utoipa::path(
    get,
    path = "/api/v1/trains/{train}",
    operation_id = "showTrain",
    tag = "trains",
    params(("train" = String, Path, description = "The train's name"), AsAtParams),
    responses(
        (status = 200, body = TrainDetail, description = "As asked"),
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
    Path(train): Path<String>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<TrainDetail>, Problem> {
    let id: TrainId = named("train", &train)?;
    let not_found = || Problem::not_found("train", &id);
    let speaks = params.read(&state)?;
    let day = state.zone.day_of(speaks.times.effective);
    let mut view = speaks.view(&state).await?;
    let later;
    let (formed, cars, found) = if let Some(as_at) = speaks.then() {
        let formed = view.train_told(&id, as_at).await?.ok_or_else(not_found)?;
        later = view.formed_later_told(&formed, as_at).await?;
        // All that is asked is assumed.
        let link = QuestionLink::read(String::new(), &[]).map_err(Failure::from)?;
        let link = link.of_times(AsAtQuery {
            at: as_at.effective.to_string(),
            known: as_at.known.to_string(),
        });
        let of = (formed.formation.vehicles.as_slice(), &link);
        let answered = answered_then(&mut view, of, (as_at, day)).await?;
        let found = DecisionBody::new(&answered, &link);
        (formed, answered.cars, Some(found))
    } else {
        let formed = view.train(&id).await?.ok_or_else(not_found)?;
        let cars = view.formation(&formed.formation.vehicles, None).await?;
        later = view.formed_later(&formed).await?;
        (formed, cars.map_err(Failure::from)?, None)
    };
    Ok(Json(TrainDetail {
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
        train: (&formed).into(),
        formed_later: later.iter().map(ToString::to_string).collect(),
        cars: cars
            .iter()
            .map(|car| CarInTrainBody::new(car, &id, (&view.documents, day)))
            .collect(),
        found,
    }))
}
