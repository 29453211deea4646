//! Exact decimal numbers, so that a value on its limit is on its limit.

use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A decimal number with at most six decimals, -999,999,999.999999 to 999,999,999.999999.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Decimal(i64);

const MILLIONTHS: u64 = 1_000_000;

impl Decimal {
    /// The number in millionths.
    pub const fn millionths(self) -> i64 {
        self.0
    }

    /// The number of so many millionths, if it is in range.
    pub fn from_millionths(millionths: i64) -> Option<Self> {
        let in_range = millionths.unsigned_abs() < 1_000_000_000 * MILLIONTHS;
        in_range.then_some(Self(millionths))
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let (whole, rest) = (
            self.0.unsigned_abs() / MILLIONTHS,
            self.0.unsigned_abs() % MILLIONTHS,
        );
        if rest == 0 {
            return write!(f, "{sign}{whole}");
        }
        let fraction = format!("{rest:06}");
        write!(f, "{sign}{whole}.{}", fraction.trim_end_matches('0'))
    }
}

impl FromStr for Decimal {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a number with at most nine digits and six decimals, as 4.85 or -0.2";
        let refuse = || Unreadable::new("measured value", text, expected);
        let (sign, unsigned) = text.strip_prefix('-').map_or((1, text), |rest| (-1, rest));
        let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, "0"));
        let digits = |t: &str, most| {
            (1..=most).contains(&t.len()) && t.bytes().all(|byte| byte.is_ascii_digit())
        };
        if !digits(whole, 9) || !digits(fraction, 6) {
            return Err(refuse());
        }
        let joined = format!("{whole}{fraction:0<6}");
        let millionths: i64 = joined.parse().map_err(|_| refuse())?;
        Ok(Self(sign * millionths))
    }
}

impl TryFrom<String> for Decimal {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<Decimal> for String {
    fn from(decimal: Decimal) -> String {
        decimal.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_round_trip_through_text() {
        for text in ["0", "4.85", "-0.2", "999999999.999999", "0.000001"] {
            let decimal: Decimal = text.parse().expect("a decimal");
            assert_eq!(decimal.to_string(), text);
            assert_eq!(
                Decimal::from_millionths(decimal.millionths()),
                Some(decimal)
            );
        }
        assert_eq!("5.0".parse::<Decimal>(), "5".parse());
    }

    #[test]
    fn what_is_no_decimal_is_refused() {
        for bad in [
            "",
            "-",
            "5.",
            ".5",
            "1e3",
            "+1",
            "1,5",
            "1.1234567",
            "1234567890",
            "٣",
        ] {
            assert!(bad.parse::<Decimal>().is_err(), "{bad}");
        }
    }
}
