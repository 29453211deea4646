//! The brake percentage conversion model of SUBSET-026-3 (3.13.3, A.3.7 to A.3.9): decelerations
//! by speed and a build-up time from a whole brake percentage, a brake position and a length.
//! The document defines curves; the stopping distance put together from them in [`distance`] is
//! the register's own, in two labelled models.

pub mod build_up;
pub mod deceleration;
pub mod distance;
pub mod margin;
pub mod search;

use super::Method;
use crate::units::{Distance, Gradient, Speed};
use crate::words::word_list;
use crate::worked::Missing;
use serde::{Deserialize, Serialize};

word_list! {
    /// The train's kind and brake position, as the model knows them.
    ModelPosition, "brake position of the conversion model" {
        /// Passenger train in P.
        PassengerP = "passenger_p",
        /// Freight train in P.
        FreightP = "freight_p",
        /// Freight train in G.
        FreightG = "freight_g",
    }
}

impl ModelPosition {
    /// The greatest train length that the model holds for (3.13.3.2).
    pub const fn length_max(self) -> Distance {
        match self {
            Self::PassengerP => Distance(900.0),
            Self::FreightP | Self::FreightG => Distance(1500.0),
        }
    }
}

word_list! {
    /// Which brake is asked for.
    Brake, "brake" {
        /// Emergency brake.
        Emergency = "emergency",
        /// Full service brake; the model counts at most 135 % for it.
        FullService = "full_service",
    }
}

word_list! {
    /// With which correction factors.
    Model, "conversion model" {
        /// Nominal: no correction.
        Nominal = "nominal",
        /// Default national values of A.3.2: deceleration times 0.7 and 0.9, time times 1.1.
        DefaultValues = "default_values",
    }
}

impl Model {
    /// The factor on the deceleration.
    pub const fn deceleration_factor(self) -> f64 {
        match self {
            Self::Nominal => 1.0,
            Self::DefaultValues => 0.7 * 0.9,
        }
    }

    /// The factor on the build-up time.
    pub const fn time_factor(self) -> f64 {
        match self {
            Self::Nominal => 1.0,
            Self::DefaultValues => 1.1,
        }
    }

    /// The label of its results.
    pub const fn method(self) -> Method {
        match self {
            Self::Nominal => Method::ConversionNominal,
            Self::DefaultValues => Method::ConversionDefaultValues,
        }
    }
}

/// Brake position and length of a train.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Formation {
    /// Kind and brake position.
    pub position: ModelPosition,
    /// Length of the train.
    pub length: Distance,
}

/// What is asked: the model, the brake and the gradient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// With which correction factors.
    pub model: Model,
    /// Which brake.
    pub brake: Brake,
    /// The gradient over the whole stop, positive uphill.
    pub gradient: Gradient,
}

/// The least and greatest brake percentage that the model holds for (3.13.3.2).
pub const PERCENTAGES: std::ops::RangeInclusive<u32> = 30..=250;

/// The greatest speed that the model holds for (3.13.3.2).
pub const SPEED_MAX: Speed = Speed(200.0);

/// A train that the model holds for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ModelTrain {
    formation: Formation,
    percentage: u32,
}

impl ModelTrain {
    /// A train of that whole percentage and greatest speed. No answer where the model does not
    /// hold: percentage 30 to 250, speed to 200 km/h, length to 900 m (passenger) or 1500 m
    /// (freight), 3.13.3.2.
    pub fn new(percentage: u32, formation: Formation, speed_max: Speed) -> Result<Self, Missing> {
        let length_max = formation.position.length_max();
        let what = if !PERCENTAGES.contains(&percentage) {
            format!("a brake percentage of 30 to 250 %, not {percentage} %")
        } else if !(0.0..=SPEED_MAX.0).contains(&speed_max.0) {
            format!("a greatest speed up to {SPEED_MAX:.0}, not {speed_max}")
        } else if !(0.0..=length_max.0).contains(&formation.length.0) {
            format!("a length up to {length_max:.0}, not {}", formation.length)
        } else {
            return Ok(Self {
                formation,
                percentage,
            });
        };
        let of = "conversion model, SUBSET-026-3, 3.13.3.2";
        Err(Missing::one(what, of))
    }

    /// Brake position and length.
    pub const fn formation(&self) -> Formation {
        self.formation
    }

    /// The percentage that counts for a brake: at most 135 for the service brake (A.3.7).
    pub fn percentage_for(&self, brake: Brake) -> u32 {
        match brake {
            Brake::Emergency => self.percentage,
            Brake::FullService => self.percentage.min(135),
        }
    }
}
