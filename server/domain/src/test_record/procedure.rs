//! Procedures: what a test measures and which limits hold.

use crate::configuration::car_type::LoadState;
use crate::due::task::AppliesTo;
use crate::identity::{MeasurandName, PositionCode, ProcedureCode, Revision, TaskCode};
use crate::isolation::observed::During;
use crate::test_record::decimal::Decimal;
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::ops::Deref;

word_list! {
    /// What follows when a value is outside its bounds.
    MeasurandRole, "measurand role" {
        /// It belongs to what is tested: the test is failed.
        Result = "result",
        /// It belongs to how the test was made, as a waiting time or a temperature: the test
        /// does not count.
        Condition = "condition",
    }
}

/// Bounds of a measured value, both inclusive; at least one is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "BoundsText", into = "BoundsText")]
pub struct Bounds {
    lower: Option<Decimal>,
    upper: Option<Decimal>,
}

/// The form of [`Bounds`] in files.
#[derive(Serialize, Deserialize)]
struct BoundsText {
    #[serde(default, skip_serializing_if = "Option::is_none")]
    lower: Option<Decimal>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    upper: Option<Decimal>,
}

/// Bounds that bound nothing, or leave nothing between them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("bounds need a lower or an upper value, and the lower not above the upper")]
pub struct NoBounds;

impl Bounds {
    /// Bounds from a lower and an upper value.
    pub fn new(lower: Option<Decimal>, upper: Option<Decimal>) -> Result<Self, NoBounds> {
        let ordered = match (lower, upper) {
            (Some(lower), Some(upper)) => lower <= upper,
            (lower, upper) => lower.is_some() || upper.is_some(),
        };
        ordered.then_some(Self { lower, upper }).ok_or(NoBounds)
    }

    /// The least value that passes.
    pub const fn lower(&self) -> Option<Decimal> {
        self.lower
    }

    /// The greatest value that passes.
    pub const fn upper(&self) -> Option<Decimal> {
        self.upper
    }
}

impl TryFrom<BoundsText> for Bounds {
    type Error = NoBounds;
    fn try_from(text: BoundsText) -> Result<Self, NoBounds> {
        Self::new(text.lower, text.upper)
    }
}

impl From<Bounds> for BoundsText {
    fn from(bounds: Bounds) -> Self {
        Self {
            lower: bounds.lower,
            upper: bounds.upper,
        }
    }
}

impl fmt::Display for Bounds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.lower, self.upper) {
            (Some(lower), Some(upper)) => write!(f, "{lower} to {upper}"),
            (Some(lower), None) => write!(f, "at least {lower}"),
            (None, Some(upper)) => write!(f, "at most {upper}"),
            (None, None) => Ok(()),
        }
    }
}

/// Something a test measures.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Measurand {
    /// What.
    pub name: MeasurandName,
    /// Under which load, where the limit depends on it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load: Option<LoadState>,
    /// Whether it judges the thing tested or the making of the test.
    pub role: MeasurandRole,
    /// The unit of its values and bounds: "bar", "bar/min", "mm".
    pub unit: String,
    /// Its limits.
    pub bounds: Bounds,
    /// The positions at which it is measured, where it is a pressure or a brake's force.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub measured_at: Vec<PositionCode>,
    /// What the brake is doing meanwhile.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub during: Option<During>,
}

/// What a procedure measures: at least one measurand, each once under each load.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<Measurand>", into = "Vec<Measurand>")]
pub struct Measurands(Vec<Measurand>);

/// Why measurands are not those of a procedure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeasurandsRefused {
    /// There is none.
    #[error("a procedure measures something")]
    Nothing,
    /// One stands twice.
    #[error("measurand “{0}” stands twice under the same load")]
    Twice(MeasurandName),
}

impl TryFrom<Vec<Measurand>> for Measurands {
    type Error = MeasurandsRefused;
    fn try_from(measurands: Vec<Measurand>) -> Result<Self, MeasurandsRefused> {
        if measurands.is_empty() {
            return Err(MeasurandsRefused::Nothing);
        }
        for (place, one) in measurands.iter().enumerate() {
            let mut before = measurands.iter().take(place);
            if before.any(|other| other.name == one.name && other.load == one.load) {
                return Err(MeasurandsRefused::Twice(one.name.clone()));
            }
        }
        Ok(Self(measurands))
    }
}

impl From<Measurands> for Vec<Measurand> {
    fn from(measurands: Measurands) -> Self {
        measurands.0
    }
}

impl Deref for Measurands {
    type Target = [Measurand];
    fn deref(&self) -> &[Measurand] {
        &self.0
    }
}

/// How a test is done and which limits hold, in one revision.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Procedure {
    /// Its code.
    pub code: ProcedureCode,
    /// Its revision.
    pub revision: Revision,
    /// What is tested, in words.
    pub title: String,
    /// What it is done on.
    pub applies_to: AppliesTo,
    /// What it measures, in the order of the sheet.
    pub measurands: Measurands,
    /// The task that the test belongs to: a failed test makes it due at once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub task: Option<TaskCode>,
    /// Where the limits come from: law, maker, own justification.
    pub source: String,
}
