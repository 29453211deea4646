//! Positions: what belongs there, what is and was fitted, and the forms that fit and remove.

mod forms;
pub(crate) mod position;

pub(crate) use forms::{fit, removal_reasons, remove};
