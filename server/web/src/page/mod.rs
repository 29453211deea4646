//! One file or folder per subject: what the page shows, and what its forms do.

pub(crate) mod api;
pub(crate) mod due;
pub(crate) mod ledger;
pub(crate) mod sign_in;
pub(crate) mod start;
