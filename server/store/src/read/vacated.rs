//! When what stood last at places that hold nothing came off.

use super::formations::CarInTrain;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use crate::shape::padded;
use domain::identity::{CarNumber, PositionCode};
use domain::ledger::dossier::Documents;
use domain::time::{Day, Instant};
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet, HashMap};

row!(CameOffRow {
    car: String,
    position: String,
    until_at: At,
});

/// Tells of cars as on a day when what stood last at the places that hold nothing came off, where
/// something did by a moment. Cars of which nothing at all is known to be fitted are left out. One
/// statement, none where every place holds something; linear in what ever stood at these places.
pub(super) async fn tell_vacated(
    tx: &mut Tx,
    documents: &Documents,
    (mut cars, on_day, by): (Vec<&mut CarInTrain>, Day, Instant),
) -> Result<(), StoreError> {
    let (mut numbers, mut places) = (BTreeSet::new(), BTreeSet::new());
    let known = cars
        .iter()
        .filter(|car| car.filled.codes().next().is_some());
    for car in known {
        let circuit = documents.circuit(&car.record.car, on_day);
        let vacant = circuit.map_or_else(Vec::new, |circuit| circuit.vacant(&car.filled));
        if !vacant.is_empty() {
            numbers.insert(car.place.car.clone());
            places.extend(vacant);
        }
    }
    if numbers.is_empty() {
        return Ok(());
    }
    let numbers: Vec<CarNumber> = numbers.into_iter().collect();
    let places: Vec<PositionCode> = places.into_iter().collect();
    let mut came_off = came_off(tx, (&numbers, &places), by).await?;
    for car in &mut cars {
        car.vacated = came_off.remove(&car.place.car).unwrap_or_default();
    }
    Ok(())
}

/// When something came off last at some places of some cars, by a moment.
async fn came_off(
    tx: &mut Tx,
    (numbers, places): (&[CarNumber], &[PositionCode]),
    by: Instant,
) -> Result<HashMap<CarNumber, BTreeMap<PositionCode, Instant>>, StoreError> {
    let rows: Vec<CameOffRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car.number as car, fitment.position, max(fitment.until_at) as until_at from car cross join fitment where fitment.car_id = car.id and fitment.known_until is null and fitment.until_at <= ");
        query.push_bind(At(by)).push(" and car.number in (");
        let mut list = query.separated(", ");
        for number in padded(numbers) {
            list.push_bind(number.map(CarNumber::as_str));
        }
        query.push(") and fitment.position in (");
        let mut list = query.separated(", ");
        for place in padded(places) {
            list.push_bind(place.map(PositionCode::as_str));
        }
        query.push(") group by car.number, fitment.position");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut came_off: HashMap<CarNumber, BTreeMap<PositionCode, Instant>> = HashMap::new();
    for row in rows {
        let of_car = came_off.entry(parsed(&row.car)?).or_default();
        of_car.insert(parsed(&row.position)?, row.until_at.0);
    }
    Ok(came_off)
}
