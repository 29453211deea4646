//! One file or folder per subject: what the page shows, and what its forms do.

pub(crate) mod accounts;
pub(crate) mod api;
pub(crate) mod approvals;
pub(crate) mod car_types;
pub(crate) mod cars;
pub(crate) mod check;
pub(crate) mod components;
pub(crate) mod decision;
pub(crate) mod due;
pub(crate) mod find;
mod form_page;
pub(crate) mod further;
pub(crate) mod isolations;
pub(crate) mod ledger;
pub(crate) mod my_account;
pub(crate) mod positions;
pub(crate) mod refused;
pub(crate) mod rule_sets;
mod scanned;
pub(crate) mod sign_in;
pub(crate) mod sign_on;
pub(crate) mod start;
pub(crate) mod tests;
pub(crate) mod trains;
