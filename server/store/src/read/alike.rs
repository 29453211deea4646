//! Components of one part whose serial numbers differ only in case, blanks and hyphens: often one
//! component that came in twice.

use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::parsed;
use domain::configuration::component::ComponentRef;

/// How many of them an import names.
const NAMED_MAX: i64 = 20;

/// The first of them in the register, side by side. Reads one index of components once.
pub(crate) async fn alike(tx: &mut Tx) -> Result<Vec<ComponentRef>, StoreError> {
    let rows: Vec<(String, String)> = on!(tx, conn => {
        sqlx::query_as(
            "select component.part, component.serial
            from (select folded, part from component where withdrawn_by = 0 group by folded, part
                having count(*) > 1 order by folded, part limit $1) as alike
            join component on component.folded = alike.folded and component.part = alike.part and component.withdrawn_by = 0
            order by component.part, component.folded, component.serial",
        )
        .bind(NAMED_MAX)
        .fetch_all(conn)
        .await
    })?;
    let component = |(part, serial): (String, String)| {
        Ok(ComponentRef {
            part: parsed(&part)?,
            serial: parsed(&serial)?,
        })
    };
    rows.into_iter().map(component).collect()
}
