//! The server over real HTTP.

mod api;
mod cars;
mod components;
mod decision;
mod due;
mod find;
mod isolations;
mod ledger;
mod plans;
mod positions;
mod question;
mod routes;
pub(crate) mod sample;
