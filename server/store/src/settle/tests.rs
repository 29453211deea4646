//! The tests of things being settled, as far as due work depends on them.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use crate::shape::padded;
use domain::ledger::at_once::Tested;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::HashMap;

row!(TestedRow {
    subject_id: i64,
    id: i64,
    procedure_code: String,
    revision: String,
    tested_at: At,
    outcome: String,
});

/// What tests are of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    Components,
    Cars,
}

impl Of {
    const fn column(self) -> &'static str {
        match self {
            Self::Components => "test_record.component_id",
            Self::Cars => "test_record.car_id",
        }
    }
}

/// The tests of components or cars, by their ids. One statement.
pub(super) async fn load(
    tx: &mut Tx,
    of: Of,
    ids: &[i64],
) -> Result<HashMap<i64, Vec<Tested>>, StoreError> {
    if ids.is_empty() {
        return Ok(HashMap::new());
    }
    let rows: Vec<TestedRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(of.column()).push(" as subject_id, id, procedure_code, revision, tested_at, outcome from test_record where ");
        query.push(of.column()).push(" in (");
        let mut list = query.separated(", ");
        for id in padded(ids) {
            list.push_bind(*id);
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut tests: HashMap<i64, Vec<Tested>> = HashMap::new();
    for row in rows {
        tests.entry(row.subject_id).or_default().push(Tested {
            by: Seq(row.id),
            procedure: parsed(&row.procedure_code)?,
            revision: parsed(&row.revision)?,
            at: row.tested_at.0,
            outcome: parsed(&row.outcome)?,
        });
    }
    Ok(tests)
}
