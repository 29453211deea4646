//! The due list: a read of one index, whose cost grows with what is shown.

mod by_unit;
mod list;
mod on_cars;
mod periods;
mod places;
mod row;
mod standing;

pub(crate) use row::forecast;

pub use by_unit::DueOnUnit;
pub use on_cars::DueOnCar;
pub use periods::{COUNTED_MAX, DueByPeriod};
pub use places::DuePlaces;

use domain::configuration::component::Subject;
use domain::due::forecast::Forecast;
use domain::due::place::WorkPlace;
use domain::due::state::State;
use domain::identity::{
    CarNumber, DepotName, FleetName, LocationName, PartNumber, PositionCode, TaskCode, UnitNumber,
};
use domain::time::{Day, Instant};
use domain::units::{Amount, Meter};

/// Rows on one page of the due list.
pub const DUE_PAGE: usize = 50;

/// Which due work to list.
#[derive(Debug, Clone)]
pub struct DueFilter {
    /// The day by which states are told.
    pub today: Day,
    /// On cars, or on what is on none.
    pub place: Option<WorkPlace>,
    /// Of this fleet.
    pub fleet: Option<FleetName>,
    /// Kept at this depot.
    pub depot: Option<DepotName>,
    /// On cars of this unit.
    pub unit: Option<UnitNumber>,
    /// On this car.
    pub car: Option<CarNumber>,
    /// On components of this part.
    pub part: Option<PartNumber>,
    /// In this state.
    pub state: Option<State>,
    /// Due on or before this day. Not used for work whose date cannot be told or that has none.
    pub until: Option<Day>,
    /// After this row.
    pub after: Option<DueCursor>,
    /// How many rows at most.
    pub rows: usize,
}

impl DueFilter {
    /// Everything, as on a day; the first page.
    pub fn all(today: Day) -> Self {
        Self {
            today,
            place: None,
            fleet: None,
            depot: None,
            unit: None,
            car: None,
            part: None,
            state: None,
            until: None,
            after: None,
            rows: DUE_PAGE,
        }
    }

    /// Whether work without a date stands at the end of the list: of a car or a unit all work is
    /// a few pages, and nobody is to miss any. Elsewhere such work is lists of their own.
    pub fn ends_undated(&self) -> bool {
        self.is_near() && self.state.is_none() && self.until.is_none()
    }

    /// Whether it looks at a car or a unit alone: at a few hundred tasks.
    pub(super) fn is_near(&self) -> bool {
        self.car.is_some() || self.unit.is_some()
    }

    /// Whether what is asked for has dates, and so an order by them.
    pub fn has_dates(&self) -> bool {
        !matches!(self.state, Some(State::Unknown | State::NoDate))
    }
}

/// A row of the due list by which the next page begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueCursor {
    /// Its day; none in the list of what cannot be told.
    pub on: Option<Day>,
    /// The number of its subject.
    pub subject: i64,
    /// Its task.
    pub task: TaskCode,
}

/// One task of one component or car.
#[derive(Debug, Clone, PartialEq)]
pub struct DueItem {
    /// Where the next page begins after this row.
    pub cursor: DueCursor,
    /// What the work is done on.
    pub subject: Subject,
    /// The task.
    pub task: TaskCode,
    /// The car it is on.
    pub car: Option<CarNumber>,
    /// That car's unit.
    pub unit: Option<UnitNumber>,
    /// The position it is fitted at.
    pub position: Option<PositionCode>,
    /// The car's fleet.
    pub fleet: Option<FleetName>,
    /// The car's depot.
    pub depot: Option<DepotName>,
    /// Where it is while not fitted.
    pub location: Option<LocationName>,
    /// The dates, the limit that sets them, and what is lacking.
    pub forecast: Forecast,
    /// The state on the filter's day.
    pub state: State,
    /// Where the limit that sets the date lies, if it is one by meter.
    pub limit: Option<MeterLimit>,
    /// Whether that limit rests on use of which no reading tells, since the component came off a car
    /// after the last reading of its meter.
    pub estimated: bool,
}

/// Where a limit by meter lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeterLimit {
    /// The meter.
    pub meter: Meter,
    /// What the car's meter shows when the limit is reached; for a component in store, its own
    /// counted use.
    pub at: Amount,
    /// The last reading of the car's meter: when, and what it showed. None in store.
    pub last: Option<(Instant, Amount)>,
}

impl MeterLimit {
    /// What the meter shows when the limit is reached; none where it was passed before the meter
    /// or the count began, by what a component brought with it.
    pub fn shown(&self) -> Option<Amount> {
        Some(self.at).filter(|at| Amount(0) <= *at)
    }
}
