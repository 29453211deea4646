//! What could be fitted at a position.

use crate::failure::Failure;
use crate::state::WebState;
use domain::configuration::car_type::Position;
use domain::due::state::Standing;
use domain::ledger::dossier::ComponentRecord;
use domain::ledger::entry::Seq;
use std::collections::BTreeMap;
use store::read::View;

/// What is in stock for a position, and the work that stands on it.
#[derive(Debug, Default)]
pub(super) struct Stock {
    pub(super) components: Vec<ComponentRecord>,
    pub(super) standing: BTreeMap<Seq, Standing>,
}

impl Stock {
    /// For a position at which something could be fitted. Two statements.
    pub(super) async fn of(
        view: &mut View,
        vacant: Option<&Position>,
        state: &WebState,
    ) -> Result<Self, Failure> {
        let Some(position) = vacant else {
            return Ok(Self::default());
        };
        let components = view.in_stock(&position.approved).await?;
        let today = state.zone.day_of(state.now());
        let standing = view.standing_of(&components, today).await?;
        Ok(Self {
            components,
            standing,
        })
    }
}
