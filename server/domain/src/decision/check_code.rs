//! The code on a sheet by which it is found again in the ledger and proved: the number of the
//! decision's entry, the beginning of its hash, and a check symbol.
//!
//! The alphabet has 31 symbols: digits and capital letters without 0, 1, I, L and O, which are
//! taken for each other. 31 is a prime, so that a sum of the symbols weighted by the powers of
//! the primitive root 3, which must be nought modulo 31, finds every single wrong symbol and every
//! swap of two symbols less than 30 places apart (the weighted pure systems of ISO/IEC 7064 are
//! of this kind).

use crate::ledger::chain::Hash;
use crate::ledger::entry::Seq;
use crate::unreadable::Unreadable;
use std::fmt;
use std::str::FromStr;

const ALPHABET: &[u8; 31] = b"23456789ABCDEFGHJKMNPQRSTUVWXYZ";
const BASE: u64 = 31;
/// Symbols of the hash: 31^6, or one in 887 million to be met by chance.
const HASH_SYMBOLS: usize = 6;
/// The fewest symbols of the number; 28 million entries need no more.
const NUMBER_SYMBOLS: usize = 5;
/// The most: 31^12 is less than the greatest number of an entry.
const NUMBER_SYMBOLS_MAX: usize = 12;
/// Symbols in one group, as it is read aloud.
const GROUP: usize = 4;

/// A code as it stands on a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckCode {
    /// The entry that recorded the decision.
    pub entry: Seq,
    mark: u64,
}

impl CheckCode {
    /// The code of an entry with that hash.
    pub fn of(entry: Seq, hash: &Hash) -> Self {
        let beginning = hash
            .iter()
            .take(8)
            .fold(0, |sum: u64, byte| (sum << 8) | u64::from(*byte));
        let mark = beginning % BASE.pow(6);
        Self { entry, mark }
    }

    /// Whether an entry with that hash has this code.
    pub fn proves(self, hash: &Hash) -> bool {
        self == Self::of(self.entry, hash)
    }

    fn symbols(self) -> Vec<u64> {
        let number = u64::try_from(self.entry.0).unwrap_or_default();
        let mut symbols = digits(number, NUMBER_SYMBOLS);
        symbols.extend(digits(self.mark, HASH_SYMBOLS));
        let sum = weighted(&symbols, 1);
        symbols.push((BASE - sum) % BASE);
        symbols
    }
}

/// The digits of a number, the most significant first, with noughts before them.
fn digits(mut number: u64, least: usize) -> Vec<u64> {
    let mut digits = Vec::new();
    while number > 0 || digits.len() < least {
        digits.push(number % BASE);
        number /= BASE;
    }
    digits.reverse();
    digits
}

fn number(digits: &[u64]) -> u64 {
    digits.iter().fold(0, |sum, digit| sum * BASE + digit)
}

/// The sum of symbols, the last weighted by 3 to the power given and each before it by 3 more.
fn weighted(symbols: &[u64], last: u32) -> u64 {
    let first_weight = (0..last).fold(1, |weight, _| weight * 3 % BASE);
    let weights = std::iter::successors(Some(first_weight), |weight| Some(weight * 3 % BASE));
    let newest_first = symbols.iter().rev().zip(weights);
    newest_first.fold(0, |sum, (symbol, weight)| (sum + symbol * weight) % BASE)
}

impl fmt::Display for CheckCode {
    /// In groups of four: `2224-K7Q2-9MXH`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, symbol) in self.symbols().into_iter().enumerate() {
            if place > 0 && place % GROUP == 0 {
                f.write_str("-")?;
            }
            let index = usize::try_from(symbol).unwrap_or_default();
            let letter = ALPHABET.get(index).copied().unwrap_or(b'?');
            write!(f, "{}", char::from(letter))?;
        }
        Ok(())
    }
}

impl FromStr for CheckCode {
    type Err = Unreadable;

    /// Reads a code in any case, with or without hyphens and blanks.
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let refuse = |expected: &str| Unreadable::new("check code", text, expected);
        let mut symbols = Vec::new();
        for c in text.chars().filter(|c| !matches!(c, '-' | ' ')) {
            let index = ALPHABET
                .iter()
                .position(|symbol| char::from(*symbol) == c.to_ascii_uppercase());
            let Some(index) = index else {
                return Err(refuse(
                    "digits 2 to 9 and letters other than I, L and O; 0 and 1 do not occur",
                ));
            };
            symbols.push(index as u64);
        }
        let lengths = NUMBER_SYMBOLS..=NUMBER_SYMBOLS_MAX;
        let number_symbols = symbols.len().saturating_sub(HASH_SYMBOLS + 1);
        if !lengths.contains(&number_symbols) {
            return Err(refuse("the whole code, 12 symbols as 2224-K7Q2-9MXH"));
        }
        if weighted(&symbols, 0) != 0 {
            return Err(refuse(
                "the code as printed; one or two of its symbols are wrong or changed places",
            ));
        }
        let (of_entry, rest) = symbols.split_at(number_symbols);
        let entry = i64::try_from(number(of_entry)).map_err(|_| refuse("the code as printed"))?;
        let (mark, _) = rest.split_at(HASH_SYMBOLS);
        Ok(Self {
            entry: Seq(entry),
            mark: number(mark),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn code(entry: i64, seed: u8) -> CheckCode {
        CheckCode::of(Seq(entry), &[seed; 32])
    }

    proptest! {
        #[test]
        fn a_code_reads_back_as_it_was_written(entry in 1_i64..i64::from(u32::MAX), hash: [u8; 32]) {
            let code = CheckCode::of(Seq(entry), &hash);
            let text = code.to_string();
            prop_assert_eq!(text.parse::<CheckCode>().unwrap(), code);
            prop_assert_eq!(text.to_lowercase().replace('-', " ").parse::<CheckCode>().unwrap(), code);
            prop_assert!(code.proves(&hash));
        }
    }

    #[test]
    fn every_single_wrong_symbol_and_every_swap_is_found() {
        let text = code(48_213, 0xA7).to_string().replace('-', "");
        let symbols: Vec<char> = text.chars().collect();
        for place in 0..symbols.len() {
            for other in ALPHABET.iter().map(|symbol| char::from(*symbol)) {
                let mut wrong = symbols.clone();
                wrong[place] = other;
                let read = wrong.iter().collect::<String>().parse::<CheckCode>();
                assert_eq!(read.is_ok(), other == symbols[place], "{wrong:?}");
            }
            for second in place + 1..symbols.len() {
                let mut swapped = symbols.clone();
                swapped.swap(place, second);
                let read = swapped.iter().collect::<String>().parse::<CheckCode>();
                assert_eq!(
                    read.is_ok(),
                    symbols[place] == symbols[second],
                    "{swapped:?}"
                );
            }
        }
    }

    #[test]
    fn what_is_mistaken_for_another_symbol_does_not_occur_and_is_named() {
        for bad in ["", "2224", "O224-K7Q2-9MXH", "2224-K7Q2-9MX1"] {
            assert!(bad.parse::<CheckCode>().is_err(), "{bad}");
        }
        let longest = "Z".repeat(40);
        assert!(longest.parse::<CheckCode>().is_err());
        assert_eq!(code(7, 1).to_string().len(), 14, "three groups of four");
    }

    #[test]
    fn another_hash_or_entry_has_another_code() {
        assert!(!code(7, 1).proves(&[2; 32]));
        assert_ne!(code(7, 1), code(8, 1));
    }
}
