//! The lines through all readings of cars' meters: asked for where a window has begun, to tell when.

use super::meters::{AND_REPLACEMENTS, READINGS, ShownRow, put};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::shape::padded;
use domain::identity::CarNumber;
use domain::ledger::dossier::Dossier;
use domain::ledger::standing::CarMeters;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// The lines of cars. One statement; none for no cars.
pub(crate) async fn load_lines(
    tx: &mut Tx,
    cars: &BTreeSet<CarNumber>,
) -> Result<HashMap<CarNumber, CarMeters>, StoreError> {
    let mut lines = HashMap::new();
    if cars.is_empty() {
        return Ok(lines);
    }
    let numbers: Vec<&CarNumber> = cars.iter().collect();
    let rows: Vec<ShownRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new(READINGS);
        query.push("from car join reading on reading.car_id = car.id where car.number in (");
        let mut list = query.separated(", ");
        for car in padded(&numbers) {
            list.push_bind(car.map(|car| car.as_str()));
        }
        query.push(")").push(AND_REPLACEMENTS);
        query.push("from car join meter_replacement on meter_replacement.car_id = car.id where car.number in (");
        let mut list = query.separated(", ");
        for car in padded(&numbers) {
            list.push_bind(car.map(|car| car.as_str()));
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut dossier = Dossier::default();
    put(&mut dossier, &rows)?;
    for car in cars {
        let record = |meter| dossier.meters.get(&(car.clone(), meter));
        // What was recorded was checked; a history that does not hold is damage.
        let line = CarMeters::new(record)
            .map_err(|why| StoreError::Database(sqlx::Error::Decode(Box::new(why))))?;
        lines.insert(car.clone(), line);
    }
    Ok(lines)
}
