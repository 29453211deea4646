//! Use: what meters show, what cars and components have run, and how much a day.
//!
//! A car's use by a meter is one line through its readings, continuous where the meter was
//! replaced. A component's use is what its hosts ran while it was fitted to them, and what it
//! brought with it.

pub mod carried;
pub mod meter;
pub mod rate;
pub mod reading;
