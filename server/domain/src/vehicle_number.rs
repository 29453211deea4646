//! The twelve-digit European Vehicle Number and its check digit.

use crate::unreadable::Unreadable;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// A European Vehicle Number whose check digit is right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct VehicleNumber([u8; 12]);

/// The check digit over eleven digits: from right to left multiply by 2 and 1 in turn, add the
/// digits of the products, take the difference to the next multiple of ten.
pub fn check_digit(first_eleven: [u8; 11]) -> u8 {
    let sum: u8 = first_eleven
        .iter()
        .rev()
        .enumerate()
        .map(|(place, &digit)| {
            let product = if place % 2 == 0 { digit * 2 } else { digit };
            product / 10 + product % 10
        })
        .sum();
    (10 - sum % 10) % 10
}

impl FromStr for VehicleNumber {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let refuse = |expected: String| Unreadable::new("vehicle number", text, expected);
        let shape = || refuse("twelve digits, with blanks and hyphens between them at will".into());
        let mut digits = [0_u8; 12];
        let mut count = 0;
        for c in text.chars().filter(|c| !matches!(c, ' ' | '-')) {
            let digit = c.to_digit(10).ok_or_else(shape)?;
            *digits.get_mut(count).ok_or_else(shape)? = u8::try_from(digit).map_err(|_| shape())?;
            count += 1;
        }
        let (first, last) = digits.split_first_chunk::<11>().ok_or_else(shape)?;
        if count != 12 {
            return Err(shape());
        }
        let expected = check_digit(*first);
        if last[0] != expected {
            return Err(refuse(format!(
                "check digit {expected} after the first eleven digits"
            )));
        }
        Ok(Self(digits))
    }
}

impl fmt::Display for VehicleNumber {
    /// Grouped as on vehicles: `21 81 2471 217-3`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, digit) in self.0.iter().enumerate() {
            match place {
                2 | 4 | 8 => write!(f, " {digit}")?,
                11 => write!(f, "-{digit}")?,
                _ => write!(f, "{digit}")?,
            }
        }
        Ok(())
    }
}

impl TryFrom<String> for VehicleNumber {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<VehicleNumber> for String {
    fn from(number: VehicleNumber) -> String {
        number.to_string()
    }
}
