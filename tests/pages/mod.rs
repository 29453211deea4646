//! Pages as people use them, in a real browser.

mod ledger;
