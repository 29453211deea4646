//! Evidence holds: those in force, setting one, and lifting one's own.

pub(crate) mod lift;
pub(crate) mod list;
pub(crate) mod set;
