//! Quantities as people read them: digits in groups of three, each with its unit.

use domain::units::{Amount, Meter};

/// A narrow blank that does not break: ISO 80000-1, 7.3.1 groups digits by a small space.
const GROUP: char = '\u{202f}';

/// A whole number with its digits in groups of three.
pub(crate) fn grouped(number: i64) -> String {
    let digits = number.unsigned_abs().to_string();
    let mut text = String::with_capacity(digits.len() + digits.len() / 3 + 1);
    if number < 0 {
        text.push('−');
    }
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(GROUP);
        }
        text.push(digit);
    }
    text
}

/// An amount as it is kept, with the unit of its meter.
pub(crate) fn amount(amount: Amount, meter: Meter) -> String {
    let text = amount.to_string();
    let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
    let whole = grouped(whole.parse().unwrap_or_default());
    let point = if fraction.is_empty() { "" } else { "." };
    format!("{whole}{point}{fraction}\u{a0}{}", meter.unit())
}

/// An estimated amount, rounded down to the whole unit: its thousandths would claim too much.
pub(crate) fn about(amount: Amount, meter: Meter) -> String {
    let whole = grouped(amount.0.div_euclid(1000));
    format!("{whole}\u{a0}{}", meter.unit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_stand_in_groups_of_three_from_the_point() {
        assert_eq!(grouped(0), "0");
        assert_eq!(grouped(999), "999");
        assert_eq!(grouped(-1_234_567), "−1\u{202f}234\u{202f}567");
    }

    #[test]
    fn amounts_keep_their_thousandths_and_estimates_do_not() {
        let kilometres = Amount(183_600_500);
        assert_eq!(
            amount(kilometres, Meter::Odometer),
            "183\u{202f}600.5\u{a0}km"
        );
        assert_eq!(about(kilometres, Meter::Odometer), "183\u{202f}600\u{a0}km");
        assert_eq!(amount(Amount(1), Meter::RunningHours), "0.001\u{a0}h");
    }
}
