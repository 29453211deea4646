//! Keeps the plates of components, by which they are found. All of a component are written anew.

use super::ROWS;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::configuration::component::ComponentRef;
use domain::ledger::dossier::{ComponentRecord, Dossier};
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const DROP: &str = "delete from plate where component_id = $1";

pub(super) async fn put_plates(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<ComponentRef>,
) -> Result<(), StoreError> {
    let records = changed.iter().filter_map(|one| dossier.components.get(one));
    let records: Vec<&ComponentRecord> = records.collect();
    for record in &records {
        on!(tx, conn => sqlx::query(DROP).bind(record.id.0).execute(conn).await.map(drop))?;
    }
    let plates = records
        .iter()
        .flat_map(|record| record.plates.iter().map(move |plate| (record, plate)));
    let plates: Vec<_> = plates.collect();
    for chunk in plates.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into plate (id, component_id, part, serial, folded) ");
            query.push_values(chunk, |mut row, (record, one)| {
                row.push_bind(one.by.0)
                    .push_bind(record.id.0)
                    .push_bind(record.component.part.as_str())
                    .push_bind(one.plate.as_str())
                    .push_bind(one.plate.folded());
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
