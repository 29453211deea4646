//! Trains as they were formed.

use super::View;
use super::cars::limit;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::decisions::{DECISION_COLUMNS, DecisionRow};
use crate::error::StoreError;
use crate::row::{from_json, parsed, row};
use domain::configuration::car::Train;
use domain::identity::{CarNumber, TrainId};
use domain::ledger::dossier::{DecisionRecord, Formed};
use domain::ledger::entry::Seq;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, HashMap};

row!(TrainRow {
    id: i64,
    name: String,
    formed_by: i64,
    formed_at: At,
    formation: String
});

impl TrainRow {
    fn train(&self) -> Result<Formed<Train>, sqlx::Error> {
        let formation = Train {
            id: parsed(&self.name)?,
            vehicles: from_json(&self.formation)?,
        };
        let (id, by) = (Seq(self.id), Seq(self.formed_by));
        Ok(Formed {
            id,
            by,
            formed_at: self.formed_at.0,
            formation,
        })
    }
}

const TRAINS: &str =
    "select id, name, formed_by, formed_at, formation from train order by name limit $1";
const TRAIN: &str = "select id, name, formed_by, formed_at, formation from train where name = $1";
/// The most trains that a list shows, the first by name.
pub const TRAINS_MAX: usize = 500;

row!(TrainNameRow { name: String });

const FORMED_LATER: &str = "select distinct other.name
    from train_car mine
    join train_car theirs on theirs.car_number = mine.car_number and theirs.train_id <> mine.train_id
    join train other on other.id = theirs.train_id
    where mine.train_id = $1 and (other.formed_at, other.formed_by) > ($2, $3) order by other.name";

row!(SupersededRow {
    name: String,
    later: String
});

const SUPERSEDED: &str = "select distinct shown.name as name, other.name as later
    from (select id, formed_at, formed_by, name from train order by name limit $1) shown
    join train_car mine on mine.train_id = shown.id
    join train_car theirs on theirs.car_number = mine.car_number and theirs.train_id <> shown.id
    join train other on other.id = theirs.train_id
    where (other.formed_at, other.formed_by) > (shown.formed_at, shown.formed_by) order by shown.name, other.name";

row!(CutOutsRow {
    train: String,
    cut_outs: i64,
    last_since: At,
});

/// The cut-outs in force on the cars of a train.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CutOutsOnTrain {
    /// How many there are.
    pub count: i64,
    /// Since when the newest of them is in force.
    pub last_since: Instant,
}

const TRAIN_OF_CAR: &str = "select train.name from train_car join train on train.id = train_car.train_id where train_car.car_number = $1
    and not exists (select 1 from train_car mine
        join train_car theirs on theirs.car_number = mine.car_number and theirs.train_id <> mine.train_id
        join train other on other.id = theirs.train_id
        where mine.train_id = train.id and (other.formed_at, other.formed_by) > (train.formed_at, train.formed_by))";

const CUT_OUTS: &str =
    "select train.name as train, count(*) as cut_outs, max(isolation.since) as last_since
    from isolation join car on car.id = isolation.car_id
    join train_car on train_car.car_number = car.number
    join train on train.id = train_car.train_id
    where isolation.ended_at is null group by train.name";

const LAST_DECISIONS: &str = "select max(other.id) from shown
        join decision other on other.train = shown.name group by shown.name
    union select max(decision_car.decision_id) from shown
        join train_car on train_car.train_id = shown.id
        join decision_car on decision_car.car_number = train_car.car_number
        group by decision_car.car_number ";

/// With the trains of whose cars the last test by a procedure was failed and told only after a cut-out
/// had ended, for which one by the same procedure had passed.
const ENDED: &str = "with failed (train_id) as (select distinct train_car.train_id
        from test_record cross join car cross join train_car cross join isolation cross join ledger
        where test_record.outcome = 'failed' and test_record.car_id is not null
        and car.id = test_record.car_id and train_car.car_number = car.number
        and isolation.car_id = test_record.car_id and isolation.ended_at >= test_record.tested_at and isolation.ended_by < test_record.id
        and ledger.seq = isolation.ended_by and ledger.kind = 'isolation_ended'
        and exists (select 1 from test_record proof where proof.car_id = test_record.car_id and proof.procedure_code = test_record.procedure_code
            and proof.outcome = 'passed' and proof.id < isolation.ended_by and proof.tested_at >= isolation.since and proof.tested_at <= test_record.tested_at)
        and not exists (select 1 from test_record later where later.car_id = test_record.car_id and later.procedure_code = test_record.procedure_code
            and later.outcome in ('passed', 'failed') and (later.tested_at > test_record.tested_at or (later.tested_at = test_record.tested_at and later.id > test_record.id))))
    select train.name, cast(case when train.id in (select failed.train_id from failed) then 1 else 0 end as BIGINT) as failed from train
    where (train.id in (select failed.train_id from failed)
        or exists (select 1 from decision join ledger on ledger.seq = decision.void_by
            where decision.id = (select max(last.id) from decision last where last.train = train.name) and ledger.recorded_at > $1))
    and not exists (select 1 from train_car mine
        join train_car theirs on theirs.car_number = mine.car_number and theirs.train_id <> mine.train_id
        join train other on other.id = theirs.train_id
        where mine.train_id = train.id and (other.formed_at, other.formed_by) > (train.formed_at, train.formed_by))
    order by train.name";

row!(EndedRow {
    name: String,
    failed: i64
});

/// Why a train is to be looked at though no cut-out may be in force on it any more.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndedBecause {
    /// A test of a car of it was failed, and told only after a cut-out had ended: it may not be restored.
    FailedTest,
    /// The last decision about it became void: whoever was told of it is to hear so.
    DecisionVoid,
}

/// The trains formed after one of which cars are in it, by name.
pub(crate) async fn formed_later(
    tx: &mut Tx,
    train: &Formed<Train>,
) -> Result<Vec<TrainId>, StoreError> {
    let rows: Vec<TrainNameRow> = on!(tx, conn => sqlx::query_as(FORMED_LATER)
        .bind(train.id.0).bind(At(train.formed_at)).bind(train.by.0).fetch_all(conn).await)?;
    let names: Result<Vec<_>, _> = rows.iter().map(|row| parsed(&row.name)).collect();
    Ok(names?)
}

impl View {
    /// Trains by name, at most [`TRAINS_MAX`]; one more where there are more.
    pub async fn trains(&mut self) -> Result<Vec<Formed<Train>>, StoreError> {
        let rows: Vec<TrainRow> = on!(&mut self.tx, conn => sqlx::query_as(TRAINS).bind(limit(TRAINS_MAX)).fetch_all(conn).await)?;
        let trains: Result<Vec<_>, _> = rows.iter().map(TrainRow::train).collect();
        Ok(trains?)
    }

    /// One train.
    pub async fn train(&mut self, id: &TrainId) -> Result<Option<Formed<Train>>, StoreError> {
        let row: Option<TrainRow> = on!(&mut self.tx, conn => sqlx::query_as(TRAIN).bind(id.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(|row| row.train()).transpose()?)
    }

    /// The trains of those names, by name.
    pub async fn trains_named(
        &mut self,
        names: &[TrainId],
    ) -> Result<Vec<Formed<Train>>, StoreError> {
        if names.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<TrainRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select id, name, formed_by, formed_at, formation from train where name in (");
            let mut list = query.separated(", ");
            for name in names {
                list.push_bind(name.as_str());
            }
            query.push(") order by name");
            query.build_query_as().fetch_all(conn).await
        })?;
        let trains: Result<Vec<_>, _> = rows.iter().map(TrainRow::train).collect();
        Ok(trains?)
    }

    /// The trains formed after this one of which cars are in it, by name: what is asked about it
    /// may be about cars that now run elsewhere.
    pub async fn formed_later(
        &mut self,
        train: &Formed<Train>,
    ) -> Result<Vec<TrainId>, StoreError> {
        formed_later(&mut self.tx, train).await
    }

    /// Of the trains that [`View::trains`] lists, those of which cars are in trains formed later,
    /// with these.
    pub async fn superseded(&mut self) -> Result<HashMap<TrainId, Vec<TrainId>>, StoreError> {
        let rows: Vec<SupersededRow> = on!(&mut self.tx, conn => sqlx::query_as(SUPERSEDED)
            .bind(limit(TRAINS_MAX)).fetch_all(conn).await)?;
        let mut later: HashMap<TrainId, Vec<TrainId>> = HashMap::new();
        for row in rows {
            let others = later.entry(parsed(&row.name)?).or_default();
            others.push(parsed(&row.later)?);
        }
        Ok(later)
    }

    /// Of the trains that [`View::trains`] lists, the last decision about each and the last with
    /// each of their cars, standing or void, the newest first. One statement; cost grows with the
    /// decisions there are of them.
    pub async fn last_decisions(&mut self) -> Result<Vec<DecisionRecord>, StoreError> {
        let rows: Vec<DecisionRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with shown (id, name) as (select id, name from train order by name limit ");
            query.push_bind(limit(TRAINS_MAX)).push(") select ").push(DECISION_COLUMNS);
            query.push(" from decision where decision.id in (").push(LAST_DECISIONS);
            query.push(") order by decision.id desc");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(DecisionRow::record).collect();
        Ok(records?)
    }

    /// The trains that run now of which the last decision was made void by an entry recorded since a
    /// moment, and those with a car of which the last test by a procedure was failed and told only
    /// after a cut-out had ended for which an earlier one had passed. One statement; cost grows with the
    /// trains, and with the tests of cars that were failed.
    pub async fn ended_since(
        &mut self,
        since: Instant,
    ) -> Result<BTreeMap<TrainId, EndedBecause>, StoreError> {
        let rows: Vec<EndedRow> = on!(&mut self.tx, conn => sqlx::query_as(ENDED)
            .bind(At(since)).fetch_all(conn).await)?;
        let mut ended = BTreeMap::new();
        for row in rows {
            let because = match row.failed {
                0 => EndedBecause::DecisionVoid,
                _ => EndedBecause::FailedTest,
            };
            ended.insert(parsed(&row.name)?, because);
        }
        Ok(ended)
    }

    /// The train that a car runs in: the one formed last of all that any car of it is in.
    pub async fn train_of_car(&mut self, car: &CarNumber) -> Result<Option<TrainId>, StoreError> {
        let row: Option<TrainNameRow> = on!(&mut self.tx, conn => sqlx::query_as(TRAIN_OF_CAR)
            .bind(car.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(|row| parsed(&row.name)).transpose()?)
    }

    /// The cut-outs in force on the cars of each train that has any.
    pub async fn cut_outs_by_train(
        &mut self,
    ) -> Result<HashMap<TrainId, CutOutsOnTrain>, StoreError> {
        let rows: Vec<CutOutsRow> =
            on!(&mut self.tx, conn => sqlx::query_as(CUT_OUTS).fetch_all(conn).await)?;
        let mut found: HashMap<TrainId, CutOutsOnTrain> = HashMap::new();
        for row in rows {
            let on_train = CutOutsOnTrain {
                count: row.cut_outs,
                last_since: row.last_since.0,
            };
            found.insert(parsed(&row.train)?, on_train);
        }
        Ok(found)
    }
}
