//! Entries are chained: each carries a hash over itself and the hash before it, so that no
//! entry can be changed, left out or put in without every later hash being wrong.

use crate::ledger::entry::Entry;
use sha2::{Digest, Sha256};

/// A SHA-256 hash (FIPS 180-4).
pub type Hash = [u8; 32];

/// The hash before the first entry.
pub const GENESIS: Hash = [0; 32];

/// An entry's fact and what it changed as they are kept, to the letter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Letters<'a> {
    /// The fact.
    pub fact: &'a str,
    /// What it changed beyond what it says, where that is kept.
    pub consequences: Option<&'a str>,
}

/// The hash of an entry that is kept in these letters: over the previous hash, the numbers and,
/// each with its length before it, the texts. They are hashed as they are kept, so that a later
/// release that would write a fact differently still proves the old ones.
pub fn link(previous: &Hash, entry: &Entry, letters: Letters<'_>) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update(previous);
    hasher.update(entry.seq.0.to_be_bytes());
    hasher.update(entry.command.as_bytes());
    hasher.update(entry.recorded_at.microseconds().to_be_bytes());
    hasher.update(entry.effective_at.microseconds().to_be_bytes());
    hasher.update(entry.corrects.map_or(0, |seq| seq.0).to_be_bytes());
    let texts = [
        entry.actor.as_str(),
        &entry.reason,
        entry.fact.kind().name(),
        letters.fact,
    ];
    for text in texts.into_iter().chain(letters.consequences) {
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

/// A hash as people noted it.
pub fn noted(text: &str) -> Option<Hash> {
    let digits: Option<Vec<u8>> = text
        .chars()
        .map(|digit| u8::try_from(digit.to_digit(16)?).ok())
        .collect();
    let digits = digits?;
    let (pairs, rest) = digits.as_chunks::<2>();
    let bytes: Vec<u8> = pairs.iter().map(|[high, low]| high << 4 | low).collect();
    Hash::try_from(bytes).ok().filter(|_| rest.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_is_read_as_it_is_shown() {
        let hash = std::array::from_fn(|place| u8::try_from(place * 7).expect("small"));
        assert_eq!(noted(&shown(&hash)), Some(hash));
        for bad in ["", "ab", "all ", &"g".repeat(64), &"0".repeat(63)] {
            assert_eq!(noted(bad), None, "{bad}");
        }
    }
}
