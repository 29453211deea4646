//! Keeps what entries are about.

use super::ROWS;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::ledger::entry::Seq;
use domain::ledger::subjects::EntrySubject;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

pub(super) async fn put_subjects(
    tx: &mut Tx,
    changed: &BTreeSet<(Seq, EntrySubject)>,
) -> Result<(), StoreError> {
    let rows: Vec<&(Seq, EntrySubject)> = changed.iter().collect();
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into entry_subject (kind, name, seq) ");
            query.push_values(chunk, |mut row, (by, subject)| {
                row.push_bind(subject.kind.name())
                    .push_bind(subject.name.as_str())
                    .push_bind(by.0);
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
