//! Concessions: which departures are allowed until when, by whom and why; proposed, prolonged and
//! withdrawn.

pub(crate) mod list;
pub(crate) mod new;
pub(crate) mod one;
