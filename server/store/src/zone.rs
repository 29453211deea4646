//! The depot's time zone. Every day that the register tells follows from it, so it is kept with
//! the register from the first time that it is opened.

use crate::connect::{Pools, Tx, on};
use crate::error::StoreError;
use crate::row::parsed;
use domain::time::Zone;

const KEPT: &str = "select name from depot_zone where id = 1";
const KEEP: &str = "insert into depot_zone (id, name) values (1, $1) on conflict (id) do nothing";

/// The zone of the register: the one that is kept, or the one that is asked for, or UTC, which is
/// kept from then on. Another than the kept one is refused.
pub(crate) async fn of_register(pools: &Pools, asked: Option<Zone>) -> Result<Zone, StoreError> {
    let mut tx = pools.read().await?;
    let mut zone = kept(&mut tx).await?;
    tx.rollback().await?;
    if zone.is_none() {
        let name = asked.clone().unwrap_or(Zone::UTC).to_string();
        let mut tx = pools.begin().await?;
        on!(&mut tx, conn => sqlx::query(KEEP).bind(name).execute(conn).await.map(drop))?;
        // Another server may have been first.
        zone = kept(&mut tx).await?;
        tx.commit().await?;
    }
    let zone = zone.ok_or(sqlx::Error::RowNotFound)?;
    match asked {
        Some(asked) if asked != zone => Err(StoreError::OtherZone { kept: zone, asked }),
        _ => Ok(zone),
    }
}

async fn kept(tx: &mut Tx) -> Result<Option<Zone>, StoreError> {
    let name: Option<String> =
        on!(tx, conn => sqlx::query_scalar(KEPT).fetch_optional(conn).await)?;
    Ok(name.as_deref().map(parsed).transpose()?)
}
