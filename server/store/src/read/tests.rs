//! Test records by their identity.

use super::View;
use super::as_known::known_at;
use crate::column::At;
use crate::connect::on;
use crate::dossier::tests::TestRow;
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::row::{Both, row};
use crate::touches;
use domain::configuration::component::Subject;
use domain::identity::TestRecordId;
use domain::ledger::at_once::Tested;
use domain::ledger::dossier::{CarRecord, TestedRecord};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::obligations::{OfCar, Touch};
use domain::test_record::verdict::TestOutcome;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::sync::Arc;

/// The test records that were corrected, last recorded first.
const WITHDRAWN: &str = "select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash, later.seq as withdrawn_by
    from ledger later join ledger on ledger.seq = later.corrects where later.corrects is not null and ledger.kind = $1 order by ledger.seq desc";

row!(WithdrawnRow { withdrawn_by: i64 });

const TEST: &str = "select id, outcome, body from test_record where name = $1";

/// As it is written, before another.
const TEST_WRITTEN: &str = "select id, outcome, body from test_record where name in ($1, $2)
    order by case when name = $1 then 0 else 1 end limit 1";

impl View {
    /// One test record.
    pub async fn test(&mut self, id: &TestRecordId) -> Result<Option<TestedRecord>, StoreError> {
        let row: Option<TestRow> = on!(&mut self.tx, conn => sqlx::query_as(TEST)
            .bind(id.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// The test record that a text names as it is written, or else in capitals.
    pub async fn test_written(&mut self, text: &str) -> Result<Option<TestedRecord>, StoreError> {
        let row: Option<TestRow> = on!(&mut self.tx, conn => sqlx::query_as(TEST_WRITTEN)
            .bind(text).bind(text.to_uppercase()).fetch_optional(conn).await)?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// By what a test that was passed is void now: the first of what was touched on the car since that
    /// makes the task of the test due at once. Three statements, none where nothing does.
    pub async fn void_since(&mut self, test: &TestedRecord) -> Result<Option<Touch>, StoreError> {
        let record = &test.record;
        let Subject::Car(number) = &record.subject else {
            return Ok(None);
        };
        let documents = Arc::clone(&self.documents);
        let code = documents.task_of_test(&record.procedure, &record.revision);
        let task = code.and_then(|code| documents.tasks.get(code));
        let proves = test.outcome == TestOutcome::Passed;
        let Some(task) = task.filter(|known| {
            let mut opens = documents.obligations_of(&known.document);
            proves && opens.next().is_some()
        }) else {
            return Ok(None);
        };
        let Some(car) = self.car(number).await? else {
            return Ok(None);
        };
        let tests = self.tests_of_car(&car).await?;
        let tests: Vec<Tested> = tests.iter().map(Tested::from).collect();
        let touched = touches::load(&mut self.tx, &[(car.id.0, record.at)]).await?;
        let of = OfCar {
            car_type: &car.car.car_type,
            tests: &tests,
            documents: &documents,
            zone: &self.zone,
        };
        let touched = touched.get(&car.id.0).map_or(&[][..], Vec::as_slice);
        let first = of.first_opening(&task.document, touched, Some((record.at, test.by)));
        Ok(first.cloned())
    }

    /// What was touched on a car since a moment, in order. One statement, none where no task of the car
    /// is due at once after any work.
    pub async fn touched_on(
        &mut self,
        car: &CarRecord,
        since: Instant,
    ) -> Result<Vec<Touch>, StoreError> {
        if !self.documents.opens_obligations(&car.car.car_type) {
            return Ok(Vec::new());
        }
        let mut touched = touches::load(&mut self.tx, &[(car.id.0, since)]).await?;
        Ok(touched.remove(&car.id.0).unwrap_or_default())
    }

    /// A test record as it was known: none where it was recorded later. Of a record that was corrected or
    /// withdrawn since, what it said then: one statement more, linear in all that was withdrawn.
    pub async fn test_known(
        &mut self,
        id: &TestRecordId,
        known: Instant,
    ) -> Result<Option<TestedRecord>, StoreError> {
        let last = self.last_recorded(known).await?;
        match self.test(id).await?.filter(|test| test.by <= last) {
            Some(test) => Ok(Some(test)),
            None => self.withdrawn_test(id, known).await,
        }
    }

    /// What a record said that was withdrawn, or replaced by one of another identity, by now or by a
    /// time, with the entry that did so. It is for an identity of which none held then. Linear in all
    /// test records that were withdrawn.
    pub async fn test_withdrawn(
        &mut self,
        id: &TestRecordId,
        known: Option<Instant>,
    ) -> Result<Option<(TestedRecord, Seq)>, StoreError> {
        let last = match known {
            Some(known) => self.last_recorded(known).await?,
            None => Seq(i64::MAX),
        };
        let rows: Vec<Both<EntryRow, WithdrawnRow>> = on!(&mut self.tx, conn => sqlx::query_as(WITHDRAWN)
            .bind(FactKind::TestRecorded.name()).fetch_all(conn).await)?;
        for Both(row, withdrawn) in &rows {
            let entry = row.entry()?;
            if let Fact::TestRecorded(record) = entry.fact
                && record.id == *id
                && withdrawn.withdrawn_by <= last.0
            {
                let by_limits = (&*self.documents, &self.zone);
                let test = TestedRecord::new(entry.seq, record, by_limits);
                return Ok(Some((test, Seq(withdrawn.withdrawn_by))));
            }
        }
        Ok(None)
    }

    /// The record of an identity that was known at a time and no longer holds.
    async fn withdrawn_test(
        &mut self,
        id: &TestRecordId,
        known: Instant,
    ) -> Result<Option<TestedRecord>, StoreError> {
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash from withdrawn join ledger on ledger.seq = withdrawn.entry where ledger.kind = ");
            query.push_bind(FactKind::TestRecorded.name());
            known_at!(query, "withdrawn", At(known));
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in &rows {
            let entry = row.entry()?;
            if let Fact::TestRecorded(record) = entry.fact
                && record.id == *id
            {
                let by_limits = (&*self.documents, &self.zone);
                return Ok(Some(TestedRecord::new(entry.seq, record, by_limits)));
            }
        }
        Ok(None)
    }
}
