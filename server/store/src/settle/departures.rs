//! Where cars depart from their baseline, worked out anew: two statements to read, two to write
//! where anything departs, one more where something is missing, and one more where the design
//! data in memory says that settings are asked for at the places.

use super::Settling;
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::dossier::settings::{SETTING_COLUMNS, SETTINGS_FROM, SettingRow};
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use crate::shape::{meant, padded};
use domain::configuration::component::ComponentRef;
use domain::identity::{CarNumber, SettingName};
use domain::ledger::departures::{Departing, Departure, OnCar, Stands, departures};
use domain::ledger::dossier::CarRecord;
use domain::time::Day;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Rows of one statement.
const ROWS: usize = 1_024;

row!(StandsRow {
    car_id: i64,
    position: String,
    component_id: i64,
    part: String,
    serial: String,
    modification_state: Option<String>,
    from_at: At,
    unfit_since: Option<At>,
});

row!(ToldRow {
    car_id: i64,
    position: String,
    ended_at: Option<At>,
});

/// The cars of these numbers; those that are known already are not read again.
async fn cars(
    tx: &mut Tx,
    known: &HashMap<CarNumber, CarRecord>,
    numbers: &BTreeSet<CarNumber>,
) -> Result<Vec<CarRecord>, StoreError> {
    let of_dossier = numbers.iter().filter_map(|number| known.get(number));
    let mut records: Vec<CarRecord> = of_dossier.cloned().collect();
    let others = numbers.iter().filter(|number| !known.contains_key(*number));
    let numbers: Vec<&CarNumber> = others.collect();
    if numbers.is_empty() {
        return Ok(records);
    }
    let rows: Vec<CarRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(CAR_COLUMNS).push(" from car where car.number in (");
        let mut list = query.separated(", ");
        for number in padded(&numbers) {
            list.push_bind(number.map(|number| number.as_str()));
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in &rows {
        records.push(row.record()?);
    }
    Ok(records)
}

/// Settles cars together, all with the same places. Linear in what is fitted there and in what
/// departs.
pub(super) async fn settle(
    tx: &mut Tx,
    (settling, known): (&Settling, &HashMap<CarNumber, CarRecord>),
    (numbers, places): (&BTreeSet<CarNumber>, &Departing),
) -> Result<(), StoreError> {
    if numbers.is_empty() {
        return Ok(());
    }
    let cars = cars(tx, known, numbers).await?;
    let ids: Vec<i64> = cars.iter().map(|car| car.id.0).collect();
    let (mut on_cars, components) = load(tx, (&ids, places)).await?;
    let documents = (&*settling.documents, &settling.zone);
    let set = cars.iter();
    let set = set.filter(|car| documents.0.asks_for_settings(&car.car, places));
    let set: Vec<i64> = set.map(|car| car.id.0).collect();
    load_settings(tx, &mut on_cars, (&set, places)).await?;
    let mut found = Vec::new();
    for car in &cars {
        let on_car = on_cars.entry(car.id.0).or_default();
        found.push((car, departures(documents, (&car.car, places), on_car)));
    }
    // What was there once is only asked where something is missing now.
    let lacking = |(car, departs): &&(&CarRecord, Vec<Departure>)| {
        let on_car = on_cars.get(&car.id.0);
        on_car.is_some_and(OnCar::has_settings_where_nothing_stands)
            || departs.iter().any(|one| one.component.is_none())
    };
    let lacking: Vec<i64> = found
        .iter()
        .filter(lacking)
        .map(|(car, _)| car.id.0)
        .collect();
    if !lacking.is_empty() {
        load_told(tx, &mut on_cars, (&lacking, places)).await?;
        for (car, departs) in &mut found {
            if lacking.contains(&car.id.0) {
                *departs = departures(documents, (&car.car, places), &on_cars[&car.id.0]);
            }
        }
    }
    clear(tx, (&ids, places)).await?;
    let rows: Vec<(&CarRecord, Departure)> = found
        .into_iter()
        .flat_map(|(car, departs)| departs.into_iter().map(move |one| (car, one)))
        .collect();
    put(tx, &rows, &components).await
}

type Loaded = (BTreeMap<i64, OnCar>, HashMap<ComponentRef, i64>);

/// Narrows a statement to places, to what is below them and, where asked, to what is above.
macro_rules! at_places {
    ($query:expr, $column:literal, $places:expr, $above:literal) => {
        if let Departing::At(places) = $places {
            $query.push(" and (1 = 0");
            for place in places {
                let place = place.as_str();
                $query
                    .push(concat!(" or substr(", $column, ", 1, length("))
                    .push_bind(place);
                $query.push(")) = ").push_bind(place);
                if $above {
                    $query.push(" or substr(").push_bind(place);
                    $query.push(concat!(", 1, length(", $column, ")) = ", $column));
                }
            }
            $query.push(")");
        }
    };
}

/// What stands on cars now at places, below and above them, and the ids of the components.
async fn load(tx: &mut Tx, (ids, places): (&[i64], &Departing)) -> Result<Loaded, StoreError> {
    let rows: Vec<StandsRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select fitment.car_id, fitment.position, fitment.component_id, component.part, component.serial, component.modification_state, fitment.from_at, case when component.condition <> 'serviceable' then (select max(said.since) from component_state said where said.component_id = component.id and said.known_until is null and said.condition is not null) end as unfit_since from fitment join component on component.id = fitment.component_id where fitment.known_until is null and fitment.until_at is null and fitment.car_id in (");
        let mut list = query.separated(", ");
        for id in padded(ids) {
            list.push_bind(id.copied());
        }
        query.push(")");
        at_places!(query, "fitment.position", places, true);
        query.build_query_as().fetch_all(conn).await
    })?;
    let (mut on_cars, mut components) = Loaded::default();
    for row in rows {
        let component = ComponentRef {
            part: parsed(&row.part)?,
            serial: parsed(&row.serial)?,
        };
        components.insert(component.clone(), row.component_id);
        let stands = Stands {
            component,
            modification: parsed_option(row.modification_state.as_deref())?,
            since: row.from_at.0,
            unfit_since: row.unfit_since.map(|at| at.0),
        };
        let on_car: &mut OnCar = on_cars.entry(row.car_id).or_default();
        on_car.stands.insert(parsed(&row.position)?, stands);
    }
    Ok((on_cars, components))
}

async fn load_told(
    tx: &mut Tx,
    on_cars: &mut BTreeMap<i64, OnCar>,
    (ids, places): (&[i64], &Departing),
) -> Result<(), StoreError> {
    let rows: Vec<ToldRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car_id, position, max(until_at) as ended_at from fitment where known_until is null and car_id in (");
        let mut list = query.separated(", ");
        for id in padded(ids) {
            list.push_bind(id.copied());
        }
        query.push(")");
        at_places!(query, "position", places, false);
        query.push(" group by car_id, position");
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in rows {
        let on_car = on_cars.entry(row.car_id).or_default();
        let ended = row.ended_at.map(|at| at.0);
        on_car.told.insert(parsed(&row.position)?, ended);
    }
    Ok(())
}

/// The settings made at places of cars whose baselines ask for some there.
async fn load_settings(
    tx: &mut Tx,
    on_cars: &mut BTreeMap<i64, OnCar>,
    (ids, places): (&[i64], &Departing),
) -> Result<(), StoreError> {
    if ids.is_empty() {
        return Ok(());
    }
    let rows: Vec<SettingRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(SETTING_COLUMNS).push(SETTINGS_FROM);
        query.push(" where setting.known_until is null and setting.car_id in (");
        let mut list = query.separated(", ");
        for id in padded(ids) {
            list.push_bind(id.copied());
        }
        query.push(")");
        at_places!(query, "setting.position", places, false);
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in rows {
        let record = row.record()?;
        let on_car = on_cars.entry(row.car_id).or_default();
        let at = on_car.settings.entry(record.made.at.position.clone());
        at.or_default().push(record);
    }
    Ok(())
}

async fn clear(tx: &mut Tx, (ids, places): (&[i64], &Departing)) -> Result<(), StoreError> {
    on!(tx, conn => {
        let mut query = QueryBuilder::new("delete from departure where car_id in (");
        let mut list = query.separated(", ");
        for id in padded(ids) {
            list.push_bind(id.copied());
        }
        query.push(")");
        at_places!(query, "position", places, false);
        query.build().execute(conn).await.map(drop)
    })?;
    Ok(())
}

async fn put(
    tx: &mut Tx,
    rows: &[(&CarRecord, Departure)],
    components: &HashMap<ComponentRef, i64>,
) -> Result<(), StoreError> {
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("with departing (meant, car_id, position, from_on, until_on, kind, component_id, fleet, depot, concession, covered_until, setting, set_to) as (");
            query.push_values(meant(chunk), |mut row, (meant, (car, one))| {
                let component = one.component.as_ref();
                row.push_bind(meant)
                    .push_bind(car.id.0)
                    .push_bind(one.position.as_str())
                    .push_bind(On(one.from.unwrap_or(Day::EARLIEST)))
                    .push_bind(one.until.map(On))
                    .push_bind(one.kind.name())
                    .push_bind(component.and_then(|component| components.get(component)).copied())
                    .push_bind(car.car.fleet.as_str())
                    .push_bind(car.car.depot.as_str())
                    .push_bind(one.concession.as_ref().map(|(number, _)| number.as_str()))
                    .push_bind(one.concession.as_ref().map(|(_, until)| On(*until)))
                    .push_bind(one.setting.as_ref().map_or("", SettingName::as_str))
                    .push_bind(one.set_to.as_ref().map(ToString::to_string));
            });
            query.push(") insert into departure (car_id, position, from_on, until_on, kind, component_id, fleet, depot, concession, covered_until, setting, set_to) select car_id, position, from_on, until_on, kind, component_id, fleet, depot, concession, covered_until, setting, set_to from departing where meant");
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
