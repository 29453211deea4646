//! What follows from a rule, as it stands in the rule set: speeds may still depend on the train.

use super::verdict::{Imposed, ImposedSpeed, Permission};
use crate::units::{Distance, Speed};
use crate::words::word_list;
use crate::worked::Missing;
use serde::{Deserialize, Serialize};

/// What follows from a rule.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Consequence {
    /// Nothing: the train may run.
    MayRun,
    /// It may run with restrictions.
    WithRestrictions(Restrictions),
    /// It may not run.
    MayNotRun,
}

/// Under which restrictions a train may run.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Restrictions {
    /// Caps of the speed; the least of them holds.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub speed_caps: Vec<SpeedCap>,
    /// Where passengers may not be.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub passengers: Option<PassengerRestriction>,
    /// From which cab it may be driven.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cab: Option<CabRestriction>,
    /// How far at most.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_max: Option<Distance>,
    /// Where to at the furthest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub destination: Option<Destination>,
    /// What else must be done, each in one sentence.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub conditions: Vec<String>,
    /// Who must be told.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tell: Vec<String>,
}

/// A cap of the speed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum SpeedCap {
    /// A speed.
    Fixed {
        /// The speed in km/h.
        speed: Speed,
        /// As the source prints it, where that is another unit: "20 mph".
        #[serde(default, skip_serializing_if = "Option::is_none")]
        printed: Option<String>,
    },
    /// A percentage of the greatest speed of the train.
    PercentOfMaximum {
        /// 1 to 100.
        percent: u32,
    },
    /// So much below the greatest speed of the train, but no need to go below another.
    BelowMaximum {
        /// By how much.
        by: Speed,
        /// What need not be gone below.
        not_below: Speed,
    },
}

word_list! {
    /// Where passengers may not be, milder first.
    PassengerRestriction, "passenger restriction" {
        /// Not in the vehicle whose brake does not work.
        NotInUnbrakedVehicle = "not_in_unbraked_vehicle",
        /// Not aboard at all.
        NoneAboard = "none_aboard",
    }
}

word_list! {
    /// From which cab a train may be driven, milder first. Each holds with all that is milder.
    CabRestriction, "cab restriction" {
        /// From that at its front in the direction of travel, and from no other.
        LeadingCab = "leading_cab_only",
        /// The same, and only where the brake of that vehicle works, on all its axles: where it does not,
        /// the train may not run as it stands.
        LeadingCabWithBrake = "leading_cab_only_with_the_brake_of_its_vehicle_working",
    }
}

word_list! {
    /// How far a train may go, nearest first.
    DestinationKind, "destination" {
        /// The next station where passengers can leave.
        NextStation = "next_station",
        /// The next siding.
        NextSiding = "next_siding",
        /// The next place where it can be repaired.
        NextRepairPlace = "next_repair_place",
        /// The next place on the operator's list of places of repair.
        ListedRepairPlace = "listed_repair_place",
        /// The end of its journey.
        EndOfJourney = "end_of_journey",
        /// Where it stays at the end of the day.
        EndOfDay = "end_of_day",
    }
}

/// Where a train may go at the furthest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Destination {
    /// What kind of place.
    pub kind: DestinationKind,
    /// What the rule says of it.
    pub words: String,
}

impl SpeedCap {
    fn impose(&self, speed_max: Option<Speed>) -> Result<ImposedSpeed, Missing> {
        let maximum = || {
            let missing = || Missing::one("greatest speed with all brakes", "train");
            speed_max.filter(|speed| speed.0 > 0.0).ok_or_else(missing)
        };
        let (speed, words) = match self {
            Self::Fixed { speed, printed } => {
                let words = printed
                    .clone()
                    .unwrap_or_else(|| format!("{} km/h", speed.0));
                (*speed, words)
            }
            Self::PercentOfMaximum { percent } => {
                let maximum = maximum()?;
                let speed = Speed(f64::from(*percent) * maximum.0 / 100.0);
                (speed, format!("{percent} % of {maximum:.1} = {speed:.2}"))
            }
            Self::BelowMaximum { by, not_below } => {
                let maximum = maximum()?;
                let speed = Speed((maximum.0 - by.0).max(not_below.0).min(maximum.0));
                let words = format!("{by:.1} below {maximum:.1}, not below {not_below:.1}");
                (speed, words)
            }
        };
        Ok(ImposedSpeed { speed, words })
    }
}

impl Consequence {
    /// What it means for a train of that greatest speed. No answer when a cap depends on the
    /// greatest speed and that is not known.
    pub fn impose(&self, speed_max: Option<Speed>) -> Result<(Permission, Imposed), Missing> {
        match self {
            Self::MayRun => Ok((Permission::MayRun, Imposed::default())),
            Self::MayNotRun => Ok((Permission::MayNotRun, Imposed::default())),
            Self::WithRestrictions(restrictions) => {
                let imposed = restrictions.impose(speed_max)?;
                Ok((Permission::WithRestrictions, imposed))
            }
        }
    }
}

impl Restrictions {
    fn impose(&self, speed_max: Option<Speed>) -> Result<Imposed, Missing> {
        let caps = self.speed_caps.iter().map(|cap| cap.impose(speed_max));
        let caps: Vec<ImposedSpeed> = caps.collect::<Result<_, _>>()?;
        let least = |a: ImposedSpeed, b: ImposedSpeed| a.least(b);
        Ok(Imposed {
            speed: caps.into_iter().reduce(least),
            passengers: self.passengers,
            cab: self.cab,
            distance_max: self.distance_max,
            destination: self.destination.clone(),
            conditions: self.conditions.clone(),
            tell: self.tell.clone(),
        })
    }
}
