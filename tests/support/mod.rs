//! What the tests share: a running server, databases, a fleet, people.
//! To be filled.

pub mod measuring;
pub mod tasks;
