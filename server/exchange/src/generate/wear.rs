//! How worn something is that is tested, and the values that follow.

use super::chance::Chance;
use super::troubles::WORN_OUT;
use domain::test_record::decimal::Decimal;
use domain::test_record::procedure::{Bounds, MeasurandRole, Procedure};
use domain::time::Day;

/// How worn a component is: thousandths of the way from good values to the limit, at its birth
/// and on the last day of the history.
pub(super) struct Wear {
    at_birth: i64,
    at_end: i64,
}

impl Wear {
    pub(super) fn new(chance: &mut Chance) -> Self {
        let worn_out = chance.per_mille(WORN_OUT);
        let at_birth = chance.between(50, 300);
        let at_end = if worn_out {
            chance.between(1_150, 1_400)
        } else {
            chance.between(320, 850)
        };
        Self { at_birth, at_end }
    }

    /// How worn it is on a day between the two.
    pub(super) fn on(&self, day: Day, born: Day, end: Day) -> i64 {
        let days = born.days_until(end).max(1);
        let gone = born.days_until(day).clamp(0, days);
        self.at_birth + (self.at_end - self.at_birth) * gone / days
    }
}

/// How worn each measurand of a procedure is: what wears first is as worn as given, the rest
/// less.
pub(super) fn evenly(chance: &mut Chance, procedure: &Procedure, wear: i64) -> Vec<i64> {
    let mut share = 10;
    each(chance, procedure, |chance| {
        let worn = wear * share / 10 + chance.between(-20, 20);
        share = 6;
        worn
    })
}

/// How worn each measurand of a procedure is where each wears by itself and none is worn out.
pub(super) fn anyhow(chance: &mut Chance, procedure: &Procedure) -> Vec<i64> {
    each(chance, procedure, |chance| chance.between(80, 800))
}

fn each(
    chance: &mut Chance,
    procedure: &Procedure,
    mut of_result: impl FnMut(&mut Chance) -> i64,
) -> Vec<i64> {
    let roles = procedure.measurands.iter().map(|measurand| measurand.role);
    let worn = roles.map(|role| match role {
        MeasurandRole::Result => of_result(chance),
        MeasurandRole::Condition => chance.between(0, 400),
    });
    worn.collect()
}

/// The value that lies so many thousandths of the way from a good one to a limit; beyond a
/// thousand it is outside.
pub(super) fn value(bounds: &Bounds, wear: i64) -> Option<Decimal> {
    let [lower, upper] = [bounds.lower(), bounds.upper()].map(|b| b.map(Decimal::millionths));
    let margin = |limit: i64, share: i64| (limit.abs() * share / 10).max(100_000);
    let (good, limit) = match (lower, upper) {
        (Some(lower), Some(upper)) => (lower + (upper - lower) * 35 / 100, upper),
        (None, Some(upper)) => (upper - margin(upper, 7), upper),
        (Some(lower), None) => (lower + margin(lower, 3), lower),
        (None, None) => return None,
    };
    let exact = good + (limit - good) * wear / 1_000;
    let step = rounding((limit - good).abs());
    Decimal::from_millionths(exact / step * step)
}

/// What values are rounded to: the largest power of ten that leaves ten steps in a span.
fn rounding(span: i64) -> i64 {
    let mut step = 1;
    while step * 10 * 10 <= span {
        step *= 10;
    }
    step
}

/// Whether a value lies within its bounds.
pub(super) fn is_within(bounds: &Bounds, value: Decimal) -> bool {
    bounds.lower().is_none_or(|lower| lower <= value)
        && bounds.upper().is_none_or(|upper| value <= upper)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_lie_within_their_limits_until_they_are_worn_beyond_them() {
        for (lower, upper) in [
            ("3.6", "4"),
            ("", "0.2"),
            ("7.5", ""),
            ("-1", ""),
            ("0", "0.05"),
        ] {
            let bounds = Bounds::new(lower.parse().ok(), upper.parse().ok()).expect("bounds");
            for wear in [0, 200, 500, 900] {
                let value = value(&bounds, wear).expect("a value");
                assert!(is_within(&bounds, value), "{value} of {bounds} at {wear}");
            }
            let worn = value(&bounds, 1_200).expect("a value");
            assert!(!is_within(&bounds, worn), "{worn} of {bounds}");
        }
    }
}
