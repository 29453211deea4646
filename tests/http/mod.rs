//! The server over real HTTP.

mod api;
mod cars;
mod components;
mod due;
mod find;
mod ledger;
mod plans;
mod positions;
mod routes;
pub(crate) mod sample;
