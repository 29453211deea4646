//! Numbers, hashes and times as people read them: grouped, with their unit.

use domain::ledger::chain::Hash;
use domain::time::{Instant, Zone};
use domain::units::{Amount, Meter};
use std::fmt;

/// An amount in whole kilometres or hours, the nearest, with groups of three digits: "612,400 km".
pub(crate) fn amount(amount: Amount, meter: Meter) -> String {
    let nearest = (amount + Amount(500)).0.div_euclid(1_000);
    format!("{} {}", grouped(nearest), meter.unit())
}

/// What is left of an amount, in whole kilometres or hours: never told as more than it is.
pub(crate) fn left(left: Amount, meter: Meter) -> String {
    format!("{} {}", grouped(left.0.div_euclid(1_000)), meter.unit())
}

/// An amount that was worked out between readings, rounded to a whole kilometre or the tenth of an
/// hour: a finer one is nothing that anybody read.
pub(crate) fn worked_out(worked: Amount, meter: Meter) -> String {
    exact(worked.worked_out(meter), meter)
}

/// An amount that was read, rounded to a tenth: "612,400.5 km".
pub(crate) fn tenths(read: Amount, meter: Meter) -> String {
    exact(read.tenths(), meter)
}

/// An amount as it is kept, to the thousandth, as entries show it: "612,400.525 km".
pub(crate) fn exact(amount: Amount, meter: Meter) -> String {
    let text = amount.to_string();
    let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
    let point = if fraction.is_empty() { "" } else { "." };
    let sign = if text.starts_with('-') { "-" } else { "" };
    let whole = grouped(whole.trim_start_matches('-').parse().unwrap_or_default());
    format!("{sign}{whole}{point}{fraction} {}", meter.unit())
}

/// A whole number with groups of three digits.
pub(crate) fn grouped(number: i64) -> String {
    let digits = number.unsigned_abs().to_string();
    let mut shown = String::with_capacity(digits.len() + digits.len() / 3 + 1);
    if number < 0 {
        shown.push('-');
    }
    for (place, digit) in digits.chars().enumerate() {
        if 0 < place && (digits.len() - place).is_multiple_of(3) {
            shown.push(',');
        }
        shown.push(digit);
    }
    shown
}

/// From when something holds that a person said.
#[derive(Debug, Clone)]
pub(crate) struct Dated {
    pub(crate) from: String,
    /// When it was recorded, where that was more than a day later.
    pub(crate) recorded: Option<String>,
}

impl Dated {
    pub(crate) fn new(from: Instant, recorded: Instant, zone: &Zone) -> Self {
        let back = from < recorded.earlier_by_days(1);
        Self {
            from: zone.show(from),
            recorded: back.then(|| zone.show(recorded)),
        }
    }
}

impl fmt::Display for Dated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.recorded {
            None => f.write_str(&self.from),
            Some(recorded) => write!(f, "for {}, recorded {recorded}", self.from),
        }
    }
}

/// A hash in groups of eight digits, which people can compare.
pub(crate) fn hex(hash: &Hash) -> String {
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

    #[test]
    fn what_is_dated_back_is_told_with_when_it_was_recorded() {
        let dated = |effective: &str, recorded: &str| {
            let moment = |text: &str| text.parse().expect("a moment");
            Dated::new(moment(effective), moment(recorded), &Zone::UTC).to_string()
        };
        assert_eq!(
            dated("2026-01-01T08:00Z", "2026-11-28T10:15Z"),
            "for 2026-01-01 08:00 +00:00, recorded 2026-11-28 10:15 +00:00"
        );
        for effective in ["2026-11-28T10:15Z", "2026-11-27T10:15Z"] {
            let told = dated(effective, "2026-11-28T10:15Z");
            assert!(!told.contains("recorded"), "{told}");
        }
    }

    #[test]
    fn digits_stand_in_groups_of_three() {
        for (number, shown) in [
            (0, "0"),
            (999, "999"),
            (1_000, "1,000"),
            (-1_234_567, "-1,234,567"),
        ] {
            assert_eq!(grouped(number), shown);
        }
        for (thousandths, shown) in [
            (387_088_944, "387,089 km"),
            (612_400_499, "612,400 km"),
            (612_400_500, "612,401 km"),
        ] {
            assert_eq!(amount(Amount(thousandths), Meter::Odometer), shown);
        }
        assert_eq!(left(Amount(612_400_999), Meter::Odometer), "612,400 km");
    }

    #[test]
    fn what_is_worked_out_is_shown_no_finer_than_it_is_read() {
        let amount = Amount(1_612_400_567);
        assert_eq!(tenths(amount, Meter::Odometer), "1,612,400.6 km");
        assert_eq!(worked_out(amount, Meter::Odometer), "1,612,401 km");
        assert_eq!(worked_out(amount, Meter::RunningHours), "1,612,400.6 h");
        assert_eq!(
            worked_out(Amount(3_000_040), Meter::CompressorHours),
            "3,000 h"
        );
    }

    #[test]
    fn what_is_kept_is_shown_to_the_thousandth() {
        for (thousandths, shown) in [
            (612_400_500, "612,400.5 km"),
            (1_000_000, "1,000 km"),
            (-500, "-0.5 km"),
        ] {
            assert_eq!(exact(Amount(thousandths), Meter::Odometer), shown);
        }
    }
}
