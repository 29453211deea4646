//! How large PostgreSQL takes tables to be while one transaction fills them. It plans by the rows
//! that it counted last, and of rows that are not committed it never counts any by itself: it
//! would look through whole tables for each batch, and an import would cost the square of its
//! rows.

use crate::connect::Tx;
use crate::error::StoreError;
use crate::projection;
use sqlx::{AssertSqlSafe, Executor};
use std::collections::HashMap;

const SIZES: &str =
    "select name, pg_relation_size(to_regclass(name)) from unnest($1::text[]) as name";

/// Tables that grow in every import besides the projections.
const LEDGER: &str = "ledger";

/// What the tables measured, in bytes, when their rows were last counted.
#[derive(Debug, Default)]
pub(crate) struct Sizes(HashMap<String, i64>);

impl Sizes {
    /// Has the rows of each table counted anew that has doubled since. One statement a batch, and
    /// one for each count, of which a table sees as many as it doubles; none on SQLite, which
    /// joins in the order that is written.
    pub(crate) async fn count_anew(&mut self, tx: &mut Tx) -> Result<(), StoreError> {
        let Tx::Postgres(tx) = tx else {
            return Ok(());
        };
        let mut names: Vec<&str> = projection::all().map(|one| one.name).collect();
        names.push(LEDGER);
        let sizes: Vec<(String, i64)> = sqlx::query_as(SIZES)
            .bind(names)
            .fetch_all(&mut **tx)
            .await?;
        for (name, size) in sizes {
            let counted = self.0.entry(name.clone()).or_default();
            if *counted * 2 < size {
                *counted = size;
                let count = format!("analyze {name}");
                tx.execute(AssertSqlSafe(count)).await?;
            }
        }
        Ok(())
    }
}
