//! Test records as kept.

use super::KEYS;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, row};
use domain::identity::TestRecordId;
use domain::ledger::dossier::{Dossier, TestedRecord};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

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

/// Loads test records by their identity.
pub(super) async fn load_tests(
    tx: &mut Tx,
    dossier: &mut Dossier,
    wanted: &BTreeSet<TestRecordId>,
) -> Result<(), StoreError> {
    let wanted: Vec<&TestRecordId> = wanted.iter().collect();
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<TestRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (name) as (");
            query.push_values(chunk, |mut row, id| {
                row.push_bind(id.as_str());
            });
            query.push(") select test_record.id, test_record.outcome, test_record.body from wanted cross join test_record where test_record.name = wanted.name");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            let record = row.record()?;
            dossier.tests.insert(record.record.id.clone(), record);
        }
    }
    Ok(())
}
