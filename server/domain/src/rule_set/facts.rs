//! What a rule set is told of a train. The facts are the caller's: what counts as operative was
//! decided where the effect of the cut-outs was computed. An overdue brake, a defective parking
//! brake or a failed secondary brake is operative here as long as it brakes. What is not known is
//! `None`, and a rule that needs it then gives no verdict.

use crate::braking::percentage::Percentage;
use crate::braking::stopping_distance::conversion_model::Formation;
use crate::configuration::car_type::PositionKind;
pub use crate::configuration::car_type::{HandBrake, VehicleKind};
use crate::identity::{CarNumber, RouteName};
use crate::time::Day;
use crate::units::{Distance, Gradient, Kilograms, Kilonewtons, Speed, Thousandths};
use crate::words::word_list;
use serde::Serialize;
use std::collections::BTreeMap;

word_list! {
    /// Where the train is when the question is asked.
    Whereabouts, "whereabouts" {
        /// About to leave a depot or another place where its brakes are fully tested.
        LeavingDepot = "leaving_depot",
        /// About to leave any other place.
        LeavingElsewhere = "leaving_elsewhere",
        /// On the road.
        OnTheRoad = "on_the_road",
    }
}

word_list! {
    /// What kind of train.
    TrainKind, "train kind" {
        /// Commuter passenger train.
        Commuter = "commuter",
        /// Short-distance passenger train.
        ShortDistance = "short_distance",
        /// Long-distance passenger train.
        LongDistance = "long_distance",
        /// Freight train.
        Freight = "freight",
    }
}

word_list! {
    /// What the train moves for.
    Movement, "movement" {
        /// In the service it is meant for.
        InService = "in_service",
        /// Empty, to a place of repair.
        ForRepair = "for_repair",
        /// Empty, to be scrapped or sold.
        ForScrapOrSale = "for_scrap_or_sale",
    }
}

/// How many of something work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Operative {
    operative: u32,
    total: u32,
}

impl Operative {
    /// So many of so many; `None` when more work than there are.
    pub fn new(operative: u32, total: u32) -> Option<Self> {
        (operative <= total).then_some(Self { operative, total })
    }

    /// How many work.
    pub const fn operative(self) -> u32 {
        self.operative
    }

    /// How many there are.
    pub const fn total(self) -> u32 {
        self.total
    }

    /// How many do not work.
    pub const fn out(self) -> u32 {
        self.total - self.operative
    }
}

/// What is known of one vehicle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct CarFacts {
    /// Its number.
    pub car: CarNumber,
    /// What it is.
    pub kind: Option<VehicleKind>,
    /// Its mass in the load state given.
    pub mass: Option<Kilograms>,
    /// Axles; one works when all that should brake it is available.
    pub axles: Option<Operative>,
    /// Bogies; one works when all its axles do.
    pub bogies: Option<Operative>,
    /// Actuators.
    pub actuators: Option<Operative>,
    /// Those of the actuators that are tread brake units.
    pub tread_brake_units: Option<Operative>,
    /// From where its hand brake is worked.
    pub hand_brake: Option<HandBrake>,
}

impl CarFacts {
    /// A vehicle of which only its number is known.
    pub fn unknown(car: CarNumber) -> Self {
        Self {
            car,
            kind: None,
            mass: None,
            axles: None,
            bogies: None,
            actuators: None,
            tread_brake_units: None,
            hand_brake: None,
        }
    }
}

/// The brake percentage of the train as it should be and as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct PercentageFacts {
    complete: Percentage,
    left: Percentage,
}

impl PercentageFacts {
    /// The percentage with every brake working and with those that work. `None` when more is left
    /// than there was, or the masses differ: an isolated brake stays in the mass.
    pub fn new(complete: Percentage, left: Percentage) -> Option<Self> {
        let fits =
            left.mass() == complete.mass() && left.braked_weight() <= complete.braked_weight();
        fits.then_some(Self { complete, left })
    }

    /// With every brake working.
    pub const fn complete(self) -> Percentage {
        self.complete
    }

    /// With the brakes that work.
    pub const fn left(self) -> Percentage {
        self.left
    }
}

/// What holds the train when nobody acts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HoldingFacts {
    /// The holding force left, of each axle no more than its adhesion holds.
    pub force: Kilonewtons,
    /// The adhesion that each axle was taken to use at most; none where nothing limited it.
    pub adhesion: Option<Thousandths>,
    /// The mass to be held.
    pub mass: Kilograms,
}

/// Brakes that are on, or may be, while nothing commands them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct DraggingFacts {
    /// At once.
    pub at_once: u32,
    /// Once stored air is used up.
    pub later: u32,
}

/// What is known of a train.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct TrainFacts {
    /// Its vehicles from the first in the direction of travel to the last.
    pub cars: Vec<CarFacts>,
    /// Where it is.
    pub whereabouts: Option<Whereabouts>,
    /// What kind of train it is.
    pub kind: Option<TrainKind>,
    /// What it moves for.
    pub movement: Option<Movement>,
    /// The greatest speed it may run at with all brakes working.
    pub speed_max: Option<Speed>,
    /// Brake position and length, as the conversion model knows them.
    pub formation: Option<Formation>,
    /// Its brake percentage.
    pub percentage: Option<PercentageFacts>,
    /// What holds it.
    pub holding: Option<HoldingFacts>,
    /// Redundant and other equipment by kind; a kind that is not listed is unknown.
    pub equipment: BTreeMap<PositionKind, Operative>,
    /// Brakes that drag.
    pub dragging: Option<DraggingFacts>,
    /// Axles that brake with no protection against sliding, of those that had it.
    pub unprotected_axles: Option<u32>,
    /// The steepest gradient of the way ahead in the direction of travel: negative where it
    /// falls, nil or positive where it does not fall at all.
    pub gradient: Option<Gradient>,
    /// The shortest distance in which the train must stop by the signals of the way ahead.
    pub signalling_distance: Option<Distance>,
    /// How far it is to where it is meant to go.
    pub distance_to_go: Option<Distance>,
    /// The route it runs on.
    pub route: Option<RouteName>,
    /// The day it runs on.
    pub day: Option<Day>,
}
