//! The cars of a decision as they stood at its moment, by what is known now.

use super::formations::{CarInTrain, cars_of};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::isolations::{ISOLATION_COLUMNS, IsolationRow};
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::car::OrderedCar;
use domain::configuration::component::Condition;
use domain::decision::TrainCar;
use domain::decision::shortcoming::FittedTold;
use domain::identity::CarNumber;
use domain::ledger::dossier::{Documents, IsolationRecord};
use domain::time::{Instant, Zone};
use domain::worked::Missing;
use sqlx::QueryBuilder;
use std::collections::HashMap;

row!(StoodRow {
    car: String,
    position: String,
    part: String,
    condition: Option<String>,
});

/// The cars in their order and orientation, with what was fitted and cut out at the moment. Three
/// statements.
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
    let on = zone.day_of(at);
    let mut found = Vec::with_capacity(cars.len());
    for place in cars {
        let Some((record, _)) = records.get(&place.car) else {
            return Ok(Err(Missing::one("car", place.car.to_string())));
        };
        let told = stood.remove(&place.car).unwrap_or_default();
        let here = isolations.iter();
        let here = here.filter(|isolation| isolation.cut_out.at.car == place.car);
        let in_train = CarInTrain {
            place: place.clone(),
            record: record.clone(),
            filled: told.iter().map(|one| one.position.clone()).collect(),
            told,
            isolations: here.cloned().collect(),
            confirmed: Vec::new(),
            restored_by: None,
        };
        match in_train.for_decision(documents, on) {
            Ok(car) => found.push(car),
            Err(missing) => return Ok(Err(missing)),
        }
    }
    Ok(Ok(found))
}

/// What stood on cars, each with the condition that was said of it last by then.
async fn stood(
    tx: &mut Tx,
    (numbers, at): (&[CarNumber], Instant),
) -> Result<HashMap<CarNumber, Vec<FittedTold>>, StoreError> {
    let rows: Vec<StoodRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car.number as car, fitment.position, component.part, (select state.condition from component_state state where state.component_id = component.id and state.condition is not null and state.known_until is null and state.since <= ");
        query.push_bind(At(at)).push(" order by state.since desc, state.recorded_by desc limit 1) as condition from car join fitment on fitment.car_id = car.id join component on component.id = fitment.component_id where fitment.known_until is null and fitment.from_at <= ");
        query.push_bind(At(at)).push(" and (fitment.until_at is null or fitment.until_at > ");
        query.push_bind(At(at)).push(") and car.number in (");
        let mut list = query.separated(", ");
        for car in numbers {
            list.push_bind(car.as_str());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut stood: HashMap<CarNumber, Vec<FittedTold>> = HashMap::new();
    for row in rows {
        let condition: Option<Condition> = parsed_option(row.condition.as_deref())?;
        let told = FittedTold {
            position: parsed(&row.position)?,
            part: parsed(&row.part)?,
            condition: condition.unwrap_or(Condition::Serviceable),
        };
        stood.entry(parsed(&row.car)?).or_default().push(told);
    }
    Ok(stood)
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
