//! Keeps what entries say of components. What is withdrawn stays as what was known until now.

use super::{ROWS, Write};
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::dossier::states::columns;
use crate::error::StoreError;
use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::{Batch, LocationName, ModificationState};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const DROP: &str =
    "delete from component_state where component_id = $1 and recorded_by = $2 and known_from = $3";
const END: &str =
    "update component_state set known_until = $3 where component_id = $1 and recorded_by = $2";

pub(super) async fn put_states(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<(ComponentRef, Seq)>,
    write: Write,
) -> Result<(), StoreError> {
    let now = At(write.recorded_at);
    let mut rows = Vec::with_capacity(changed.len());
    for (component, by) in changed {
        let Some(record) = dossier.components.get(component) else {
            continue;
        };
        let mut states = dossier.states_of(component).iter();
        match states.find(|state| state.by == *by) {
            Some(state) => rows.push((record.id.0, state)),
            // What was learned in this very moment never was known.
            None if *by < write.first => {
                for statement in [DROP, END] {
                    on!(tx, conn => sqlx::query(statement).bind(record.id.0).bind(by.0).bind(now).execute(conn).await.map(drop))?;
                }
            }
            None => {}
        }
    }
    for chunk in rows.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into component_state (component_id, recorded_by, since, whereabouts, location, bound_for, expected_on, condition, modification_state, known_from, batch, batch_folded) ");
            query.push_values(chunk, |mut row, (id, state)| {
                let (whereabouts, kept) = columns(state.whereabouts.as_ref());
                row.push_bind(*id)
                    .push_bind(state.by.0)
                    .push_bind(At(state.since))
                    .push_bind(whereabouts)
                    .push_bind(kept.map(|kept| kept.location.as_str()))
                    .push_bind(kept.and_then(|kept| kept.sent.bound_for.as_ref()).map(LocationName::as_str))
                    .push_bind(kept.and_then(|kept| kept.sent.expected_on).map(On))
                    .push_bind(state.condition.map(Condition::name))
                    .push_bind(state.modification.as_ref().map(ModificationState::as_str))
                    .push_bind(now)
                    .push_bind(state.batch.as_ref().map(Batch::as_str))
                    .push_bind(state.batch.as_ref().map(Batch::folded));
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
