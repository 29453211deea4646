//! Keeps test records.

use super::ROWS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::to_json;
use domain::configuration::component::Subject;
use domain::identity::TestRecordId;
use domain::ledger::dossier::{Dossier, TestedRecord};
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const DROP: &str = "delete from test_record where name = $1";

/// Those that were taken back are no more; what was known of them is told by `withdrawn`.
pub(super) async fn put_tests(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<TestRecordId>,
) -> Result<(), StoreError> {
    // Tests are taken back one at a time.
    if !dossier.changes.withdrawn.is_empty() {
        for id in changed {
            on!(&mut *tx, conn => sqlx::query(DROP).bind(id.as_str()).execute(conn).await.map(drop))?;
        }
    }
    let mut rows = Vec::with_capacity(changed.len());
    for test in changed.iter().filter_map(|id| dossier.tests.get(id)) {
        rows.push((test, to_json(&test.record)?));
    }
    let component = |test: &TestedRecord| match &test.record.subject {
        Subject::Component(component) => dossier.components.get(component).map(|c| c.id.0),
        Subject::Car(_) => None,
    };
    let car = |test: &TestedRecord| match &test.record.subject {
        Subject::Component(_) => None,
        Subject::Car(car) => dossier.cars.get(car).map(|car| car.id.0),
    };
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into test_record (id, name, component_id, car_id, procedure_code, revision, tested_at, outcome, body) ");
            query.push_values(chunk, |mut row, (test, body)| {
                row.push_bind(test.by.0)
                    .push_bind(test.record.id.as_str())
                    .push_bind(component(test))
                    .push_bind(car(test))
                    .push_bind(test.record.procedure.as_str())
                    .push_bind(test.record.revision.as_str())
                    .push_bind(At(test.record.at))
                    .push_bind(test.outcome.name())
                    .push_bind(body.as_str());
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
