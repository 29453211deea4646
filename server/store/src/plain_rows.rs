//! Projections as rows of plain values, whatever the database.

use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::projection::{Holds, Projection};
use futures_util::StreamExt;
use futures_util::stream::BoxStream;
use sqlx::{AssertSqlSafe, Row};

/// One value as text, whatever the database.
macro_rules! value {
    ($row:expr, $place:expr, $holds:expr) => {
        match $holds {
            Holds::Text => $row.try_get::<Option<String>, _>($place)?,
            Holds::Whole => $row
                .try_get::<Option<i64>, _>($place)?
                .map(|v| v.to_string()),
            Holds::Small => $row
                .try_get::<Option<i16>, _>($place)?
                .map(|v| v.to_string()),
            Holds::Day => $row
                .try_get::<Option<On>, _>($place)?
                .map(|v| v.0.to_string()),
            Holds::Moment => $row
                .try_get::<Option<At>, _>($place)?
                .map(|v| v.0.to_string()),
        }
    };
}

/// A row as texts, in the order of the columns.
pub(crate) type PlainRow = Vec<Option<String>>;

impl Projection {
    /// All rows in the order of the key, one at a time.
    pub(crate) fn rows<'t>(
        &'t self,
        tx: &'t mut Tx,
    ) -> BoxStream<'t, Result<PlainRow, sqlx::Error>> {
        let names: Vec<&str> = self.columns.iter().map(|(name, _)| *name).collect();
        let (names, name, key) = (names.join(", "), self.name, self.key);
        let statement = AssertSqlSafe(format!("select {names} from {name} order by {key}"));
        on!(tx, conn => sqlx::query(statement).fetch(conn).map(|row| {
            let row = row?;
            let mut values = Vec::with_capacity(self.columns.len());
            for (place, (_, holds)) in self.columns.iter().enumerate() {
                values.push(value!(row, place, holds));
            }
            Ok(values)
        }).boxed())
    }

    /// Deletes all rows.
    pub(crate) async fn clear(&self, tx: &mut Tx) -> Result<(), StoreError> {
        let statement = format!("delete from {}", self.name);
        on!(tx, conn => sqlx::query(AssertSqlSafe(statement)).execute(conn).await.map(drop))?;
        Ok(())
    }

    /// A row as `column=value` for people.
    pub(crate) fn show(&self, row: &PlainRow) -> String {
        let shown =
            self.columns.iter().zip(row).map(|((name, _), value)| {
                format!("{name}={}", value.as_deref().unwrap_or("nothing"))
            });
        shown.collect::<Vec<_>>().join(" ")
    }
}
