//! The server over real HTTP.

mod api;
mod approvals;
mod assemblies;
mod car_types;
mod cars;
mod changes;
mod circuit;
mod components;
mod decision;
mod due;
mod find;
mod forces;
mod further;
pub(crate) mod isolations;
mod ledger;
pub(crate) mod people;
mod plans;
mod positions;
mod programs;
mod question;
mod refused;
mod routes;
mod rule_sets;
pub(crate) mod sample;
pub(crate) mod sheets;
pub(crate) mod sign_on;
