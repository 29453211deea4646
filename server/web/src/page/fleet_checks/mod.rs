//! Checks of the fleet: which are open, opening one, and the answers of its cars.

pub(crate) mod list;
pub(crate) mod new;
pub(crate) mod one;
