//! Visits: planned stays of units at depots, and what is to be done during them.

mod form;
pub(crate) mod list;
pub(crate) mod new;
pub(crate) mod one;
mod work;
