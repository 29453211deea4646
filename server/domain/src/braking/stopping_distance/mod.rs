//! Stopping distance by methods that must never be mixed: each has its own response time
//! and its own margins, and for one train they differ by half. Every result bears its method.

pub mod braked_weight_relation;
pub mod by_method;
pub mod conversion_model;
pub mod course;
pub mod mean_value;
pub mod permitted;

use crate::units::{Distance, Speed};
use crate::words::word_list;
use crate::worked::Step;
use serde::Serialize;

word_list! {
    /// By which method a stopping distance was found.
    Method, "stopping distance method" {
        /// λ = C/S − D of UIC 544-1: level track, 2 s response, no margin.
        BrakedWeightRelation = "braked_weight_relation",
        /// Conversion model of SUBSET-026, nominal: no margin beyond the model's own.
        ConversionNominal = "conversion_model_nominal",
        /// Conversion model with the default national values: the margins of train protection.
        ConversionDefaultValues = "conversion_model_default_values",
        /// Mean deceleration and response time, in the manner of EN 14531-1.
        MeanValue = "mean_value",
        /// From the force of each brake at the rail, step by step: no margin.
        Forces = "forces",
    }
}

impl Method {
    /// What stands beside every number found by it.
    pub const fn label(self) -> &'static str {
        match self {
            Self::BrakedWeightRelation => "braked-weight relation of UIC 544-1, level, no margin",
            Self::ConversionNominal => "conversion model of SUBSET-026, nominal",
            Self::ConversionDefaultValues => {
                "conversion model of SUBSET-026, default national values"
            }
            Self::MeanValue => "mean deceleration and response time (EN 14531-1)",
            Self::Forces => "forces at the rail, step by step (EN 14531-1), no margin",
        }
    }
}

/// Whether and where the train stops.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Stop {
    /// It stops after that distance.
    After(Distance),
    /// The gradient is stronger than the brakes somewhere on the way down to a stand.
    Never,
}

impl Stop {
    /// Whether the train stops within a distance.
    pub fn is_within(self, limit: Distance) -> bool {
        matches!(self, Stop::After(distance) if distance <= limit)
    }
}

impl std::fmt::Display for Stop {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Stop::After(distance) => distance.fmt(f),
            Stop::Never => f.write_str("does not stop"),
        }
    }
}

/// A stopping distance with the method it was found by.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StoppingDistance {
    /// By which method.
    pub method: Method,
    /// From which speed.
    pub from: Speed,
    /// Whether and where.
    pub stop: Stop,
}

/// The longest distance that Regulation (EU) 1302/2014, 4.2.4.5.2(9) allows any train, from
/// 350 km/h. A longer result is arithmetic, not a distance to rely on.
pub const PLAUSIBLE_MAX: Distance = Distance(5360.0);

impl StoppingDistance {
    /// A step that warns of a distance beyond all that law allows any train.
    pub(crate) fn caution(&self) -> Option<Step> {
        let implausible = matches!(self.stop, Stop::After(distance) if distance > PLAUSIBLE_MAX);
        implausible.then(|| {
            let working = format!(
                "{} is more than {PLAUSIBLE_MAX}: do not rely on it",
                self.stop
            );
            let source = "Regulation (EU) 1302/2014, 4.2.4.5.2(9)";
            Step::published("caution", working, source)
        })
    }
}
