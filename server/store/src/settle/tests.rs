//! The tests of things being settled, as far as due work depends on them.

use super::subjects::{Subjects, subjects_in};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::ledger::at_once::Tested;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::HashMap;

row!(TestedRow {
    subject_id: i64,
    id: i64,
    name: String,
    procedure_code: String,
    revision: String,
    tested_at: At,
    outcome: String,
});

/// The tests of subjects, by the subjects' ids. One statement.
pub(super) async fn load(
    tx: &mut Tx,
    subjects: &Subjects,
) -> Result<HashMap<i64, Vec<Tested>>, StoreError> {
    let rows: Vec<TestedRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select coalesce(component_id, car_id) as subject_id, id, name, procedure_code, revision, tested_at, outcome from test_record where ");
        subjects_in!(query, subjects, "component_id", "car_id");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut tests: HashMap<i64, Vec<Tested>> = HashMap::new();
    for row in rows {
        tests.entry(row.subject_id).or_default().push(Tested {
            by: Seq(row.id),
            id: parsed(&row.name)?,
            procedure: parsed(&row.procedure_code)?,
            revision: parsed(&row.revision)?,
            at: row.tested_at.0,
            outcome: parsed(&row.outcome)?,
        });
    }
    Ok(tests)
}
