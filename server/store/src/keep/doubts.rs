//! Keeps which entries raised doubts that last until somebody judges the component again.

use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::ledger::consequences::Doubt;
use domain::ledger::entry::Seq;

const PUT: &str = "insert into doubt_raised (raised_by, part, serial) values ($1, $2, $3)";

/// Keeps the doubts that an entry raises. One statement each, and there are few.
pub(crate) async fn put_doubts(tx: &mut Tx, by: Seq, doubts: &[Doubt]) -> Result<(), StoreError> {
    for doubt in doubts.iter().filter(|doubt| doubt.is_raised()) {
        let component = &doubt.component;
        on!(tx, conn => sqlx::query(PUT)
            .bind(by.0)
            .bind(component.part.as_str())
            .bind(component.serial.as_str())
            .execute(conn).await.map(drop))?;
    }
    Ok(())
}
