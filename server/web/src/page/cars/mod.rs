//! Cars: lists by fleet and depot, units, and the car with its positions.

pub(crate) mod car;
pub(crate) mod carrying;
pub(crate) mod compared;
mod facts;
pub(crate) mod fleet;
mod inside;
pub(crate) mod list;
pub(crate) mod meters;
pub(crate) mod positions;
pub(crate) mod unit;
pub(crate) mod unit_compared;
