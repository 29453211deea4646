//! Components by serial number, by part in stock, by location and by batch, as it was told.

use super::as_known::known_at;
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use domain::configuration::component::ComponentRef;
use domain::identity::{Batch, LocationName, PartNumber, fold};
use domain::ledger::dossier::ComponentRecord;
use sqlx::QueryBuilder;

/// Which components.
#[derive(Debug, Clone, Copy)]
pub enum Stocked<'a> {
    /// Whose serial number, or that of a plate they bore, folds to what was typed, wherever they are.
    Serial(&'a str),
    /// Of this part, not fitted.
    Part(&'a PartNumber),
    /// Kept at this location.
    Location(&'a LocationName),
    /// Of this batch, of this part where one is given, wherever they are.
    Batch(&'a Batch, Option<&'a PartNumber>),
}

impl Stocked<'_> {
    fn holds(self, record: &ComponentRecord) -> bool {
        match self {
            Self::Serial(_) => true,
            Self::Part(_) => record.location().is_some(),
            Self::Location(location) => record.location() == Some(location),
            Self::Batch(_, part) => part.is_none_or(|part| record.component.part == *part),
        }
    }

    /// The order of the lists of now.
    fn order(
        self,
        record: &ComponentRecord,
    ) -> (Option<(LocationName, &'static str)>, ComponentRef) {
        let by_location = match self {
            Self::Part(_) => record.location().cloned(),
            Self::Serial(_) | Self::Location(_) | Self::Batch(..) => None,
        };
        let by_location = by_location.map(|location| (location, record.condition.name()));
        (by_location, record.component.clone())
    }
}

impl View {
    /// Components as they were told. Three statements, and two for every four thousand; linear in all
    /// that bear the serial number, are of the batch, or were ever in stock of the part or at the
    /// location.
    pub async fn stock_told(
        &mut self,
        which: Stocked<'_>,
        as_at: AsAt,
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        let ids: Vec<i64> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            match which {
                Stocked::Serial(typed) => {
                    query.push("id from component where folded = ").push_bind(fold(typed));
                    query.push(" union select component_id from plate where folded = ").push_bind(fold(typed));
                }
                Stocked::Part(part) => {
                    query.push("distinct component_state.component_id from component join component_state on component_state.component_id = component.id where component_state.location is not null and component.part = ");
                    query.push_bind(part.as_str());
                }
                Stocked::Location(location) => {
                    query.push("distinct component_state.component_id from component_state where component_state.location = ");
                    query.push_bind(location.as_str());
                }
                Stocked::Batch(batch, _) => {
                    query.push("distinct component_state.component_id from component_state where component_state.batch_folded = ");
                    query.push_bind(batch.folded());
                }
            }
            if !matches!(which, Stocked::Serial(_)) {
                query.push(" and component_state.since <= ").push_bind(At(as_at.effective));
                known_at!(query, "component_state", At(as_at.known));
            }
            query.build_query_scalar().fetch_all(conn).await
        })?;
        let told = self.components_told(&ids, as_at).await?.into_values();
        let mut told: Vec<ComponentRecord> = told.filter(|record| which.holds(record)).collect();
        told.sort_by_cached_key(|record| which.order(record));
        Ok(told)
    }
}
