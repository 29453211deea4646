//! Who bears a plate, or bore it.

use super::KEYS;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use crate::shape::padded;
use domain::configuration::component::ComponentRef;
use domain::ledger::dossier::Dossier;
use domain::ledger::touches::Touched;
use sqlx::QueryBuilder;

row!(BearerRow {
    part: String,
    plate: String,
    serial: String,
});

/// Loads which components bear or bore plates that differ from these at most in case, blanks and
/// hyphens, and wants those components.
pub(super) async fn load_bearers(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &mut Touched,
) -> Result<(), StoreError> {
    let wanted: Vec<&ComponentRef> = touched.plates.iter().collect();
    let mut found = Vec::new();
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<BearerRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (part, folded) as (");
            query.push_values(padded(chunk), |mut row, plate| {
                row.push_bind(plate.map(|plate| plate.part.as_str()))
                    .push_bind(plate.map(|plate| plate.serial.folded()));
            });
            query.push(") select component.part, plate.serial as plate, component.serial from wanted cross join plate cross join component where plate.part = wanted.part and plate.folded = wanted.folded and component.id = plate.component_id union all select component.part, component.serial as plate, component.serial from wanted cross join component where component.part = wanted.part and component.folded = wanted.folded and component.withdrawn_by = 0");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        found.extend(rows);
    }
    for row in found {
        let of = |serial: &str| -> Result<ComponentRef, sqlx::Error> {
            Ok(ComponentRef {
                part: parsed(&row.part)?,
                serial: parsed(serial)?,
            })
        };
        let component = of(&row.serial)?;
        touched.components.insert(component.clone());
        dossier.load_bearer(of(&row.plate)?, component);
    }
    Ok(())
}
