//! The ledger and its projections in SQLite or PostgreSQL. The only package that knows sqlx;
//! it decides nothing.

mod absent;
pub mod account;
mod announce;
mod checkpoint;
mod column;
mod connect;
mod consequences;
mod documents;
mod dossier;
mod error;
mod foresee;
mod import;
mod keep;
mod ledger;
mod past_designs;
mod plain_rows;
mod projection;
mod proof;
pub mod read;
mod rebuild;
mod record;
pub mod refused;
mod row;
mod schema;
mod settle;
mod shape;
mod sizes;
mod zone;

pub use announce::Changes;
pub use error::StoreError;
pub use foresee::Foresight;
pub use import::{Go, ImportProgress, ImportWatch, Imported};
pub use proof::Proven;
pub use rebuild::{Comparison, DIFFERENCES_MAX};
pub use record::{Recorded, Store};
