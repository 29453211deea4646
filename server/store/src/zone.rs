//! The depot's time zone. Every day that the register tells follows from it, so it is kept with
//! the register: from when one is begun, or with the first that is brought in.

use crate::connect::{Pools, Tx, on};
use crate::error::StoreError;
use crate::row::parsed;
use domain::time::Zone;

const KEPT: &str = "select name from depot_zone where id = 1";
const KEEP: &str = "insert into depot_zone (id, name) values (1, $1) on conflict (id) do nothing";

/// When a register that has no zone yet keeps one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum KeepZone {
    /// At once.
    Now,
    /// Not by being opened: whoever only asks settles nothing, and an import that fails must leave
    /// nothing behind.
    Later,
}

/// The zone of the register: the one that is kept, or else the one that is asked for, or UTC. Another
/// than the kept one is refused.
pub(crate) async fn of_register(
    pools: &Pools,
    asked: Option<Zone>,
    keep_zone: KeepZone,
) -> Result<Zone, StoreError> {
    let mut tx = pools.read().await?;
    let zone = kept(&mut tx).await?;
    tx.rollback().await?;
    match (zone, asked) {
        (Some(zone), Some(asked)) => same(zone, asked),
        (Some(zone), None) => Ok(zone),
        (None, asked) => {
            let asked = asked.unwrap_or(Zone::UTC);
            if keep_zone == KeepZone::Later {
                return Ok(asked);
            }
            let mut tx = pools.begin().await?;
            let zone = keep(&mut tx, asked).await?;
            tx.commit().await?;
            Ok(zone)
        }
    }
}

/// Keeps a zone, unless another one was kept meanwhile, which is refused.
pub(crate) async fn keep(tx: &mut Tx, asked: Zone) -> Result<Zone, StoreError> {
    let name = asked.to_string();
    on!(&mut *tx, conn => sqlx::query(KEEP).bind(name).execute(conn).await.map(drop))?;
    let zone = kept(tx).await?.ok_or(sqlx::Error::RowNotFound)?;
    same(zone, asked)
}

fn same(kept: Zone, asked: Zone) -> Result<Zone, StoreError> {
    if kept == asked {
        Ok(kept)
    } else {
        Err(StoreError::OtherZone { kept, asked })
    }
}

async fn kept(tx: &mut Tx) -> Result<Option<Zone>, StoreError> {
    let name: Option<String> =
        on!(tx, conn => sqlx::query_scalar(KEPT).fetch_optional(conn).await)?;
    Ok(name.as_deref().map(parsed).transpose()?)
}
