//! Cut-outs that ended on the strength of a test, and what is told of that by a test that was failed and
//! recorded later.

use super::{AsAt, View};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::tests::TestRow;
use crate::error::StoreError;
use crate::row::{from_json, row};
use domain::decision::failed_test::FailedTest;
use domain::identity::{CarNumber, TestRecordId};
use domain::ledger::dossier::TestedRecord;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::proof::Ended;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

row!(EndedRow {
    ended_at: At,
    ended_by: i64,
    body: String,
});

impl View {
    /// Of the tests of a car that were told by now or then, those that were failed and not passed since with
    /// which ends of cut-outs are not proved. Three statements, none where no test was failed; of a past
    /// time one more where it is not known yet which entry was the last then.
    pub async fn unproved(
        &mut self,
        car: &CarNumber,
        tests: &[TestedRecord],
        then: Option<AsAt>,
    ) -> Result<Vec<FailedTest>, StoreError> {
        let mut failed = FailedTest::last_of(tests);
        let by = match then {
            None => (Seq(i64::MAX), Instant::LATEST),
            Some(as_at) => (self.last_recorded(as_at.known).await?, as_at.effective),
        };
        tell_unproved(&mut self.tx, vec![(car, &mut failed)], by).await?;
        failed.retain(|one| !one.unproved.is_empty());
        Ok(failed)
    }
}

/// Tells with tests of cars that were failed which cut-outs had ended by a moment, and by an entry, on
/// the strength of an earlier one. Three statements, none where no test was failed.
pub(super) async fn tell_unproved(
    tx: &mut Tx,
    mut failed: Vec<(&CarNumber, &mut Vec<FailedTest>)>,
    (last, until): (Seq, Instant),
) -> Result<(), StoreError> {
    failed.retain(|(_, of_car)| !of_car.is_empty());
    let of_cars = failed.iter().flat_map(|(_, of_car)| of_car.iter());
    let names: BTreeSet<TestRecordId> = of_cars.map(|one| one.record.clone()).collect();
    let tests = tests_named(tx, &names).await?;
    let known = |id: &TestRecordId| tests.iter().find(|test| test.record.id == *id);
    let since = failed.iter().filter_map(|(car, of_car)| {
        let made = of_car
            .iter()
            .filter_map(|one| Some(known(&one.record)?.record.at));
        Some(((*car).clone(), made.min()?))
    });
    let since: BTreeMap<CarNumber, Instant> = since.collect();
    let ended = ended_by_tests(tx, &since).await?;
    for one in failed.into_iter().flat_map(|(_, of_car)| of_car) {
        let Some(test) = known(&one.record) else {
            continue;
        };
        let by_then = ended.iter();
        let by_then = by_then.filter(|end| end.ended.0 <= until && end.ended.1 <= last);
        let unproved = by_then.filter(|end| end.is_unproved_by(test));
        one.unproved = unproved.map(|end| end.position.clone()).collect();
    }
    Ok(())
}

/// The cut-outs of cars that ended on the strength of tests, those of each car at a moment or later. Two
/// statements, none where nothing is asked; linear in the cut-outs of the cars.
pub(crate) async fn ended_by_tests(
    tx: &mut Tx,
    wanted: &BTreeMap<CarNumber, Instant>,
) -> Result<Vec<Ended>, StoreError> {
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let rows: Vec<EndedRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("with wanted (number, since) as (");
        query.push_values(wanted, |mut row, (car, since)| {
            row.push_bind(car.as_str()).push_bind(At(*since));
        });
        query.push(") select isolation.ended_at, isolation.ended_by, ledger.body from wanted cross join car cross join isolation cross join ledger where car.number = wanted.number and isolation.car_id = car.id and isolation.ended_at >= wanted.since and ledger.seq = isolation.ended_by and ledger.kind = ");
        query.push_bind(FactKind::IsolationEnded.name());
        query.push(" order by isolation.ended_at, isolation.ended_by");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut ends = Vec::with_capacity(rows.len());
    for row in &rows {
        if let Fact::IsolationEnded { at, proved_by } = from_json(&row.body)? {
            ends.push((at, (row.ended_at.0, Seq(row.ended_by)), proved_by));
        }
    }
    let names = ends.iter().map(|(_, _, proof)| proof.clone()).collect();
    let proofs = tests_named(tx, &names).await?;
    let ended = ends.into_iter().filter_map(|(position, ended, proved_by)| {
        let mut proofs = proofs.iter();
        let proof = proofs.find(|test| test.record.id == proved_by)?;
        Some(Ended {
            position,
            ended,
            proof: proof.clone(),
        })
    });
    Ok(ended.collect())
}

/// Test records by their identities. One statement, none where nothing is asked.
async fn tests_named(
    tx: &mut Tx,
    names: &BTreeSet<TestRecordId>,
) -> Result<Vec<TestedRecord>, StoreError> {
    if names.is_empty() {
        return Ok(Vec::new());
    }
    let rows: Vec<TestRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select id, outcome, body from test_record where name in (");
        let mut list = query.separated(", ");
        for name in names {
            list.push_bind(name.as_str());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let tests: Result<Vec<_>, sqlx::Error> = rows.iter().map(TestRow::record).collect();
    Ok(tests?)
}
