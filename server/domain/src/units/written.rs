//! Numbers as people read them. Every step of every answer has some, so that they are written from
//! whole numbers wherever that gives the same digits.

use std::fmt;

/// The most decimals that are written from whole numbers.
const PLACES_MAX: usize = 6;
/// Up to here a product with a power of ten is off by far less than [`UNSURE`].
const SCALED_MAX: f64 = 1e9;
/// Where a product is so near to the middle between two whole numbers, the exact digits decide.
const UNSURE: f64 = 1e-6;

/// A number with so many decimals, rounded to the nearest: as the standard library writes it.
pub(super) fn decimal(f: &mut fmt::Formatter<'_>, value: f64, places: usize) -> fmt::Result {
    match scaled(value, places) {
        Some(scaled) => scaled.write(f, places),
        None => write!(f, "{value:.places$}"),
    }
}

/// So many thousandths as a number with no more decimals than it has.
pub(super) fn thousandths(f: &mut fmt::Formatter<'_>, value: i64) -> fmt::Result {
    let whole = value.unsigned_abs();
    let shown = match whole {
        _ if whole.is_multiple_of(1000) => 0,
        _ if whole.is_multiple_of(100) => 1,
        _ if whole.is_multiple_of(10) => 2,
        _ => 3,
    };
    let scaled = Scaled {
        negative: value < 0,
        whole,
        places: 3,
    };
    scaled.write(f, shown)
}

/// A whole number of some power of ten.
struct Scaled {
    negative: bool,
    whole: u64,
    places: usize,
}

/// The value times the power of ten; none where rounding needs its exact digits.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a million at most; whole, not negative and below the bound"
)]
fn scaled(value: f64, places: usize) -> Option<Scaled> {
    let product = value.abs() * *POWERS.get(places)? as f64;
    if product.is_nan() || product >= SCALED_MAX {
        return None;
    }
    let whole = product.round();
    let from_middle = 0.5 - (product - whole).abs();
    (from_middle > UNSURE).then_some(Scaled {
        negative: value.is_sign_negative(),
        whole: whole as u64,
        places,
    })
}

const POWERS: [u64; PLACES_MAX + 1] = [1, 10, 100, 1000, 10_000, 100_000, 1_000_000];

impl Scaled {
    /// Writes it with the first of its decimals.
    fn write(self, f: &mut fmt::Formatter<'_>, shown: usize) -> fmt::Result {
        // Twenty digits, a sign, a point and a nought before it.
        let mut text = [b'0'; 24];
        let mut at = text.len();
        let mut put = |byte: u8| {
            at = at.saturating_sub(1);
            text[at] = byte;
        };
        let mut rest = self.whole;
        let mut digit = || {
            let digit = u8::try_from(rest % 10).unwrap_or_default();
            rest /= 10;
            (b'0' + digit, rest == 0)
        };
        for place in (1..=self.places).rev() {
            let (byte, _) = digit();
            if place <= shown {
                put(byte);
            }
        }
        if shown > 0 {
            put(b'.');
        }
        loop {
            let (byte, last) = digit();
            put(byte);
            if last {
                break;
            }
        }
        if self.negative {
            put(b'-');
        }
        f.write_str(std::str::from_utf8(&text[at..]).map_err(|_| fmt::Error)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    struct Decimal(f64, usize);

    impl fmt::Display for Decimal {
        fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            decimal(f, self.0, self.1)
        }
    }

    fn assert_as_the_library(value: f64, places: usize) {
        assert_eq!(
            Decimal(value, places).to_string(),
            format!("{value:.places$}")
        );
    }

    #[test]
    fn halves_noughts_and_what_is_no_number_are_written_as_by_the_library() {
        let values = [
            0.0,
            -0.0,
            0.5,
            1.5,
            2.5,
            -2.5,
            0.125,
            0.375,
            0.05,
            0.95,
            9.995,
            -0.04,
            1e9,
            1e20,
            0.1 + 0.2,
            f64::MAX,
            f64::MIN_POSITIVE,
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
        ];
        for value in values {
            for places in 0..=8 {
                assert_as_the_library(value, places);
            }
        }
    }

    proptest! {
        #[test]
        fn decimals_are_those_of_the_library(value in -1e10..1e10, places in 0..8_usize) {
            assert_as_the_library(value, places);
        }

        #[test]
        fn small_decimals_are_those_of_the_library(value in -10.0..10.0, places in 0..8_usize) {
            assert_as_the_library(value, places);
        }

        #[test]
        fn thousandths_are_the_shortest_decimals(value in -1_000_000_000..1_000_000_000_i64) {
            struct Written(i64);
            impl fmt::Display for Written {
                fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                    thousandths(f, self.0)
                }
            }
            #[expect(clippy::cast_precision_loss, reason = "exact up to there")]
            let real = value as f64 / 1000.0;
            assert_eq!(Written(value).to_string(), real.to_string());
        }
    }
}
