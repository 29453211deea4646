//! Pages in a real browser: what a person does, and what a person can read.

mod board;
mod circuit;
mod configuration;
mod drawing;
mod ledger;
mod sheet;
mod sign_on;
mod trains;
