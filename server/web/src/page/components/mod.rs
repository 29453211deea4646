//! Components: found by serial number or location, and the life of one.

mod again;
pub(crate) mod away;
pub(crate) mod batch;
pub(crate) mod certificate;
pub(crate) mod certified;
pub(crate) mod component;
mod contents;
mod due;
mod evidence;
pub(crate) mod forms;
pub(crate) mod life;
pub(crate) mod list;
pub(crate) mod locations;
pub(crate) mod places;
pub(crate) mod plates;
pub(crate) mod receipt;
mod suspected;
mod used;

pub(crate) use again::JudgeAgain;
