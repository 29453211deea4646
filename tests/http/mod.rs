//! The server over real HTTP.

mod api;
mod due;
mod ledger;
mod plans;
mod routes;
pub(crate) mod sample;
