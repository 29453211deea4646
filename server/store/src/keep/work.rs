//! Keeps work done.

use super::{ROWS, Write};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::components::columns;
use crate::error::StoreError;
use domain::configuration::component::Subject;
use domain::ledger::dossier::{DoneRecord, Dossier};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const DROP: &str = "delete from work_done where recorded_by = $1";

pub(super) async fn put_done(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<Seq>,
    write: Write,
) -> Result<(), StoreError> {
    for by in changed.iter().filter(|by| **by < write.first) {
        on!(tx, conn => sqlx::query(DROP).bind(by.0).execute(conn).await.map(drop))?;
    }
    let records: Vec<&DoneRecord> = changed.iter().flat_map(|by| dossier.done_by(*by)).collect();
    let subject = |record: &DoneRecord| match &record.subject {
        Subject::Component(component) => (
            dossier
                .components
                .get(component)
                .map(|component| component.id.0),
            None,
        ),
        Subject::Car(car) => (None, dossier.cars.get(car).map(|car| car.id.0)),
    };
    for chunk in records.chunks(ROWS) {
        on!(tx, conn => {
                   let mut query = QueryBuilder::new("insert into work_done (recorded_by, component_id, subject_car_id, task, done_at, car_id, odometer, running_hours, compressor_hours) ");
                   query.push_values(chunk, |mut row, record| {
                       let (component, subject_car) = subject(record);
                       let car = record.car.as_ref().and_then(|car| dossier.cars.get(car));
                       row.push_bind(record.by.0)
                           .push_bind(component)
                           .push_bind(subject_car)
                           .push_bind(record.task.as_str())
                           .push_bind(At(record.at))
                           .push_bind(car.map(|car| car.id.0));
                       for amount in columns(&record.meters) {
        row.push_bind(amount);
                       }
                   });
                   query.build().execute(&mut *conn).await.map(drop)
               })?;
    }
    Ok(())
}
