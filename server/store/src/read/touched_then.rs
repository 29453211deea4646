//! The work on cars that was due at once at a moment since something was touched, by what is known now.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::tests::TestRow;
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use crate::shape::padded;
use crate::touches;
use domain::configuration::component::Subject;
use domain::decision::due_at_once::DueAtOnce;
use domain::identity::CarNumber;
use domain::ledger::at_once::Tested;
use domain::ledger::dossier::{CarRecord, Documents, DoneRecord, TestedRecord};
use domain::ledger::obligations::{OfCar, Touch};
use domain::time::{Instant, Zone};
use sqlx::QueryBuilder;
use std::collections::HashMap;

/// The work that was due at once, by car. Three statements, none where nothing that is touched opens
/// an obligation; linear in what was touched, tested and done on the cars since the first day of one.
/// Of a unit that was formed again since only the last formation is known here.
pub(super) async fn due_at_once_then(
    tx: &mut Tx,
    (documents, zone): (&Documents, &Zone),
    (cars, at): (&[&CarRecord], Instant),
) -> Result<HashMap<CarNumber, Vec<DueAtOnce>>, StoreError> {
    let mut types = cars.iter().map(|car| &car.car.car_type);
    if !types.any(|car_type| documents.opens_obligations(car_type)) {
        return Ok(HashMap::new());
    }
    let documents = documents.with_tasks_at(at);
    let obliged = cars.iter().filter_map(|car| {
        let from = documents.obliged_from(&car.car.car_type)?;
        Some((car.id.0, zone.start_of(from)))
    });
    let obliged: Vec<(i64, Instant)> = obliged.collect();
    let touches = touches::load(tx, &obliged).await?;
    let ids: Vec<i64> = touches.keys().copied().collect();
    if ids.is_empty() {
        return Ok(HashMap::new());
    }
    let tests = tested(tx, (&ids, at)).await?;
    let done = done(tx, (&ids, at)).await?;
    let mut due = HashMap::new();
    for car in cars {
        let Some(of_car) = touches.get(&car.id.0) else {
            continue;
        };
        let by_then: Vec<Touch> = of_car.iter().filter(|one| one.at <= at).cloned().collect();
        let subject = Subject::Car(car.car.number.clone());
        let tests = tests.iter().filter(|one| one.record.subject == subject);
        let tests: Vec<Tested> = tests.map(Tested::from).collect();
        let done: Vec<&DoneRecord> = done.iter().filter(|one| one.subject == subject).collect();
        let of = OfCar {
            car_type: &car.car.car_type,
            tests: &tests,
            documents: &documents,
            zone,
        };
        due.insert(car.car.number.clone(), of.due_at_once(&by_then, &done));
    }
    Ok(due)
}

/// The tests of cars until a moment.
async fn tested(
    tx: &mut Tx,
    (cars, at): (&[i64], Instant),
) -> Result<Vec<TestedRecord>, StoreError> {
    let rows: Vec<TestRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select id, outcome, body from test_record where tested_at <= ");
        query.push_bind(At(at)).push(" and car_id in (");
        let mut list = query.separated(", ");
        for id in padded(cars) {
            list.push_bind(id.copied());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let records: Result<Vec<_>, _> = rows.iter().map(TestRow::record).collect();
    Ok(records?)
}

/// The work done on cars until a moment.
async fn done(tx: &mut Tx, (cars, at): (&[i64], Instant)) -> Result<Vec<DoneRecord>, StoreError> {
    let rows: Vec<DoneRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new(DONE_FROM);
        query.push(" where work_done.done_at <= ").push_bind(At(at));
        query.push(" and work_done.subject_car_id in (");
        let mut list = query.separated(", ");
        for id in padded(cars) {
            list.push_bind(id.copied());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let records: Result<Vec<_>, _> = rows.iter().map(DoneRow::record).collect();
    Ok(records?)
}
