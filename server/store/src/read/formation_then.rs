//! The cars of a decision as they stood at its moment, by what is known now.

use super::formations::{CarInTrain, cars_of};
use super::proved::tell_unproved;
use super::touched_then::due_at_once_then;
use super::vacated::tell_vacated;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::decisions::confirmed_then;
use crate::dossier::isolations::{ISOLATION_COLUMNS, IsolationRow};
use crate::dossier::settings::{SETTING_COLUMNS, SETTINGS_FROM, SettingRow};
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::car::OrderedCar;
use domain::configuration::component::{ComponentRef, Condition};
use domain::decision::TrainCar;
use domain::decision::conceded::DepartsThere;
use domain::decision::failed_test::FailedTest;
use domain::decision::follow_up::ConfirmedCheck;
use domain::decision::overdue::Overdue;
use domain::decision::shortcoming::FittedTold;
use domain::identity::CarNumber;
use domain::ledger::departures::{Departing, Departure, OnCar, Stands, departures};
use domain::ledger::dossier::{CarRecord, Documents, IsolationRecord};
use domain::ledger::entry::Seq;
use domain::time::{Day, Instant, Zone};
use domain::worked::Missing;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, HashMap};

row!(StoodRow {
    car: String,
    position: String,
    part: String,
    serial: String,
    from_at: At,
    condition: Option<String>,
    modification: Option<String>,
});

row!(FailedRow {
    car: String,
    procedure_code: String,
    name: String,
});

/// What stood on a car.
#[derive(Default)]
struct Stood {
    told: Vec<FittedTold>,
    on_car: OnCar,
}

impl Stood {
    /// The places that departed, in their order.
    fn departs(&self, design: (&Documents, &Zone), car: &CarRecord) -> Vec<DepartsThere> {
        let all = departures(design, (&car.car, &Departing::Anywhere), &self.on_car);
        let mut departs: Vec<DepartsThere> = all.into_iter().map(there).collect();
        departs.sort();
        departs
    }
}

/// A departure as a decision needs it.
pub(super) fn there(departure: Departure) -> DepartsThere {
    DepartsThere {
        position: departure.position,
        setting: departure.setting,
        kind: departure.kind,
        concession: departure.concession.map(|(number, _)| number),
        from: departure.from.unwrap_or(Day::EARLIEST),
        until: departure.until,
    }
}

/// The cars in their order and orientation, with what was fitted and cut out at the moment. Four
/// statements, and one more each where something was cut out and where the design data in memory says
/// that settings are asked for; three more where what was touched on a car opens obligations, and one
/// where a place held nothing.
pub(crate) async fn cars_then(
    tx: &mut Tx,
    (documents, zone): (&Documents, &Zone),
    (cars, at): (&[OrderedCar], Instant),
) -> Result<Result<Vec<TrainCar>, Missing>, StoreError> {
    let numbers: Vec<CarNumber> = cars.iter().map(|place| place.car.clone()).collect();
    if numbers.is_empty() {
        return Ok(Err(Missing::one("cars", "the decision")));
    }
    let records = cars_of(tx, &numbers).await?;
    let mut stood = stood(tx, (&numbers, at)).await?;
    let isolations = cut_out(tx, (&numbers, at)).await?;
    let cut_out: Vec<i64> = isolations.iter().map(|one| one.id.0).collect();
    let confirmed = confirmed_then(tx, &cut_out, (Seq(i64::MAX), at)).await?;
    let mut all = records.values();
    if all.any(|(record, _)| documents.asks_for_settings(&record.car, &Departing::Anywhere)) {
        set(tx, &mut stood, (&numbers, at)).await?;
    }
    let mut failed = failed(tx, (&numbers, at)).await?;
    let carried: Vec<&CarRecord> = records.values().map(|(record, _)| record).collect();
    let mut due = due_at_once_then(tx, (documents, zone), (&carried, at)).await?;
    let on = zone.day_of(at);
    let mut found = Vec::with_capacity(cars.len());
    for place in cars {
        let Some((record, _)) = records.get(&place.car) else {
            return Ok(Err(Missing::one("car", place.car.to_string())));
        };
        let stood = stood.remove(&place.car).unwrap_or_default();
        let departs = stood.departs((documents, zone), record);
        let told = stood.told;
        let here = isolations.iter();
        let here = here.filter(|isolation| isolation.cut_out.at.car == place.car);
        found.push(CarInTrain {
            place: place.clone(),
            record: record.clone(),
            filled: told.iter().map(|one| one.position.clone()).collect(),
            told,
            departs,
            failed_tests: failed.remove(&place.car).unwrap_or_default(),
            due_at_once: due.remove(&place.car).unwrap_or_default(),
            overdue: Overdue::NotLookedAt,
            judge_again: Vec::new(),
            vacated: BTreeMap::new(),
            confirmed: of_cut_outs(&confirmed, here.clone()),
            isolations: here.cloned().collect(),
            restored_by: None,
        });
    }
    tell_vacated(tx, documents, (found.iter_mut().collect(), on, at)).await?;
    let found = found.iter().map(|car| car.for_decision(documents, on));
    Ok(found.collect())
}

fn of_cut_outs<'a>(
    confirmed: &[ConfirmedCheck],
    isolations: impl Iterator<Item = &'a IsolationRecord>,
) -> Vec<ConfirmedCheck> {
    let ids: Vec<Seq> = isolations.map(|isolation| isolation.id).collect();
    let of_these = confirmed.iter();
    let of_these = of_these.filter(|check| ids.contains(&check.isolation));
    of_these.cloned().collect()
}

/// What stood on cars, each with the condition that was said of it last by then.
async fn stood(
    tx: &mut Tx,
    (numbers, at): (&[CarNumber], Instant),
) -> Result<HashMap<CarNumber, Stood>, StoreError> {
    let rows: Vec<StoodRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car.number as car, fitment.position, component.part, component.serial, fitment.from_at, (select state.condition from component_state state where state.component_id = component.id and state.condition is not null and state.known_until is null and state.since <= ");
        query.push_bind(At(at)).push(" order by state.since desc, state.recorded_by desc limit 1) as condition, (select state.modification_state from component_state state where state.component_id = component.id and state.modification_state is not null and state.known_until is null and state.since <= ");
        query.push_bind(At(at)).push(" order by state.since desc, state.recorded_by desc limit 1) as modification from car join fitment on fitment.car_id = car.id join component on component.id = fitment.component_id where fitment.known_until is null and fitment.from_at <= ");
        query.push_bind(At(at)).push(" and (fitment.until_at is null or fitment.until_at > ");
        query.push_bind(At(at)).push(") and car.number in (");
        let mut list = query.separated(", ");
        for car in numbers {
            list.push_bind(car.as_str());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut stood: HashMap<CarNumber, Stood> = HashMap::new();
    for row in rows {
        let condition: Option<Condition> = parsed_option(row.condition.as_deref())?;
        let told = FittedTold {
            position: parsed(&row.position)?,
            part: parsed(&row.part)?,
            condition: condition.unwrap_or(Condition::Serviceable),
        };
        let stands = Stands {
            component: ComponentRef {
                part: told.part.clone(),
                serial: parsed(&row.serial)?,
            },
            modification: parsed_option(row.modification.as_deref())?,
            since: row.from_at.0,
            unfit_since: None,
        };
        let stood = stood.entry(parsed(&row.car)?).or_default();
        stood.on_car.stands.insert(told.position.clone(), stands);
        stood.told.push(told);
    }
    Ok(stood)
}

/// Adds the settings that had been made on cars.
async fn set(
    tx: &mut Tx,
    stood: &mut HashMap<CarNumber, Stood>,
    (numbers, at): (&[CarNumber], Instant),
) -> Result<(), StoreError> {
    let rows: Vec<SettingRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(SETTING_COLUMNS).push(SETTINGS_FROM);
        query.push(" where setting.known_until is null and setting.since <= ").push_bind(At(at));
        query.push(" and car.number in (");
        let mut list = query.separated(", ");
        for car in numbers {
            list.push_bind(car.as_str());
        }
        query.push(") order by setting.since, setting.id");
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in rows {
        let record = row.record()?;
        let on_car = &mut stood.entry(record.made.at.car.clone()).or_default().on_car;
        let at = on_car.settings.entry(record.made.at.position.clone());
        at.or_default().push(record);
    }
    Ok(())
}

/// The tests of cars that had been failed by then, and not passed. One statement, and three where there
/// is one.
async fn failed(
    tx: &mut Tx,
    (numbers, at): (&[CarNumber], Instant),
) -> Result<HashMap<CarNumber, Vec<FailedTest>>, StoreError> {
    let rows: Vec<FailedRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("select car.number as car, test_record.procedure_code, test_record.name from car cross join test_record where test_record.car_id = car.id and test_record.outcome = 'failed' and test_record.tested_at <= ");
        query.push_bind(At(at)).push(" and not exists (select 1 from test_record later where later.car_id = test_record.car_id and later.procedure_code = test_record.procedure_code and later.outcome in ('passed', 'failed') and later.tested_at <= ");
        query.push_bind(At(at)).push(" and (later.tested_at > test_record.tested_at or (later.tested_at = test_record.tested_at and later.id > test_record.id))) and car.number in (");
        let mut list = query.separated(", ");
        for car in numbers {
            list.push_bind(car.as_str());
        }
        query.push(") order by car.number, test_record.procedure_code");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut failed: HashMap<CarNumber, Vec<FailedTest>> = HashMap::new();
    for row in rows {
        failed
            .entry(parsed(&row.car)?)
            .or_default()
            .push(FailedTest {
                procedure: parsed(&row.procedure_code)?,
                record: parsed(&row.name)?,
                unproved: Vec::new(),
            });
    }
    let by = (Seq(i64::MAX), at);
    tell_unproved(tx, failed.iter_mut().collect(), by).await?;
    Ok(failed)
}

async fn cut_out(
    tx: &mut Tx,
    (numbers, at): (&[CarNumber], Instant),
) -> Result<Vec<IsolationRecord>, StoreError> {
    let rows: Vec<IsolationRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(ISOLATION_COLUMNS).push(" from isolation join car on car.id = isolation.car_id where isolation.since <= ");
        query.push_bind(At(at)).push(" and (isolation.ended_at is null or isolation.ended_at > ");
        query.push_bind(At(at)).push(") and car.number in (");
        let mut list = query.separated(", ");
        for car in numbers {
            list.push_bind(car.as_str());
        }
        query.push(") order by isolation.since, isolation.id");
        query.build_query_as().fetch_all(conn).await
    })?;
    let records: Result<Vec<_>, _> = rows.iter().map(IsolationRow::record).collect();
    Ok(records?)
}
