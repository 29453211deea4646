//! Entries are chained: each carries a hash over itself and the hash before it, so that no
//! entry can be changed, left out or put in without every later hash being wrong.

use crate::ledger::entry::Entry;
use sha2::{Digest, Sha256};

/// A SHA-256 hash (FIPS 180-4).
pub type Hash = [u8; 32];

/// The hash before the first entry.
pub const GENESIS: Hash = [0; 32];

/// The hash of an entry whose fact is kept as `body`: over the previous hash, the numbers and,
/// each with its length before it, the texts. The body is hashed as it is kept, so that a later
/// release that would write a fact differently still proves the old ones.
pub fn link(previous: &Hash, entry: &Entry, body: &str) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update(previous);
    hasher.update(entry.seq.0.to_be_bytes());
    hasher.update(entry.command.as_bytes());
    hasher.update(entry.recorded_at.microseconds().to_be_bytes());
    hasher.update(entry.effective_at.microseconds().to_be_bytes());
    hasher.update(entry.corrects.map_or(0, |seq| seq.0).to_be_bytes());
    for text in [entry.actor.as_str(), &entry.reason, entry.fact.kind(), body] {
        hasher.update((text.len() as u64).to_be_bytes());
        hasher.update(text.as_bytes());
    }
    hasher.finalize().into()
}

/// A hash as people note it: 64 hexadecimal digits.
pub fn shown(hash: &Hash) -> String {
    let digit = |half: u8| char::from_digit(u32::from(half), 16).unwrap_or('0');
    hash.iter()
        .flat_map(|byte| [digit(byte >> 4), digit(byte & 15)])
        .collect()
}
