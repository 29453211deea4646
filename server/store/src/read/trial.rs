//! What is fitted on some cars, as far as a component is swapped with another to find a fault.

use super::View;
use crate::connect::on;
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::row::{parsed, row};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::decision::trial::FittedAt;
use domain::identity::CarNumber;
use domain::ledger::entry::{Entry, Seq};
use sqlx::QueryBuilder;

row!(FittedRow {
    number: String,
    position: String,
    part: String,
    serial: String,
    condition: String,
    since_by: i64,
});

impl FittedRow {
    fn fitted(&self) -> Result<FittedAt, sqlx::Error> {
        Ok(FittedAt {
            at: PositionRef {
                car: parsed(&self.number)?,
                position: parsed(&self.position)?,
            },
            component: ComponentRef {
                part: parsed(&self.part)?,
                serial: parsed(&self.serial)?,
            },
            condition: parsed(&self.condition)?,
            by: Seq(self.since_by),
        })
    }
}

impl View {
    /// Some entries by their numbers. One statement.
    pub async fn entries_numbered(&mut self, numbers: &[Seq]) -> Result<Vec<Entry>, StoreError> {
        if numbers.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash from ledger where seq in (");
            let mut list = query.separated(", ");
            for number in numbers {
                list.push_bind(number.0);
            }
            query.push(") order by seq");
            query.build_query_as().fetch_all(conn).await
        })?;
        let entries: Result<Vec<_>, _> = rows.iter().map(EntryRow::entry).collect();
        Ok(entries?)
    }

    /// Everything that is fitted on some cars now. One statement, linear in that.
    pub async fn fitted_on(&mut self, cars: &[&CarNumber]) -> Result<Vec<FittedAt>, StoreError> {
        if cars.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<FittedRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.number, fitment.position, component.part, component.serial, component.condition, component.since_by from car join fitment on fitment.car_id = car.id join component on component.id = fitment.component_id where fitment.known_until is null and fitment.until_at is null and car.number in (");
            let mut list = query.separated(", ");
            for car in cars {
                list.push_bind(car.as_str());
            }
            query.push(") order by car.number, fitment.position");
            query.build_query_as().fetch_all(conn).await
        })?;
        let fitted: Result<Vec<_>, _> = rows.iter().map(FittedRow::fitted).collect();
        Ok(fitted?)
    }
}
