//! Test records: measured values beside their limits, and the verdict that follows from them.

mod form;
pub(crate) mod judged;
pub(crate) mod new;
pub(crate) mod show;
