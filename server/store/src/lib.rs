//! The ledger and its projections in SQLite or PostgreSQL. The only package that knows sqlx;
//! it decides nothing.

mod column;
mod connect;
mod documents;
mod dossier;
mod error;
mod keep;
mod ledger;
mod record;
mod row;
mod schema;
mod settle;

pub use error::StoreError;
pub use ledger::Proven;
pub use record::{Recorded, Store};
