//! Components: found by serial number or location, and the life of one.

pub(crate) mod component;
mod due;
pub(crate) mod forms;
pub(crate) mod list;
pub(crate) mod receipt;
mod used;
