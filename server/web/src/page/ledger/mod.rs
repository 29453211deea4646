//! The ledger: its entries, newest first; one entry with its fact; the chain and its proof.

mod chain;
mod correct;
mod entry;
mod file;
mod list;
pub(crate) mod query;
mod withdraw;

pub(crate) use chain::{export, show as show_chain};
pub(crate) use correct::{send as correct, show as show_correct};
pub(crate) use entry::show as show_entry;
pub(crate) use file::csv;
pub(crate) use list::show;
pub(crate) use withdraw::withdraw;

use domain::ledger::entry::Seq;
use domain::unreadable::Unreadable;

/// The number of an entry, from an address.
fn number(text: &str) -> Result<Seq, Unreadable> {
    match text.parse() {
        Ok(number @ 1..) => Ok(Seq(number)),
        _ => Err(Unreadable::new("entry", text, "a number from 1")),
    }
}
