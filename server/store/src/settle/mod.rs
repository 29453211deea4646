//! Works out anew what follows from changed facts: what cars had run at the moments that
//! matter, and when work is due. After a single entry only what it touches; after an import or
//! for a rebuild everything that was noted as stale, in batches, so that memory stays flat.

mod cars;
mod departures;
mod due;
mod hosts;
mod reforecast;
mod stale;
mod subjects;
mod tests;
mod work;

pub(crate) use stale::{note, settle_noted};

use crate::connect::Tx;
use crate::error::StoreError;
use crate::import::Go;
use cars::Again;
use domain::configuration::component::ComponentRef;
use domain::identity::CarNumber;
use domain::ledger::consequences::DueWork;
use domain::ledger::dossier::{Changes, Documents, Dossier};
use domain::time::{Instant, Zone};
use std::collections::{BTreeMap, BTreeSet};
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
/// all its components together. A task that is new or revised concerns all that it applies to, a
/// statement of effectivity all cars of its type, a concession all that depart at its place.
/// Answers when the work is due on the components that were worked out by themselves.
pub(crate) async fn settle(
    tx: &mut Tx,
    settling: &Settling,
    dossier: &mut Dossier,
) -> Result<Vec<DueWork>, StoreError> {
    let changes = &dossier.changes;
    let wide = !changes.stale_subjects.is_empty()
        || !changes.stale_baselines.is_empty()
        || !changes.stale_places.is_empty();
    if wide {
        note(tx, dossier).await?;
        settle_noted(tx, settling, |_| Go::On).await?;
        return Ok(Vec::new());
    }
    let mut components: BTreeSet<ComponentRef> = changes.stale_components.iter().cloned().collect();
    let mut own = changes.stale_cars.clone();
    let (mut dates, mut marked) = (Vec::new(), Vec::new());
    for (again, cars) in stale_cars(changes) {
        let after = cars::settle(tx, (settling, &dossier.cars), (again, &cars)).await?;
        components.extend(after.components);
        own.extend(after.cars);
        dates.extend(after.dates);
        marked.extend(after.marked);
    }
    for fitment in marked {
        dossier.mark(&fitment);
    }
    let works = work::settle(tx, (settling, dossier), (&own, &components)).await?;
    for (car, meters) in &dates {
        reforecast::reforecast(tx, car, (meters, &settling.zone)).await?;
    }
    let known = (settling, &dossier.cars);
    for (car, places) in &dossier.changes.stale_departures {
        departures::settle(tx, known, (&BTreeSet::from([car.clone()]), places)).await?;
    }
    Ok(works)
}

/// The stale cars by what of them must be worked out anew, each with the moment from which its
/// marks must.
fn stale_cars(changes: &Changes) -> BTreeMap<Again, BTreeMap<&CarNumber, Instant>> {
    let mut cars: BTreeMap<Again, BTreeMap<&CarNumber, Instant>> = BTreeMap::new();
    let marked = changes.stale_marks.iter();
    let marked = marked.map(|(car, from)| (car, *from));
    let moved = changes.stale_meters.iter();
    let moved = moved.map(|car| (car, Instant::LATEST));
    for (car, from) in moved.chain(marked) {
        let again = if changes.cars.contains(car) {
            // The due rows of its components also say to which fleet and depot it belongs.
            Again::Components
        } else if changes.stale_meters.contains(car) {
            Again::Dates
        } else {
            Again::Marks
        };
        cars.entry(again).or_default().insert(car, from);
    }
    cars
}
