//! Drawings as numbers and words; templates turn them into SVG. No drawing decides anything.

pub(crate) mod car_side;
pub(crate) mod circuit;
pub(crate) mod lanes;
pub(crate) mod layered;
pub(crate) mod life_strip;
pub(crate) mod outline;
pub(crate) mod speed_distance;
pub(crate) mod symbol;
pub(crate) mod train_side;
pub(crate) mod unit_row;
pub(crate) mod wheels;

/// Width of every drawing in its own units, which are pixels where a page is 1280 wide.
pub(crate) const WIDTH: i32 = 1240;
