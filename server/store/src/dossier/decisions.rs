//! Decisions about trains and confirmed checks, as kept; and trains as they stand, for decisions
//! that are to be recorded.

use super::KEYS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::read::doubted::tell_doubts;
use crate::read::formations::formations;
use crate::read::trains::formed_later;
use crate::row::{from_json, parsed, row};
use crate::shape::padded;
use domain::configuration::car::Vehicle;
use domain::decision::follow_up::ConfirmedCheck;
use domain::identity::{CarNumber, TrainId};
use domain::ledger::dossier::{DecisionRecord, Dossier, TrainAsItStands, Void};
use domain::ledger::entry::Seq;
use domain::ledger::touches::{DecisionsTouched, Touched};
use domain::time::Instant;
use domain::worked::Missing;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

row!(
    /// A decision.
    DecisionRow {
        id: i64,
        decided_at: At,
        recorded_by: String,
        body: String,
        void_by: Option<i64>,
        void_because: Option<String>,
        told_late_by: Option<i64>,
    }
);

/// The columns of [`DecisionRow`].
pub(crate) const DECISION_COLUMNS: &str = "decision.id, decision.decided_at, decision.recorded_by, decision.body, decision.void_by, decision.void_because, decision.told_late_by";

impl DecisionRow {
    /// The decision as the core has it.
    pub(crate) fn record(&self) -> Result<DecisionRecord, sqlx::Error> {
        let void = match (self.void_by, &self.void_because) {
            (Some(by), Some(because)) => Some(Void {
                by: Seq(by),
                because: parsed(because)?,
            }),
            _ => None,
        };
        Ok(DecisionRecord {
            id: Seq(self.id),
            at: self.decided_at.0,
            recorded_by: parsed(&self.recorded_by)?,
            taken: from_json(&self.body)?,
            void,
            told_late: self.told_late_by.map(Seq),
        })
    }
}

row!(
    /// A confirmed check.
    ConfirmedRow {
        id: i64,
        isolation_id: i64,
        check_kind: String,
        confirmed_by: String,
        confirmed_at: At,
    }
);

impl ConfirmedRow {
    /// The check as the core has it.
    pub(crate) fn record(&self) -> Result<ConfirmedCheck, sqlx::Error> {
        Ok(ConfirmedCheck {
            by: Seq(self.id),
            isolation: Seq(self.isolation_id),
            check: parsed(&self.check_kind)?,
            person: parsed(&self.confirmed_by)?,
            at: self.confirmed_at.0,
        })
    }
}

/// Loads the decisions that stand and can become void: two statements at most for each
/// [`KEYS`] cars, none where no verdict can move.
pub(super) async fn load_decisions(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
) -> Result<(), StoreError> {
    let rows = match touched.decisions {
        DecisionsTouched::None => return Ok(()),
        DecisionsTouched::All => all(tx).await?,
        DecisionsTouched::OfCars => {
            let mut rows = of_cars(tx, &touched.cars).await?;
            rows.extend(of_trains(tx, &touched.trains).await?);
            rows
        }
    };
    for row in &rows {
        dossier.decisions.insert(Seq(row.id), row.record()?);
    }
    Ok(())
}

async fn all(tx: &mut Tx) -> Result<Vec<DecisionRow>, StoreError> {
    Ok(on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(DECISION_COLUMNS).push(" from decision where decision.void_by is null");
        query.build_query_as().fetch_all(conn).await
    })?)
}

async fn of_cars(tx: &mut Tx, cars: &BTreeSet<CarNumber>) -> Result<Vec<DecisionRow>, StoreError> {
    let cars: Vec<&CarNumber> = cars.iter().collect();
    let mut rows = Vec::new();
    for chunk in cars.chunks(KEYS) {
        let found: Vec<DecisionRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number) as (");
            query.push_values(chunk, |mut row, number| {
                row.push_bind(number.as_str());
            });
            query.push(") select distinct ").push(DECISION_COLUMNS);
            query.push(" from wanted cross join decision_car cross join decision where decision_car.car_number = wanted.number and decision.id = decision_car.decision_id and decision.void_by is null");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        rows.extend(found);
    }
    Ok(rows)
}

async fn of_trains(
    tx: &mut Tx,
    trains: &BTreeSet<TrainId>,
) -> Result<Vec<DecisionRow>, StoreError> {
    let trains: Vec<&TrainId> = trains.iter().collect();
    let mut rows = Vec::new();
    for chunk in trains.chunks(KEYS) {
        let found: Vec<DecisionRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (name) as (");
            query.push_values(chunk, |mut row, name| {
                row.push_bind(name.as_str());
            });
            query.push(") select ").push(DECISION_COLUMNS);
            query.push(" from wanted cross join decision where decision.train = wanted.name and decision.void_by is null");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        rows.extend(found);
    }
    Ok(rows)
}

/// Loads the trains that are decided about, as they stand: what the verdict rests on and, where any entry
/// ever raised a doubt, what is to be judged again on them.
pub(super) async fn load_standing(
    tx: &mut Tx,
    dossier: &mut Dossier,
    (decided, doubts_seq): (&BTreeMap<TrainId, Instant>, i64),
) -> Result<(), StoreError> {
    for (id, at) in decided {
        let Some(train) = dossier.trains.get(id) else {
            continue;
        };
        let later = formed_later(tx, train).await?;
        let vehicles: &[Vehicle] = &train.formation.vehicles;
        let on = dossier.zone.day_of(*at);
        let wanted = [vehicles];
        let mut found = formations(tx, &dossier.documents, (&wanted, Some(on))).await?;
        if doubts_seq != 0 {
            let all = found.iter_mut().flatten().flatten().collect();
            tell_doubts(tx, all).await?;
        }
        let found = found.pop();
        let mut since = train.formed_at;
        let cars = match found {
            Some(Ok(cars)) => {
                let isolations = cars.iter().flat_map(|car| &car.isolations);
                since = isolations.fold(since, |latest, one| latest.max(one.since));
                let documents = &dossier.documents;
                let cars = cars.iter();
                cars.map(|car| car.for_decision(documents, on)).collect()
            }
            Some(Err(lost)) => Err(Missing::one(lost.to_string(), format!("train {id}"))),
            None => Err(Missing::one("cars", format!("train {id}"))),
        };
        let standing = TrainAsItStands {
            cars,
            since,
            formed_later: later,
        };
        dossier.standing.insert(id.clone(), standing);
    }
    Ok(())
}

const CONFIRMED: &str = "select id, isolation_id, check_kind, confirmed_by, confirmed_at from check_confirmed where id = $1";

/// The checks of cut-outs that were confirmed by a moment and by an entry, as far as they still hold.
/// One statement, none where nothing was cut out.
pub(crate) async fn confirmed_then(
    tx: &mut Tx,
    isolations: &[i64],
    (known, at): (Seq, Instant),
) -> Result<Vec<ConfirmedCheck>, StoreError> {
    if isolations.is_empty() {
        return Ok(Vec::new());
    }
    let rows: Vec<ConfirmedRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select id, isolation_id, check_kind, confirmed_by, confirmed_at from check_confirmed where isolation_id in (");
        let mut list = query.separated(", ");
        for id in padded(isolations) {
            list.push_bind(id.copied());
        }
        query.push(") and id <= ").push_bind(known.0);
        query.push(" and confirmed_at <= ").push_bind(At(at));
        query.push(" order by id");
        query.build_query_as().fetch_all(conn).await
    })?;
    let checks: Result<Vec<_>, _> = rows.iter().map(ConfirmedRow::record).collect();
    Ok(checks?)
}

/// Loads the confirmations that are corrected.
pub(super) async fn load_confirmed(
    tx: &mut Tx,
    dossier: &mut Dossier,
    seq: Seq,
) -> Result<(), StoreError> {
    let row: Option<ConfirmedRow> =
        on!(tx, conn => sqlx::query_as(CONFIRMED).bind(seq.0).fetch_optional(conn).await)?;
    if let Some(row) = row {
        dossier.confirmed.insert(seq, row.record()?);
    }
    Ok(())
}
