//! Quantities in answers: a number with its unit.

use domain::time::Instant;
use domain::units::{Amount, Meter};
use serde::Serialize;
use utoipa::ToSchema;

/// A number with its unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, ToSchema)]
pub(crate) struct AmountBody {
    /// The number, exact to the thousandth.
    #[schema(example = 612_400.5)]
    pub(crate) value: f64,
    /// Its unit: `km` or `h`.
    #[schema(example = "km")]
    pub(crate) unit: &'static str,
}

impl AmountBody {
    /// An amount of a meter.
    pub(crate) fn new(amount: Amount, meter: Meter) -> Self {
        Self {
            value: amount.units(),
            unit: meter.unit(),
        }
    }
}

/// A value of a meter at a time.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub(crate) struct ReadingBody {
    /// When, in UTC.
    #[schema(format = DateTime)]
    pub(crate) at: String,
    /// What the meter showed.
    pub(crate) shown: AmountBody,
}

impl ReadingBody {
    /// What a meter showed at a time.
    pub(crate) fn new(meter: Meter, (at, shown): (Instant, Amount)) -> Self {
        Self {
            at: at.to_string(),
            shown: AmountBody::new(shown, meter),
        }
    }
}
