//! Loads what was told at a time, as known at another, into a dossier.

use super::ids;
use crate::column::At;
use crate::connect::on;
use crate::dossier::assemblies::{INNER_FITMENT_COLUMNS, InnerFitmentRow};
use crate::dossier::components::{COMPONENT_COLUMNS, ComponentRow, FITMENT_COLUMNS, FitmentRow};
use crate::dossier::isolations::{ISOLATION_COLUMNS, IsolationRow};
use crate::dossier::meters::{self, AND_REPLACEMENTS, READINGS, ShownRow};
use crate::dossier::states::{STATE_COLUMNS, StateRow};
use crate::dossier::tests::TestRow;
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use crate::ledger::{self, EntryRow};
use crate::read::as_known::known_at;
use crate::read::{AsAt, View};
use crate::row::{Both, row};
use crate::shape::padded;
use domain::ledger::dossier::{ComponentRecord, Dossier, IsolationRecord};
use domain::ledger::entry::{Entry, Seq};
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

row!(OnCarRow { car_id: i64 });

/// Pushes that an entry was recorded by a time, under ` and `.
macro_rules! recorded_by {
    ($query:expr, $column:literal, $known:expr) => {
        $query.push(concat!(
            " and (select ledger.recorded_at from ledger where ledger.seq = ",
            $column,
            ") <= "
        ));
        $query.push_bind($known);
    };
}

impl View {
    /// What was said of components until then.
    pub(in crate::read) async fn states_then(
        &mut self,
        dossier: &mut Dossier,
        components: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.id in (");
            ids!(query, components);
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut records: HashMap<i64, ComponentRecord> = HashMap::new();
        for row in rows {
            let record = row.record()?;
            records.insert(record.id.0, record);
        }
        let rows: Vec<StateRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(STATE_COLUMNS).push(" from component_state where component_state.component_id in (");
            ids!(query, components);
            query.push(" and component_state.since <= ").push_bind(At(as_at.effective));
            known_at!(query, "component_state", At(as_at.known));
            query.build_query_as().fetch_all(conn).await
        })?;
        // Of several that bore one serial number, since receipts were withdrawn, one was there then.
        for row in rows {
            if let Some(record) = records.get(&row.component_id) {
                let component = &record.component;
                dossier.load_state(component, row.state()?);
                if dossier
                    .components
                    .get(component)
                    .is_none_or(|known| known.id != record.id)
                {
                    dossier.components.insert(component.clone(), record.clone());
                }
            }
        }
        Ok(())
    }

    /// Where components were on cars until then; gives these cars.
    pub(super) async fn fitments_then(
        &mut self,
        dossier: &mut Dossier,
        components: &[i64],
        as_at: AsAt,
    ) -> Result<BTreeSet<i64>, StoreError> {
        let rows: Vec<Both<FitmentRow, OnCarRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select fitment.car_id, ");
            query.push(FITMENT_COLUMNS);
            query.push(" from fitment join component on component.id = fitment.component_id join car_ever car on car.id = fitment.car_id where fitment.component_id in (");
            ids!(query, components);
            query.push(" and fitment.from_at <= ").push_bind(At(as_at.effective));
            known_at!(query, "fitment", At(as_at.known));
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut cars = BTreeSet::new();
        for Both(row, on) in rows {
            let mut fitment = row.fitment()?;
            fitment.end = fitment.end.filter(|end| end.at <= as_at.effective);
            dossier.load_fitment(fitment);
            cars.insert(on.car_id);
        }
        Ok(cars)
    }

    /// What components were inside until then.
    pub(super) async fn inner_then(
        &mut self,
        dossier: &mut Dossier,
        components: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let rows: Vec<InnerFitmentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(INNER_FITMENT_COLUMNS);
            query.push(" from inner_fitment join component on component.id = inner_fitment.component_id join component host on host.id = inner_fitment.host_id where inner_fitment.component_id in (");
            ids!(query, components);
            query.push(" and inner_fitment.from_at <= ").push_bind(At(as_at.effective));
            known_at!(query, "inner_fitment", At(as_at.known));
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows {
            let mut own = row.fitment()?;
            own.end = own.end.filter(|end| end.at <= as_at.effective);
            dossier.load_own_fitment(own);
        }
        Ok(())
    }

    /// The work done on things and their tests until then, as far as it still holds.
    pub(super) async fn work_then(
        &mut self,
        dossier: &mut Dossier,
        subjects: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let (effective, known) = (At(as_at.effective), At(as_at.known));
        let done: Vec<DoneRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(DONE_FROM);
            query.push(" where (work_done.component_id in (");
            ids!(query, subjects);
            query.push(" or work_done.subject_car_id in (");
            ids!(query, subjects);
            query.push(") and work_done.done_at <= ").push_bind(effective);
            recorded_by!(query, "work_done.recorded_by", known);
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in &done {
            dossier.load_done(row.record()?);
        }
        self.tests_then(dossier, subjects, as_at).await
    }

    /// The tests of things until then, as far as they still hold.
    pub(super) async fn tests_then(
        &mut self,
        dossier: &mut Dossier,
        subjects: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let (effective, known) = (At(as_at.effective), At(as_at.known));
        let tests: Vec<TestRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select id, outcome, body from test_record where (test_record.component_id in (");
            ids!(query, subjects);
            query.push(" or test_record.car_id in (");
            ids!(query, subjects);
            query.push(") and test_record.tested_at <= ").push_bind(effective);
            recorded_by!(query, "test_record.id", known);
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in &tests {
            let tested = row.record()?;
            dossier.tests.insert(tested.record.id.clone(), tested);
        }
        Ok(())
    }

    /// The readings of cars and the replacements of their meters until then, as far as they still
    /// hold.
    pub(super) async fn meters_then(
        &mut self,
        dossier: &mut Dossier,
        cars: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let (effective, known) = (At(as_at.effective), At(as_at.known));
        let rows: Vec<ShownRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(READINGS);
            query.push("from car_ever car join reading on reading.car_id = car.id where car.id in (");
            ids!(query, cars);
            query.push(" and reading.taken_at <= ").push_bind(effective);
            recorded_by!(query, "reading.recorded_by", known);
            query.push(AND_REPLACEMENTS).push("from car_ever car join meter_replacement on meter_replacement.car_id = car.id where car.id in (");
            ids!(query, cars);
            query.push(" and meter_replacement.replaced_at <= ").push_bind(effective);
            recorded_by!(query, "meter_replacement.recorded_by", known);
            query.build_query_as().fetch_all(conn).await
        })?;
        meters::put(dossier, &rows)
    }

    /// The entries of use and work of until then that were known then and are withdrawn since.
    pub(super) async fn withdrawn_then(
        &mut self,
        subjects: &[i64],
        as_at: AsAt,
    ) -> Result<Vec<Entry>, StoreError> {
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash from withdrawn join ledger on ledger.seq = withdrawn.entry where withdrawn.subject_id in (");
            ids!(query, subjects);
            query.push(" and ledger.effective_at <= ").push_bind(At(as_at.effective));
            known_at!(query, "withdrawn", At(as_at.known));
            query.push(" order by ledger.seq");
            query.build_query_as().fetch_all(conn).await
        })?;
        let entries: Result<Vec<_>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
        Ok(entries?)
    }

    /// Of a cut-out that another entry told then, how it had ended: that is kept with what has taken
    /// its place. A statement for each time that it was corrected.
    async fn end_known(
        &mut self,
        dossier: &mut Dossier,
        record: &IsolationRecord,
        last: Seq,
    ) -> Result<(), StoreError> {
        let Some(ended) = record.ended else {
            return Ok(());
        };
        let mut told_by = record.id;
        while last < told_by {
            let kept = ledger::read_one(&mut self.tx, told_by).await?;
            let Some(wrong) = kept.and_then(|(entry, _)| entry.corrects) else {
                return Ok(());
            };
            told_by = wrong;
        }
        dossier.load_end_known(told_by, ended);
        Ok(())
    }

    /// The cut-outs of cars until then, as far as they still hold: none is ended by what came later.
    pub(super) async fn cut_outs_then(
        &mut self,
        dossier: &mut Dossier,
        cars: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        let rows: Vec<IsolationRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(ISOLATION_COLUMNS);
            query.push(" from isolation join car_ever car on car.id = isolation.car_id where isolation.car_id in (");
            ids!(query, cars);
            query.push(" and isolation.since <= ").push_bind(At(as_at.effective));
            query.push(" order by isolation.since, isolation.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, sqlx::Error> = rows.iter().map(IsolationRow::record).collect();
        let records = records?;
        let ends: HashMap<Seq, Option<(Instant, Seq)>> =
            records.iter().map(|one| (one.id, one.ended)).collect();
        for mut record in records {
            // A state that was told only later did not end the one before it: that lasted until the next.
            while let Some((_, by)) = record.ended.filter(|(_, by)| last < *by) {
                record.ended = ends.get(&by).copied().flatten();
            }
            record.ended = record.ended.filter(|(at, _)| *at <= as_at.effective);
            if last < record.id {
                self.end_known(dossier, &record, last).await?;
                continue;
            }
            let at = record.cut_out.at.clone();
            dossier.isolations.entry(at).or_default().push(record);
        }
        Ok(())
    }
}
