//! Test records: measured values against the limits of a procedure, and the verdict that
//! follows from them. Nobody types a verdict.

pub mod decimal;
pub mod procedure;
pub mod record;
pub mod verdict;
