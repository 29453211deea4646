//! The built program, as people run it: what it prints, how it exits and what it leaves behind.

mod absent;
mod accounts;
mod at_once;
mod circuit;
mod clerk;
mod decide;
mod due;
mod example;
mod generate;
mod import;
mod killed;
mod ledger;
pub(crate) mod program;
mod serve;
mod wrong_input;
