//! Test records as kept.

use super::KEYS;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::row::{from_json, parsed, row};
use crate::touches;
use domain::configuration::component::Subject;
use domain::identity::{CarNumber, TestRecordId};
use domain::ledger::dossier::{Dossier, TestedRecord};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::touches::Touched;
use domain::time::Instant;
use sqlx::QueryBuilder;

row!(
    /// A test record.
    TestRow {
        id: i64,
        outcome: String,
        body: String,
    }
);

impl TestRow {
    /// The record as the core has it.
    pub(crate) fn record(&self) -> Result<TestedRecord, sqlx::Error> {
        Ok(TestedRecord {
            by: Seq(self.id),
            record: from_json(&self.body)?,
            outcome: parsed(&self.outcome)?,
        })
    }
}

const ENDED_AFTER: &str = "select seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash
    from ledger where kind = $1 and seq > $2
    and not exists (select 1 from ledger other where other.corrects = ledger.seq) order by seq";

/// Loads the entries that ended isolations on the strength of a test that is corrected, and says
/// that their positions are needed. Linear in the isolations that ended since.
pub(super) async fn load_proved(
    tx: &mut Tx,
    (dossier, touched): (&mut Dossier, &mut Touched),
    (test, by): (&TestRecordId, Seq),
) -> Result<(), StoreError> {
    let rows: Vec<EntryRow> = on!(tx, conn => sqlx::query_as(ENDED_AFTER)
        .bind(FactKind::IsolationEnded.name()).bind(by.0).fetch_all(conn).await)?;
    for row in &rows {
        let entry = row.entry()?;
        if let Fact::IsolationEnded { at, proved_by } = &entry.fact
            && proved_by == test
        {
            touched.isolations.insert(at.clone());
            dossier.proved.push(entry);
        }
    }
    Ok(())
}

/// Loads test records: some by their identity, and all of some cars.
pub(super) async fn load_tests(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
) -> Result<(), StoreError> {
    let cars: Vec<&CarNumber> = touched.tested.iter().collect();
    for chunk in cars.chunks(KEYS) {
        let rows: Vec<TestRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (number) as (");
            query.push_values(chunk, |mut row, car| {
                row.push_bind(car.as_str());
            });
            query.push(") select test_record.id, test_record.outcome, test_record.body from wanted cross join car cross join test_record where car.number = wanted.number and test_record.car_id = car.id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        keep(dossier, &rows)?;
    }
    let unknown = |id: &&TestRecordId| !dossier.tests.contains_key(*id);
    let wanted: Vec<&TestRecordId> = touched.tests.iter().filter(unknown).collect();
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<TestRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (name) as (");
            query.push_values(chunk, |mut row, id| {
                row.push_bind(id.as_str());
            });
            query.push(") select test_record.id, test_record.outcome, test_record.body from wanted cross join test_record where test_record.name = wanted.name");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        keep(dossier, &rows)?;
    }
    load_touched(tx, dossier, touched).await
}

/// Loads what was touched on the cars since the tests that are to prove brakes on them restored. One
/// statement, none where nothing is to be proved.
async fn load_touched(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
) -> Result<(), StoreError> {
    let mut wanted: Vec<(i64, Instant)> = Vec::new();
    for car in &touched.tested {
        let proofs = touched.tests.iter().filter_map(|id| dossier.tests.get(id));
        let of_car = proofs.filter(|test| test.record.subject == Subject::Car(car.clone()));
        let since = of_car.map(|test| test.record.at).min();
        if let (Some(known), Some(since)) = (dossier.cars.get(car), since) {
            wanted.push((known.id.0, since));
        }
    }
    let mut found = touches::load(tx, &wanted).await?;
    for car in &touched.tested {
        let id = dossier.cars.get(car).map(|known| known.id.0);
        if let Some(since) = id.and_then(|id| found.remove(&id)) {
            dossier.touched.insert(car.clone(), since);
        }
    }
    Ok(())
}

fn keep(dossier: &mut Dossier, rows: &[TestRow]) -> Result<(), sqlx::Error> {
    for row in rows {
        let record = row.record()?;
        dossier.tests.insert(record.record.id.clone(), record);
    }
    Ok(())
}
