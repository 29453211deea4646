//! What was said of components, as kept.

use super::components::kept;
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::dossier::KEYS;
use crate::error::StoreError;
use crate::read::doubted::doubted;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::ComponentRef;
use domain::configuration::location::Kept;
use domain::ledger::dossier::{ComponentState, Dossier, Whereabouts};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

row!(
    /// What an entry says of a component.
    StateRow {
        component_id: i64,
        recorded_by: i64,
        since: At,
        whereabouts: Option<String>,
        location: Option<String>,
        bound_for: Option<String>,
        expected_on: Option<On>,
        condition: Option<String>,
        modification_state: Option<String>,
        batch: Option<String>,
    }
);

/// The columns of [`StateRow`].
pub(crate) const STATE_COLUMNS: &str = "component_state.component_id, component_state.recorded_by, component_state.since, component_state.whereabouts, component_state.location, component_state.bound_for, component_state.expected_on, component_state.condition, component_state.modification_state, component_state.batch";

/// The word for a component that is at a position.
const FITTED: &str = "fitted";
/// The word for a component that is at a location.
const KEPT: &str = "kept";

/// Whereabouts as columns: the word, and what follows from it.
pub(crate) fn columns(whereabouts: Option<&Whereabouts>) -> (Option<&'static str>, Option<&Kept>) {
    match whereabouts {
        None => (None, None),
        Some(Whereabouts::Fitted) => (Some(FITTED), None),
        Some(Whereabouts::Kept(kept)) => (Some(KEPT), Some(kept)),
    }
}

impl StateRow {
    /// The same as the core has it.
    pub(crate) fn state(&self) -> Result<ComponentState, sqlx::Error> {
        let names = (self.location.as_deref(), self.bound_for.as_deref());
        let kept = kept(names, self.expected_on)?;
        let fitted = self.whereabouts.as_deref() == Some(FITTED);
        Ok(ComponentState {
            by: Seq(self.recorded_by),
            since: self.since.0,
            whereabouts: kept
                .map(Whereabouts::Kept)
                .or(fitted.then_some(Whereabouts::Fitted)),
            condition: self.condition.as_deref().map(parsed).transpose()?,
            modification: parsed_option(self.modification_state.as_deref())?,
            batch: parsed_option(self.batch.as_deref())?,
        })
    }
}

/// Loads what was said of the components of the dossier.
pub(super) async fn load_states(tx: &mut Tx, dossier: &mut Dossier) -> Result<(), StoreError> {
    let records = dossier.components.values();
    let names: HashMap<i64, ComponentRef> = records
        .map(|record| (record.id.0, record.component.clone()))
        .collect();
    let ids: Vec<i64> = names.keys().copied().collect();
    for chunk in ids.chunks(KEYS) {
        let rows: Vec<StateRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (id) as (");
            query.push_values(chunk, |mut row, id| {
                row.push_bind(*id);
            });
            query.push(") select ").push(STATE_COLUMNS);
            query.push(" from wanted cross join component_state where component_state.component_id = wanted.id and component_state.known_until is null");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            if let Some(component) = names.get(&row.component_id) {
                dossier.load_state(component, row.state()?);
            }
        }
    }
    Ok(())
}

/// Loads the doubts that stand about components that are judged. One statement, none where nothing is.
pub(super) async fn load_doubts(
    tx: &mut Tx,
    dossier: &mut Dossier,
    judged: &BTreeSet<ComponentRef>,
) -> Result<(), StoreError> {
    let judged: Vec<&ComponentRef> = judged.iter().collect();
    for chunk in judged.chunks(KEYS) {
        for one in doubted(tx, chunk).await? {
            let component = one.doubt.component.clone();
            let of_it = dossier.doubts.entry(component).or_default();
            of_it.push(one.raised());
        }
    }
    Ok(())
}
