//! The board of cut-outs in force, and the forms that record and end them.

pub(crate) mod age;
pub(crate) mod board;
pub(crate) mod checks;
pub(crate) mod end;
mod places;
pub(crate) mod record;
