//! Keeps isolations.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::configuration::component::PositionRef;
use domain::ledger::dossier::Dossier;
use std::collections::BTreeSet;

const CLEAR: &str = "delete from isolation where car_id = $1 and position = $2";
const PUT: &str = "insert into isolation (id, car_id, position, state, cause, since, not_before, ended_at, ended_by) values ($1, $2, $3, $4, $5, $6, $7, $8, $9)";

/// A position's isolations are few and change one at a time: all of them are written anew.
pub(super) async fn put_isolations(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<PositionRef>,
) -> Result<(), StoreError> {
    for at in changed {
        let Some(car) = dossier.cars.get(&at.car) else {
            continue;
        };
        on!(tx, conn => sqlx::query(CLEAR)
            .bind(car.id.0).bind(at.position.as_str())
            .execute(conn).await.map(drop))?;
        for isolation in dossier.isolations.get(at).into_iter().flatten() {
            let cut_out = &isolation.cut_out;
            on!(tx, conn => sqlx::query(PUT)
                .bind(isolation.id.0)
                .bind(car.id.0)
                .bind(at.position.as_str())
                .bind(cut_out.state.name())
                .bind(cut_out.cause.as_str())
                .bind(At(isolation.since))
                .bind(cut_out.not_before.map(At))
                .bind(isolation.ended.map(|(at, _)| At(at)))
                .bind(isolation.ended.map(|(_, by)| by.0))
                .execute(conn).await.map(drop))?;
        }
    }
    Ok(())
}
