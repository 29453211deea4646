//! The kinds of rule, as data.

use super::consequence::Consequence;
use super::facts::HandBrake;
use crate::configuration::car_type::PositionKind;
use crate::isolation::Supply;
use crate::units::{Distance, Gradient, Kilograms, Speed};
use crate::words::word_list;
use serde::{Deserialize, Serialize};

/// What a rule demands, and what follows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Requirement {
    /// Whatever the train: the consequence follows.
    Always(Consequence),
    /// Bands of what is left of the brakes, each with its consequence.
    Bands(Bands),
    /// A table of what is required by signalling distance, gradient and speed; the greatest speed
    /// whose requirement is met holds.
    Table(RequiredTable),
    /// Stopping within a distance; the greatest speed that does holds.
    Stopping(Stopping),
    /// A vehicle at an end of the train must brake.
    EndVehicle(EndVehicle),
    /// No more than so many neighbouring vehicles without brake.
    Adjacent(Adjacent),
    /// Standing on a gradient when nobody acts.
    Holding(Holding),
    /// So many of a kind of equipment must work.
    Equipment(Equipment),
    /// No more than so many brakes may drag.
    Dragging(Dragging),
    /// No more than so many braked axles may be without protection against sliding.
    SlideProtection(SlideProtection),
}

/// What is measured, as an exact ratio.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// The brake percentage λ that is left.
    BrakePercentage,
    /// The share of the brakes that is operative.
    Proportion(Counting),
}

/// How operative brakes are counted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Counting {
    /// By what.
    pub by: CountedBy,
    /// By what instead in a train whose actuators are all tread brake units.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub if_tread_brakes_only: Option<CountedBy>,
    /// How cut-out axles of heavy locomotives count, where axles are counted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub heavy_locomotives: Option<HeavyLocomotives>,
}

/// What is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CountedBy {
    /// Actuators.
    Actuators,
    /// Tread brake units.
    TreadBrakeUnits,
    /// Axles.
    Axles,
    /// Bogies.
    Bogies,
    /// Vehicles that count as braked.
    Cars(CountsAsBraked),
    /// Braked weight left, of the braked weight with every brake working.
    BrakedWeight,
    /// Equipment of a kind: distributor valves, say.
    Equipment(PositionKind),
}

/// When a vehicle counts as braked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CountsAsBraked {
    /// When all its axles are.
    AllAxles,
    /// When at least so many of its axles are, from 1.
    AxlesAtLeast(u32),
}

/// A cut-out axle of a locomotive heavier than a limit counts more than once. The sum of axles
/// stays what it is, which is the register's reading of the rule this comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HeavyLocomotives {
    /// Heavier than this.
    pub heavier_than: Kilograms,
    /// As how many a cut-out axle counts.
    pub cut_out_axle_counts: u32,
}

/// Bands from 0 upward without gap, each from its lower end inclusive to its upper exclusive.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bands {
    /// What is measured.
    pub measure: Measure,
    /// The bands, lowest first.
    pub bands: Vec<Band>,
}

/// One band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Band {
    /// Its lower end in percent, inclusive.
    pub at_least_percent: u32,
    /// Its upper end in percent, exclusive; none for the highest band.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub below_percent: Option<u32>,
    /// What follows.
    pub consequence: Consequence,
}

impl Band {
    /// Its ends in words: "at least 75 %, below 85 %".
    pub fn range(&self) -> String {
        let from = self.at_least_percent;
        match self.below_percent {
            Some(below) if from == 0 => format!("below {below} %"),
            Some(below) => format!("at least {from} %, below {below} %"),
            None => format!("at least {from} %"),
        }
    }
}

/// Required percentages. Between listed values the stricter is taken: the shorter signalling
/// distance, the steeper fall, the higher speed. Beyond the last value nothing is extrapolated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RequiredTable {
    /// What is required.
    pub measure: Measure,
    /// One table for each signalling distance, shortest first.
    pub tables: Vec<DistanceTable>,
}

/// Required percentages for one signalling distance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DistanceTable {
    /// The signalling distance.
    pub signalling_distance: Distance,
    /// The speeds of the columns, ascending.
    pub speeds: Vec<Speed>,
    /// The rows, from the least fall to the steepest.
    pub rows: Vec<GradientRow>,
}

/// Required percentages on one gradient.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GradientRow {
    /// The gradient, nil or negative.
    pub gradient: Gradient,
    /// The required percentage for each speed.
    pub required_percent: Vec<u32>,
}

word_list! {
    /// By which method a rule computes stopping distances.
    StoppingMethod, "stopping distance method of a rule" {
        /// Braked-weight relation of UIC 544-1: level track and 100 or 120 km/h only.
        BrakedWeightRelation = "braked_weight_relation",
        /// Conversion model of SUBSET-026, nominal, emergency brake.
        ConversionNominal = "conversion_model_nominal",
        /// Conversion model with the default national values, emergency brake.
        ConversionDefaultValues = "conversion_model_default_values",
    }
}

/// Stopping within a distance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stopping {
    /// By which method.
    pub method: StoppingMethod,
    /// Within which distance.
    pub within: Within,
}

/// Within which distance a train must stop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Within {
    /// The signalling distance of the way ahead.
    SignallingDistance,
    /// A distance that the rule names.
    Distance(Distance),
}

word_list! {
    /// Which vehicles at the ends of a train a rule looks at.
    TrainEnd, "end of the train" {
        /// The first in the direction of travel.
        First = "first",
        /// The last.
        Last = "last",
        /// The last and the last but one: the rule is broken when neither brakes.
        LastTwo = "last_two",
        /// The first and the last: the rule is broken when one of them does not brake.
        FirstOrLast = "first_or_last",
    }
}

/// A vehicle at an end of the train must brake.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct EndVehicle {
    /// Which.
    pub end: TrainEnd,
    /// When a vehicle counts as braked.
    pub counts_as_braked: CountsAsBraked,
    /// Only where the hand brake of the unbraked vehicle is worked from there.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hand_brake: Option<HandBrake>,
    /// What follows when it does not.
    pub otherwise: Consequence,
}

/// No more than so many neighbouring vehicles without brake.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Adjacent {
    /// How many at most.
    pub at_most: u32,
    /// When a vehicle counts as braked.
    pub counts_as_braked: CountsAsBraked,
    /// What follows when there are more.
    pub otherwise: Consequence,
}

/// Standing on a gradient when nobody acts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Holding {
    /// The gradient, up or down.
    pub gradient: Gradient,
    /// The safety factor, from 1.
    pub safety_factor: f64,
    /// What follows when it is not held.
    pub otherwise: Consequence,
}

/// So many of a kind of equipment must work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Equipment {
    /// The kind.
    pub kind: PositionKind,
    /// How many in the train.
    pub at_least: u32,
    /// What follows when fewer do.
    pub otherwise: Consequence,
}

/// No more than so many brakes may drag. A brake that may be held on by shut-in air counts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Dragging {
    /// Whether those count that drag at once, or also those that will once stored air is used up.
    pub when: Supply,
    /// How many at most.
    pub at_most: u32,
    /// What follows when more do.
    pub otherwise: Consequence,
}

/// No more than so many braked axles may be without protection against sliding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SlideProtection {
    /// How many axles in the train at most.
    pub at_most: u32,
    /// What follows when there are more.
    pub otherwise: Consequence,
}
