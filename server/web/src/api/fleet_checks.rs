//! Checks of the fleet with the answers of their cars, now or as at a time.

use super::fields::numbered;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::{AsAtParams, AsAtQuery};
use crate::failure::Failure;
use crate::page::fleet_checks::list::told;
use crate::page::fleet_checks::one::Told;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::identity::CarNumber;
use domain::ledger::entry::Seq;
use serde::{Deserialize, Serialize};
use store::read::fleet_checks::{CHECK_CARS_PAGE, Carries, CheckCar, CheckNow, ListedCheck};
use utoipa::{IntoParams, ToSchema};

/// A check of the fleet: its cars are looked at and answered for until a day.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FleetCheckBody {
    /// The entry that opened it, by which a car answers.
    number: i64,
    /// What it is about.
    title: String,
    /// What is to be looked at and done.
    instruction: String,
    /// How the cars were found.
    looked_for: String,
    /// The last day for an answer.
    #[schema(format = Date)]
    answer_by: String,
    /// Who opened it.
    opened_by: String,
    /// When.
    #[schema(format = DateTime)]
    opened_at: String,
    /// How many cars must answer.
    cars: u32,
    /// How many have not.
    unanswered: u32,
    /// How many answered, last, that they are defective.
    defective: u32,
    /// When the last car answered.
    #[schema(format = DateTime)]
    closed_at: Option<String>,
}

impl From<&ListedCheck> for FleetCheckBody {
    fn from(listed: &ListedCheck) -> Self {
        let record = &listed.record;
        Self {
            number: record.id.0,
            title: record.check.title.clone(),
            instruction: record.check.instruction.clone(),
            looked_for: record.check.looked_for.clone(),
            answer_by: record.check.answer_by.to_string(),
            opened_by: record.by.to_string(),
            opened_at: record.opened_at.to_string(),
            cars: listed.cars,
            unanswered: record.unanswered,
            defective: listed.defective,
            closed_at: record.closed.map(|(at, _)| at.to_string()),
        }
    }
}

/// A car of a check.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CheckCarBody {
    /// Which.
    car: String,
    /// Its unit.
    unit: Option<String>,
    /// Its depot now.
    depot: String,
    /// Why it is asked, as the register finds it: `carries_it`, `cannot_be_told`, or `not_found` where
    /// it carries it no more or never did; none where the check does not say what it looks for.
    by_the_register: Option<&'static str>,
    /// What was found: sound, defective or `not_carried`; none where it has not answered.
    answer: Option<String>,
    /// What was seen and done.
    remark: Option<String>,
    /// Who answered.
    answered_by: Option<String>,
    /// When it was looked at.
    #[schema(format = DateTime)]
    looked_at: Option<String>,
    /// The entry of the answer.
    entry: Option<i64>,
}

impl CheckCarBody {
    fn new(row: &CheckCar, now: Option<&CheckNow>) -> Self {
        let answer = row.answer.as_ref();
        Self {
            car: row.car.to_string(),
            unit: row.unit.as_ref().map(ToString::to_string),
            depot: row.depot.to_string(),
            by_the_register: now.map(|now| match now.carrying.get(&row.car) {
                Some(Carries::It) => "carries_it",
                Some(Carries::CannotBeTold) => "cannot_be_told",
                None => "not_found",
            }),
            answer: answer.map(|answer| answer.answer.name().to_owned()),
            remark: answer.map(|answer| answer.remark.clone()),
            answered_by: answer.map(|answer| answer.by.to_string()),
            looked_at: answer.map(|answer| answer.at.to_string()),
            entry: answer.map(|answer| answer.entry.0),
        }
    }
}

/// Cars that were not looked at.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct NotLookedAt {
    /// Those that carry what is looked for.
    carrying: Vec<String>,
    /// Those of which it cannot be told.
    cannot_be_told: Vec<String>,
}

impl NotLookedAt {
    fn of(now: &CheckNow) -> Self {
        let that = |carries: Carries| {
            let cars = now.not_looked_at.iter();
            let cars = cars.filter(|(_, how)| **how == carries);
            cars.map(|(car, _)| car.to_string()).collect()
        };
        Self {
            carrying: that(Carries::It),
            cannot_be_told: that(Carries::CannotBeTold),
        }
    }
}

/// A check with a page of its cars.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FleetCheckDetail {
    /// The check.
    check: FleetCheckBody,
    /// Its cars, by number.
    cars: Vec<CheckCarBody>,
    /// Cars that the check does not ask, or on which it was not when they were answered for; none where
    /// the check does not say what it looks for.
    not_looked_at: Option<NotLookedAt>,
    /// The car after which the next page begins, if there is one.
    next: Option<String>,
}

/// Where a page of cars begins, and of which times it is told.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct AfterCar {
    /// The car after which it begins.
    #[serde(default)]
    after: Option<String>,
    /// As it was in the world at this time, with its offset from UTC.
    #[serde(default)]
    #[param(format = DateTime)]
    at: String,
    /// As the register knew it at this time, with its offset from UTC.
    #[serde(default)]
    #[param(format = DateTime)]
    known: String,
}

/// The checks that are open, now or as at a time, first to be answered first. One is opened, and a car
/// answers, by recording an entry.
#[utoipa::path(
    get,
    path = "/api/v1/fleet-checks",
    operation_id = "listFleetChecks",
    tag = "cars",
    params(AsAtParams),
    responses(
        (status = 200, body = Vec<FleetCheckBody>, description = "As asked"),
        (status = 422, body = Problem, description = "It asks for what is not known")
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(times): Asked<AsAtParams>,
) -> Result<Json<Vec<FleetCheckBody>>, Problem> {
    let speaks = times.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let open = match speaks.then() {
        None => view.fleet_checks_open().await?,
        Some(as_at) => told(&mut view, None, as_at).await?.0,
    };
    Ok(Json(open.iter().map(FleetCheckBody::from).collect()))
}

/// A check, open or closed, with its cars and what each answered, now or by a time.
#[utoipa::path(
    get,
    path = "/api/v1/fleet-checks/{number}",
    operation_id = "showFleetCheck",
    tag = "cars",
    params(("number" = i64, Path, description = "The entry that opened it"), AfterCar),
    responses(
        (status = 200, body = FleetCheckDetail, description = "As asked"),
        (status = 404, body = Problem, description = "No such check"),
        (status = 422, body = Problem, description = "The car cannot be read")
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Path(number): Path<String>,
    Asked(query): Asked<AfterCar>,
) -> Result<Json<FleetCheckDetail>, Problem> {
    let number = numbered("number", &number)?;
    let after = query.after.as_deref().map(str::parse::<CarNumber>);
    let after = after.transpose().map_err(Failure::from)?;
    let AfterCar { at, known, .. } = query;
    let speaks = AsAtQuery { at, known }.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let asked = (speaks.times, speaks.then());
    let found = Told::read(&mut view, (Seq(number), after.as_ref()), asked).await?;
    let Told {
        check,
        mut cars,
        now,
    } = found.ok_or_else(|| Failure::NotFound {
        what: "check of the fleet",
        name: number.to_string(),
    })?;
    let more = CHECK_CARS_PAGE < cars.len();
    cars.truncate(CHECK_CARS_PAGE);
    let next = cars.last().filter(|_| more).map(|row| row.car.to_string());
    let body = |row: &CheckCar| CheckCarBody::new(row, now.as_ref());
    Ok(Json(FleetCheckDetail {
        check: (&check).into(),
        cars: cars.iter().map(body).collect(),
        not_looked_at: now.as_ref().map(NotLookedAt::of),
        next,
    }))
}
