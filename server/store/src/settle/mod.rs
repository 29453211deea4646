//! Works out anew what follows from changed facts: what cars had run at the moments that
//! matter, and when work is due. After a single entry only what it touches; after an import or
//! for a rebuild everything that was noted as stale, in batches, so that memory stays flat.

mod cars;
mod components;
mod due;
mod stale;
mod tests;

pub(crate) use stale::{note, settle_noted};

use crate::connect::Tx;
use crate::error::StoreError;
use crate::import::Go;
use domain::configuration::component::ComponentRef;
use domain::identity::CarNumber;
use domain::ledger::dossier::{Documents, Dossier};
use domain::time::Zone;
use std::collections::BTreeSet;
use std::sync::Arc;

/// What settling needs to know besides the database.
#[derive(Debug, Clone)]
pub(crate) struct Settling {
    /// The design data in force.
    pub(crate) documents: Arc<Documents>,
    /// The depot's time zone.
    pub(crate) zone: Zone,
}

/// Settles what one entry has made stale: a fixed number of statements for each car, and for
/// all its components together. A task that is new or revised concerns all that it applies to.
pub(crate) async fn settle(
    tx: &mut Tx,
    settling: &Settling,
    dossier: &Dossier,
) -> Result<(), StoreError> {
    let changes = &dossier.changes;
    if !changes.stale_subjects.is_empty() {
        note(tx, dossier).await?;
        return settle_noted(tx, settling, |_| Go::On).await;
    }
    let mut components: BTreeSet<ComponentRef> = changes.stale_components.iter().cloned().collect();
    // The due rows of a car's components also say to which fleet and depot it belongs.
    let (registered, others): (Vec<CarNumber>, Vec<CarNumber>) = changes
        .stale_cars
        .iter()
        .cloned()
        .partition(|car| changes.cars.contains(car));
    components
        .extend(cars::settle(tx, settling, &registered, cars::Reforecast::ByComponent).await?);
    components.extend(cars::settle(tx, settling, &others, cars::Reforecast::Now).await?);
    components::settle(tx, settling, &components).await
}
