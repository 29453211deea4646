//! The isolation board: cut-outs in force, and those of a car.

use super::View;
use super::cars::limit;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::decisions::ConfirmedRow;
use crate::dossier::isolations::{ISOLATION_COLUMNS, IsolationRow};
use crate::error::StoreError;
use crate::row::{Both, parsed_option, row};
use domain::decision::follow_up::ConfirmedCheck;
use domain::identity::{CarNumber, PositionCode, TrainId, UnitNumber};
use domain::ledger::dossier::{CarRecord, IsolationRecord};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;

/// A cut-out in force, with the train it is in.
#[derive(Debug, Clone, PartialEq)]
pub struct InForce {
    /// The cut-out.
    pub isolation: IsolationRecord,
    /// The car's unit.
    pub unit: Option<UnitNumber>,
    /// The train that the car runs in: the one formed last of all that any car of it is in. What a
    /// train formed later left over of another is in none.
    pub train: Option<TrainId>,
}

/// The most cut-outs that the board shows.
pub const BOARD_MAX: usize = 2_000;

row!(PlacedIsolationRow {
    id: i64,
    car: String,
    position: String,
    state: String,
    cause: String,
    since: At,
    not_before: Option<At>,
    unit_number: Option<String>,
    train: Option<String>,
    first_since: At,
});

const IN_FORCE: &str = "select isolation.id, car.number as car, isolation.position, isolation.state, isolation.cause, isolation.since, isolation.not_before, car.unit_number,
        (select train.name from train_car join train on train.id = train_car.train_id
            where train_car.car_number = car.number
            and not exists (select 1 from train_car mine
                join train_car theirs on theirs.car_number = mine.car_number and theirs.train_id <> mine.train_id
                join train other on other.id = theirs.train_id
                where mine.train_id = train.id and (other.formed_at, other.formed_by) > (train.formed_at, train.formed_by))
            limit 1) as train,
        coalesce((select min(earlier.since) from isolation earlier where earlier.car_id = isolation.car_id and earlier.position = isolation.position and earlier.since <= isolation.since and not exists (select 1 from isolation proven where proven.car_id = earlier.car_id and proven.position = earlier.position and proven.since >= earlier.since and proven.id <> isolation.id and proven.ended_at <= isolation.since and not exists (select 1 from isolation later where later.id = proven.ended_by))), isolation.since) as first_since
    from isolation join car on car.id = isolation.car_id
    where isolation.ended_at is null order by first_since, isolation.id limit $1";

impl PlacedIsolationRow {
    fn in_force(self) -> Result<InForce, sqlx::Error> {
        let unit = parsed_option(self.unit_number.as_deref())?;
        let train = parsed_option(self.train.as_deref())?;
        let row = IsolationRow {
            id: self.id,
            car: self.car,
            position: self.position,
            state: self.state,
            cause: self.cause,
            since: self.since,
            not_before: self.not_before,
            ended_at: None,
            ended_by: None,
            first_since: self.first_since,
        };
        Ok(InForce {
            isolation: row.record()?,
            unit,
            train,
        })
    }
}

impl View {
    /// Cut-outs in force, oldest first, each with the train that its car runs in; one more than [`BOARD_MAX`] where there are more. Grows with the cut-outs.
    pub async fn isolations_in_force(&mut self) -> Result<Vec<InForce>, StoreError> {
        let rows: Vec<PlacedIsolationRow> = on!(&mut self.tx, conn => sqlx::query_as(IN_FORCE)
            .bind(limit(BOARD_MAX)).fetch_all(conn).await)?;
        let board: Result<Vec<_>, _> = rows.into_iter().map(PlacedIsolationRow::in_force).collect();
        Ok(board?)
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
}

row!(CheckRow {
    check_id: Option<i64>,
    check_kind: Option<String>,
    confirmed_by: Option<String>,
    confirmed_at: Option<At>
});

impl CheckRow {
    fn record(self, isolation: Seq) -> Result<Option<ConfirmedCheck>, sqlx::Error> {
        let Self {
            check_id: Some(id),
            check_kind: Some(check_kind),
            confirmed_by: Some(confirmed_by),
            confirmed_at: Some(confirmed_at),
        } = self
        else {
            return Ok(None);
        };
        let row = ConfirmedRow {
            id,
            isolation_id: isolation.0,
            check_kind,
            confirmed_by,
            confirmed_at,
        };
        row.record().map(Some)
    }
}

/// The cut-outs in force on cars, each with the checks confirmed for it, all in one statement.
pub(super) async fn in_force_on(
    tx: &mut Tx,
    cars: &[CarNumber],
) -> Result<Vec<(IsolationRecord, Vec<ConfirmedCheck>)>, StoreError> {
    let rows: Vec<Both<IsolationRow, CheckRow>> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(ISOLATION_COLUMNS).push(", check_confirmed.id as check_id, check_confirmed.check_kind, check_confirmed.confirmed_by, check_confirmed.confirmed_at from isolation join car on car.id = isolation.car_id left join check_confirmed on check_confirmed.isolation_id = isolation.id where isolation.ended_at is null and car.number in (");
        let mut list = query.separated(", ");
        for car in cars {
            list.push_bind(car.as_str());
        }
        query.push(") order by isolation.since, isolation.id, check_confirmed.id");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut found: Vec<(IsolationRecord, Vec<ConfirmedCheck>)> = Vec::new();
    for Both(isolation, check) in rows {
        let id = Seq(isolation.id);
        let check = check.record(id)?;
        match found.last_mut().filter(|(known, _)| known.id == id) {
            Some((_, checks)) => checks.extend(check),
            None => found.push((isolation.record()?, check.into_iter().collect())),
        }
    }
    Ok(found)
}
