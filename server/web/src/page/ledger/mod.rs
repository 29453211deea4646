//! The ledger: its entries, newest first; one entry with its fact; the chain and its proof.

mod chain;
mod entry;
mod file;
mod list;
mod query;
mod withdraw;

pub(crate) use chain::{export, show as show_chain};
pub(crate) use entry::show as show_entry;
pub(crate) use file::csv;
pub(crate) use list::show;
pub(crate) use withdraw::withdraw;

use domain::ledger::chain::Hash;
use domain::ledger::entry::Seq;
use domain::unreadable::Unreadable;

/// The number of an entry, from an address.
fn number(text: &str) -> Result<Seq, Unreadable> {
    match text.parse() {
        Ok(number @ 1..) => Ok(Seq(number)),
        _ => Err(Unreadable::new("entry", text, "a number from 1")),
    }
}

/// A hash in groups of eight digits, which people can compare.
fn hex(hash: &Hash) -> String {
    let words = hash.chunks(4).map(|bytes| {
        let word = bytes
            .iter()
            .fold(0_u32, |word, byte| word << 8 | u32::from(*byte));
        format!("{word:08x}")
    });
    words.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_is_shown_in_groups() {
        let mut hash = [0; 32];
        (hash[0], hash[3], hash[31]) = (0xab, 0x01, 0xff);
        let shown = hex(&hash);
        assert!(
            shown.starts_with("ab000001 00000000") && shown.ends_with("000000ff"),
            "{shown}"
        );
    }
}
