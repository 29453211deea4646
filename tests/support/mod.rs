//! What the tests share: databases of either kind, a server on the loopback, a visitor who reads
//! pages over HTTP and a browser that shows them. Whatever goes wrong here ends the test.
#![allow(
    clippy::missing_panics_doc,
    reason = "a test that cannot go on fails; every function here may end it"
)]

mod each_database;
mod keeper;

pub mod assemblies;
pub mod baselines;
pub mod browser;
pub mod car_type_text;
pub mod decided;
pub mod facts;
pub mod fleet;
pub mod form;
pub mod keep_all;
pub mod locations;
pub mod measuring;
pub mod page;
pub mod postgres;
pub mod proposals;
pub mod provider;
pub mod reference_unit;
pub mod register;
pub mod server;
pub mod settings;
pub mod sqlite;
pub mod statements;
pub mod tables;
pub mod tarrenmoor;
pub mod tasks;
pub mod visitor;
mod with_schema;
pub mod with_trains;
