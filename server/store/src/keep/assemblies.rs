//! Keeps what was inside assemblies, in two times as all fitments.

use super::components::{TwoTimes, supersede};
use super::{ROWS, Write};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::configuration::component::{ComponentRef, RemovalReason};
use domain::identity::LocationName;
use domain::ledger::dossier::{Dossier, FitmentId, OwnFitment};
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const INSIDE: TwoTimes = TwoTimes {
    delete: "delete from inner_fitment where known_until is null and known_from = ",
    end: "update inner_fitment set known_until = ",
};

pub(super) async fn put_inner_fitments(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<FitmentId>,
    write: Write,
) -> Result<(), StoreError> {
    supersede(tx, changed, &INSIDE, write).await?;
    let id = |component: &ComponentRef| dossier.components.get(component).map(|c| c.id.0);
    let own = changed.iter().filter_map(|id| dossier.own_fitment(*id));
    let own: Vec<(&OwnFitment, &ComponentRef)> = own
        .filter_map(|own| Some((own, own.at.assembly()?)))
        .collect();
    for chunk in own.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into inner_fitment (id, known_from, component_id, host_id, position, from_at, fitted_by, from_location, until_at, removed_by, removal_reason, removed_to) ");
            query.push_values(chunk, |mut row, (own, assembly)| {
                let end = own.end.as_ref();
                row.push_bind(own.id.0)
                    .push_bind(At(write.recorded_at))
                    .push_bind(id(&own.component))
                    .push_bind(id(assembly))
                    .push_bind(own.at.position.as_str())
                    .push_bind(At(own.from))
                    .push_bind(own.fitted_by.0)
                    .push_bind(own.from_location.as_ref().map(LocationName::as_str))
                    .push_bind(end.map(|end| At(end.at)))
                    .push_bind(end.map(|end| end.by.0))
                    .push_bind(end.and_then(|end| end.reason).map(RemovalReason::name))
                    .push_bind(end.and_then(|end| end.to.as_ref()).map(LocationName::as_str));
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
