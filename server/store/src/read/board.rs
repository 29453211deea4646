//! The isolation board: cut-outs in force, and those of a car.

use super::View;
use crate::connect::on;
use crate::dossier::isolations::{ISOLATION_COLUMNS, IsolationRow};
use crate::error::StoreError;
use crate::row::{parsed_option, row};
use domain::identity::{CarNumber, PositionCode, TrainId, UnitNumber};
use domain::ledger::dossier::{CarRecord, IsolationRecord};
use sqlx::QueryBuilder;

/// A cut-out in force, with the train it is in.
#[derive(Debug, Clone, PartialEq)]
pub struct InForce {
    /// The cut-out.
    pub isolation: IsolationRecord,
    /// The car's unit.
    pub unit: Option<UnitNumber>,
    /// The train that the car runs in.
    pub train: Option<TrainId>,
}

/// The most cut-outs that the board shows.
pub const BOARD_MAX: i64 = 500;

row!(TrainOfIsolation { id: i64, unit_number: Option<String>, train: Option<String> });

const IN_FORCE: &str = "select isolation.id, car.unit_number, min(train.name) as train
    from isolation join car on car.id = isolation.car_id
    left join train_car on train_car.car_number = car.number
    left join train on train.id = train_car.train_id
    where isolation.ended_at is null
    group by isolation.id, car.unit_number order by isolation.id";

impl View {
    /// Cut-outs in force, oldest first. Two statements; grows with the cut-outs.
    pub async fn isolations_in_force(&mut self) -> Result<Vec<InForce>, StoreError> {
        let places: Vec<TrainOfIsolation> =
            on!(&mut self.tx, conn => sqlx::query_as(IN_FORCE).fetch_all(conn).await)?;
        let rows: Vec<IsolationRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(ISOLATION_COLUMNS).push(" from isolation join car on car.id = isolation.car_id where isolation.ended_at is null order by isolation.since, isolation.id limit ");
            query.push_bind(BOARD_MAX);
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut board = Vec::with_capacity(rows.len());
        for row in rows {
            let place = places.iter().find(|place| place.id == row.id);
            board.push(InForce {
                isolation: row.record()?,
                unit: parsed_option(place.and_then(|place| place.unit_number.as_deref()))?,
                train: parsed_option(place.and_then(|place| place.train.as_deref()))?,
            });
        }
        Ok(board)
    }

    /// All isolations of a car, newest first.
    pub async fn isolations_of(
        &mut self,
        car: &CarRecord,
    ) -> Result<Vec<IsolationRecord>, StoreError> {
        let rows: Vec<IsolationRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(ISOLATION_COLUMNS).push(" from isolation join car on car.id = isolation.car_id where isolation.car_id = ");
            query.push_bind(car.id.0).push(" order by isolation.since desc, isolation.id desc");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(IsolationRow::record).collect();
        Ok(records?)
    }

    /// All isolations of a position, newest first.
    pub async fn isolations_at(
        &mut self,
        car: &CarRecord,
        position: &PositionCode,
    ) -> Result<Vec<IsolationRecord>, StoreError> {
        let rows: Vec<IsolationRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(ISOLATION_COLUMNS).push(" from isolation join car on car.id = isolation.car_id where isolation.car_id = ");
            query.push_bind(car.id.0).push(" and isolation.position = ").push_bind(position.as_str());
            query.push(" order by isolation.since desc, isolation.id desc");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(IsolationRow::record).collect();
        Ok(records?)
    }

    /// The cut-outs in force on cars, all in one statement.
    pub(super) async fn in_force_on(
        &mut self,
        cars: &[CarNumber],
    ) -> Result<Vec<IsolationRecord>, StoreError> {
        let rows: Vec<IsolationRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(ISOLATION_COLUMNS).push(" from isolation join car on car.id = isolation.car_id where isolation.ended_at is null and car.number in (");
            let mut list = query.separated(", ");
            for car in cars {
                list.push_bind(car.as_str());
            }
            query.push(") order by isolation.since, isolation.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(IsolationRow::record).collect();
        Ok(records?)
    }
}
