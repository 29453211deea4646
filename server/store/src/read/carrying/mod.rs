//! Which cars carry what is looked for, as at a time and as known at one: a part or serial numbers
//! of it, components in a modification state or of a batch, positions that are set in a way.

mod components;
mod settings;

use super::{AsAt, View};
use crate::error::StoreError;
use components::Sought;
use domain::configuration::component::PositionRef;
use domain::configuration::looked_for::LookedFor;
use domain::configuration::setting::SettingAt;
use domain::identity::{DepotName, FleetName, UnitNumber};
use domain::ledger::dossier::Fitment;
use domain::time::Instant;

/// Rows on one page.
pub const CARRYING_PAGE: usize = 100;

/// What is looked for.
#[derive(Debug, Clone)]
pub struct CarryingFilter {
    /// What.
    pub looked_for: LookedFor,
    /// As at when.
    pub as_at: AsAt,
    /// After this place, in the order of cars and positions.
    pub after: Option<PositionRef>,
    /// At most so many.
    pub rows: usize,
}

/// Something that was looked for, on a car.
#[derive(Debug, Clone, PartialEq)]
pub struct Carrying {
    /// Where.
    pub at: PositionRef,
    /// The car's unit now.
    pub unit: Option<UnitNumber>,
    /// The car's fleet now.
    pub fleet: FleetName,
    /// The car's depot now.
    pub depot: DepotName,
    /// What was there.
    pub carried: Carried,
}

/// What was on a car.
#[derive(Debug, Clone, PartialEq)]
pub enum Carried {
    /// A component, and since when.
    Component(Box<Fitment>),
    /// A setting, and what was told of it.
    Setting(Box<SettingAt>),
}

impl Carried {
    /// Since when it is so there: since the component came, or since it was set; where that is not
    /// told, since the place last changed.
    pub fn since(&self) -> Instant {
        match self {
            Self::Component(fitment) => fitment.from,
            Self::Setting(one) => {
                let told = one.told.as_ref().map(|told| told.since);
                told.or(one.place.changed).unwrap_or(Instant::EARLIEST)
            }
        }
    }
}

/// How much was found, on all pages together.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct CarryingCount {
    /// On so many cars.
    pub cars: i64,
    /// At so many places.
    pub places: i64,
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct CarryingFound {
    /// How much.
    pub count: CarryingCount,
    /// Of how much it cannot be told whether it is what is looked for.
    pub untold: CarryingCount,
    /// By car and position; one more than asked for where there are more.
    pub rows: Vec<Carrying>,
}

impl View {
    /// What is looked for with how much there is of it, and of how much that cannot be told. At
    /// most three statements. Cost for a part: its components whose serial number begins so, with
    /// their fitments and states, and all of them where it cannot be told of some; for a setting: the cars of the types that ever ask for it, with
    /// all that was ever set by that name and fitted there.
    pub async fn carrying_found(
        &mut self,
        filter: &CarryingFilter,
    ) -> Result<CarryingFound, StoreError> {
        let sought = match &filter.looked_for {
            LookedFor::Setting {
                setting,
                place,
                sought,
            } => {
                let asked = self.places_set((setting, place), filter.as_at).await?;
                return Ok(settings::found(asked, sought, filter));
            }
            LookedFor::Serials { part, begins } => Sought::serials(part, begins),
            LookedFor::State { part, state } => Sought::state(part, state),
            LookedFor::Batch { part, batch } => Sought::batch(part, batch),
        };
        let untold = match sought.untold() {
            Some(untold) => self.components_count(&untold, filter.as_at).await?,
            None => CarryingCount::default(),
        };
        Ok(CarryingFound {
            count: self.components_count(&sought, filter.as_at).await?,
            untold,
            rows: self.components_carried(&sought, filter).await?,
        })
    }

    /// The same without the counts; for a part one statement, for a setting three.
    pub async fn carrying(&mut self, filter: &CarryingFilter) -> Result<Vec<Carrying>, StoreError> {
        match &filter.looked_for {
            LookedFor::Serials { part, begins } => {
                let sought = Sought::serials(part, begins);
                self.components_carried(&sought, filter).await
            }
            LookedFor::State { part, state } => {
                let sought = Sought::state(part, state);
                self.components_carried(&sought, filter).await
            }
            LookedFor::Batch { part, batch } => {
                let sought = Sought::batch(part, batch);
                self.components_carried(&sought, filter).await
            }
            LookedFor::Setting { .. } => Ok(self.carrying_found(filter).await?.rows),
        }
    }
}
