//! Work done, as kept.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::KEYS;
use crate::dossier::components::amounts;
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::ComponentRef;
use domain::configuration::component::Subject;
use domain::ledger::dossier::{DoneRecord, Dossier};
use domain::ledger::entry::Seq;

row!(
    /// A task as it was done, with the names of its subject.
    DoneRow {
        recorded_by: i64,
        part: Option<String>,
        serial: Option<String>,
        subject_car: Option<String>,
        task: String,
        done_at: At,
        car: Option<String>,
        odometer: Option<i64>,
        running_hours: Option<i64>,
        compressor_hours: Option<i64>,
    }
);

/// The columns of [`DoneRow`] and the tables they come from.
pub(crate) const DONE_FROM: &str = "select work_done.recorded_by, component.part, component.serial, subject_car.number as subject_car, work_done.task, work_done.done_at, car.number as car, work_done.odometer, work_done.running_hours, work_done.compressor_hours
    from work_done
    left join component on component.id = work_done.component_id
    left join car subject_car on subject_car.id = work_done.subject_car_id
    left join car on car.id = work_done.car_id";

impl DoneRow {
    /// The work as the core has it.
    pub(crate) fn record(&self) -> Result<DoneRecord, sqlx::Error> {
        let subject = match (&self.part, &self.serial, &self.subject_car) {
            (Some(part), Some(serial), _) => Subject::Component(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            }),
            (_, _, Some(car)) => Subject::Car(parsed(car)?),
            _ => return Err(sqlx::Error::Decode("work done on nothing".into())),
        };
        let meters = amounts([self.odometer, self.running_hours, self.compressor_hours]);
        Ok(DoneRecord {
            by: Seq(self.recorded_by),
            subject,
            task: parsed(&self.task)?,
            at: self.done_at.0,
            car: parsed_option(self.car.as_deref())?,
            meters,
        })
    }
}

/// Loads all work done on the components of the dossier.
pub(super) async fn load_done_on_components(
    tx: &mut Tx,
    dossier: &mut Dossier,
) -> Result<(), StoreError> {
    let records = dossier.components.values();
    let ids: Vec<i64> = records.map(|record| record.id.0).collect();
    for chunk in ids.chunks(KEYS) {
        let rows: Vec<DoneRow> = on!(tx, conn => {
            let mut query = sqlx::QueryBuilder::new(DONE_FROM);
            query.push(" where work_done.component_id in (");
            let mut list = query.separated(", ");
            for id in chunk {
                list.push_bind(*id);
            }
            query.push(")");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in &rows {
            dossier.load_done(row.record()?);
        }
    }
    Ok(())
}

/// Loads the work that one entry recorded on a car as a whole.
pub(super) async fn load_done_on_car(
    tx: &mut Tx,
    dossier: &mut Dossier,
    by: Seq,
) -> Result<(), StoreError> {
    let rows: Vec<DoneRow> = on!(tx, conn => {
        let mut query = sqlx::QueryBuilder::new(DONE_FROM);
        query.push(" where work_done.component_id is null and work_done.recorded_by = ");
        query.push_bind(by.0);
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in &rows {
        dossier.load_done(row.record()?);
    }
    Ok(())
}
