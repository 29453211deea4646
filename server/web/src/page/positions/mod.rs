//! Positions: what belongs there, what is and was fitted, and the forms that fit and remove.

mod departs;
mod forms;
mod inside;
pub(crate) mod position;
mod settings;
mod stock;

pub(crate) use forms::{
    asked_removal, component_fields, concession_field, fit, moving_reasons, removal_fields, remove,
    swapping_reasons, to_choose,
};
pub(crate) use position::Offered;
pub(crate) use settings::{SettingRow, set};
