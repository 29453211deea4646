//! One car: its meters, and what is or was fitted to it.

use super::amount::AmountBody;
use super::cars::CarBody;
use super::changed::DoubtBody;
use super::components::ComponentBody;
use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::{AsAtParams, Speaks};
use crate::cars_then::car_told;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::configuration::car_type::CarType;
use domain::configuration::setting::{SettingAt, SettingStanding};
use domain::identity::CarNumber;
use domain::ledger::dossier::CarRecord;
use domain::ledger::standing::MeterStanding;
use domain::units::Meter;
use serde::Serialize;
use store::StoreError;
use store::read::View;
use store::read::cars::Fitted;
use store::read::fleet_checks::AskedOfCar;
use store::read::settings::settings_at;
use utoipa::ToSchema;

/// A car with what is fitted to it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct CarDetail {
    /// The car as it is registered now, in the unit that it was in then and with the revision that was
    /// in force for it then.
    car: CarBody,
    /// The entries that set the evidence holds in force then on it, or on what was on it.
    held_by: Vec<i64>,
    /// The open checks of the fleet that ask it now, first to be answered first.
    fleet_checks: Vec<AskingCheckBody>,
    /// Of now only: why components on it are to be judged again, if any are.
    judge_again: Vec<DoubtBody>,
    /// Its meters as they stood then. A meter that was never read is not among them.
    meters: Vec<MeterBody>,
    /// The time that meters, positions and settings are told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// Every position of the baseline in force now, and any other that held a component.
    positions: Vec<PositionBody>,
    /// The settings that the baseline in force then asks for, with what is told of them.
    settings: Vec<SettingBody>,
}

/// A check of the fleet that asks a car, and is open or found it defective.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct AskingCheckBody {
    /// The entry that opened it, by which the car answers.
    number: i64,
    /// What it is about.
    title: String,
    /// The last day for an answer.
    #[schema(format = Date)]
    answer_by: String,
    /// What the car answered last: sound, defective or `not_carried`; none where it has not.
    answer: Option<&'static str>,
}

impl From<&AskedOfCar> for AskingCheckBody {
    fn from(AskedOfCar { check, answer }: &AskedOfCar) -> Self {
        Self {
            number: check.record.id.0,
            title: check.record.check.title.clone(),
            answer_by: check.record.check.answer_by.to_string(),
            answer: answer.as_ref().map(|one| one.answer.name()),
        }
    }
}

/// A setting of a position.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct SettingBody {
    /// The position, by its full code.
    position: String,
    /// The setting.
    #[schema(example = "opening pressure")]
    setting: String,
    /// The value wanted: a number with its unit, a word, or revision and its text.
    #[schema(example = "8.5 bar")]
    wanted: String,
    /// What is allowed, in words.
    #[schema(example = "8.3 to 8.7 bar")]
    allowed: String,
    /// `as_wanted`, `deviates` where it is another value that is allowed, `out_of_range` where it is one
    /// that is not, or `not_told`.
    standing: &'static str,
    /// What it is set to; none where that was not recorded since what is there came there.
    set_to: Option<String>,
    /// `made` where somebody set it so, `found` where somebody found it so.
    how: Option<&'static str>,
    /// Since when.
    #[schema(format = DateTime)]
    since: Option<String>,
    /// Who recorded it.
    recorded_by: Option<String>,
    /// The entry that says so.
    entry: Option<i64>,
}

impl SettingBody {
    pub(crate) fn new(one: &SettingAt) -> Self {
        let told = one.told.as_ref();
        Self {
            position: one.position.to_string(),
            setting: one.setting.name().to_string(),
            wanted: one.setting.wanted().to_string(),
            allowed: one.setting.allowed(),
            standing: match one.standing() {
                SettingStanding::AsWanted(_) => "as_wanted",
                SettingStanding::Deviates(_) => "deviates",
                SettingStanding::OutOfRange(_) => "out_of_range",
                SettingStanding::NotTold => "not_told",
            },
            set_to: told.map(|told| told.made.value.to_string()),
            how: told.map(|told| told.made.how.name()),
            since: told.map(|told| told.since.to_string()),
            recorded_by: told.map(|told| told.recorded_by.to_string()),
            entry: told.map(|told| told.by.0),
        }
    }
}

/// A meter.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct MeterBody {
    /// Which one.
    #[schema(example = "odometer")]
    meter: &'static str,
    /// When it was last read.
    #[schema(format = DateTime)]
    read_at: String,
    /// What it showed then.
    shown: AmountBody,
    /// What the car has run by it, counted on through replacements of the meter.
    used: AmountBody,
    /// What it gains a day; none where that is not known.
    a_day: Option<RateBody>,
}

/// A daily gain with its spread.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct RateBody {
    /// When the car runs little.
    slow: AmountBody,
    /// Most likely.
    likely: AmountBody,
    /// When the car runs much.
    fast: AmountBody,
}

impl MeterBody {
    fn new((meter, standing): &(Meter, MeterStanding)) -> Self {
        let amount = |amount| AmountBody::new(amount, *meter);
        Self {
            meter: meter.name(),
            read_at: standing.last.at.to_string(),
            shown: amount(standing.shown),
            used: amount(standing.last.usage),
            a_day: standing.rate.map(|rate| RateBody {
                slow: amount(rate.slow()),
                likely: amount(rate.likely()),
                fast: amount(rate.fast()),
            }),
        }
    }
}

/// A position with what is fitted at it.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PositionBody {
    /// Its code.
    code: String,
    /// What it is; empty where the baseline in force now has no such position.
    title: String,
    /// The component fitted; none where the position was empty.
    component: Option<ComponentBody>,
    /// Its condition then.
    condition: Option<&'static str>,
    /// Since when it is fitted.
    #[schema(format = DateTime)]
    since: Option<String>,
    /// The entry that says so.
    fitted_by: Option<i64>,
}

fn positions(fitted: &[Fitted], car_type: Option<&CarType>) -> Vec<PositionBody> {
    let of_type = car_type.map_or(&[][..], |car_type| &car_type.positions);
    let listed = of_type.iter().map(|position| {
        let there = fitted.iter().find(|one| one.position == position.code);
        position_body(position.code.to_string(), position.title.clone(), there)
    });
    let elsewhere = fitted.iter().filter(|one| {
        let code = &one.position;
        !of_type.iter().any(|position| position.code == *code)
    });
    let elsewhere =
        elsewhere.map(|one| position_body(one.position.to_string(), String::new(), Some(one)));
    listed.chain(elsewhere).collect()
}

fn position_body(code: String, title: String, fitted: Option<&Fitted>) -> PositionBody {
    PositionBody {
        code,
        title,
        component: fitted.map(|one| (&one.component).into()),
        condition: fitted.map(|one| one.condition.name()),
        since: fitted.map(|one| one.from.to_string()),
        fitted_by: fitted.map(|one| one.fitted_by.0),
    }
}

/// The entries that set the holds on a car and on what is on it, now or as at a time.
async fn held_by(
    view: &mut View,
    car: &CarRecord,
    speaks: &Speaks,
) -> Result<Vec<i64>, StoreError> {
    let Some(as_at) = speaks.then() else {
        let now = view.holds.on_car(&car.car.number);
        return Ok(now.map(|hold| hold.id.0).collect());
    };
    let then = view.holds_on_cars_at(&[car.id], as_at).await?;
    Ok(then.iter().map(|hold| hold.id.0).collect())
}

/// A car with its meters and what was fitted to it at a time.
#[utoipa::path(
    get,
    path = "/api/v1/cars/{number}",
    operation_id = "showCar",
    tag = "cars",
    params(("number" = String, Path, description = "The car's number"), AsAtParams),
    responses(
        (status = 200, body = CarDetail, description = "As asked"),
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
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<CarDetail>, Problem> {
    let number: CarNumber = named("number", &number)?;
    let speaks = params.read(&state)?;
    let as_at = speaks.times;
    let mut view = speaks.view(&state).await?;
    let found = car_told(&mut view, &number, speaks.then()).await?;
    let (record, mut meters) = found.ok_or_else(|| Problem::not_found("car", &number))?;
    let mut fitted = view.fitted(&record, as_at).await?;
    if let Some(as_at) = speaks.then() {
        let told = view.cars_then(&[&record], as_at).await?;
        meters = told.then.standings(&number);
        told.judge(&mut fitted);
    }
    let held_by = held_by(&mut view, &record, &speaks).await?;
    let judge_again = DoubtBody::on_car(&mut view, &number, &speaks).await?;
    let checks = view.fleet_checks_of_car(record.id).await?;
    let on = state.zone.day_of(as_at.effective);
    let asked = view.documents.places_with_settings(&record.car, on);
    let set = view.places_with_settings(&record, &asked, as_at).await?;
    let set = settings_at(&asked, &set, as_at.effective);
    let car_type = view.documents.car_type(&record.car, on);
    Ok(Json(CarDetail {
        car: CarBody::new(&record, (&view.documents, on)),
        held_by,
        judge_again,
        fleet_checks: checks.iter().map(AskingCheckBody::from).collect(),
        meters: meters.iter().map(MeterBody::new).collect(),
        at: as_at.effective.to_string(),
        known: as_at.known.to_string(),
        positions: positions(&fitted, car_type.map(|car_type| &**car_type)),
        settings: set.iter().map(SettingBody::new).collect(),
    }))
}
