//! Procedures that a generated fleet is tested by.

use super::design::Design;
use domain::configuration::car_type::CarType;
use domain::due::task::AppliesTo;
use domain::test_record::decimal::Decimal;
use domain::test_record::procedure::{Bounds, Measurand, MeasurandRole, Procedure};

impl Design {
    /// The same design with a procedure for every car type: an invented one where it has none.
    pub(super) fn with_procedures(&self) -> Design {
        let mut design = self.clone();
        for car_type in &self.car_types {
            let applies_to = AppliesTo::CarType(car_type.name.clone());
            if design.procedures.iter().all(|p| p.applies_to != applies_to) {
                design.procedures.extend(invented(car_type, applies_to));
            }
        }
        design
    }
}

fn invented(car_type: &CarType, applies_to: AppliesTo) -> Option<Procedure> {
    let result = MeasurandRole::Result;
    let measurands: Vec<Measurand> = [
        measurand(
            "cylinder pressure, full braking",
            result,
            ("bar", "3.6", "4"),
        ),
        measurand(
            "leakage of the main reservoir pipe",
            result,
            ("bar/min", "", "0.2"),
        ),
        measurand(
            "main reservoir pressure",
            MeasurandRole::Condition,
            ("bar", "7.5", ""),
        ),
    ]
    .into_iter()
    .collect::<Option<_>>()?;
    Some(Procedure {
        code: format!("TEST {}", car_type.name).parse().ok()?,
        revision: "A".parse().ok()?,
        title: format!("brake test of a car of type {}", car_type.name),
        applies_to,
        measurands: measurands.try_into().ok()?,
        source: "invented for the demo".to_owned(),
    })
}

fn measurand(
    name: &str,
    role: MeasurandRole,
    (unit, lower, upper): (&str, &str, &str),
) -> Option<Measurand> {
    Some(Measurand {
        name: name.parse().ok()?,
        load: None,
        role,
        unit: unit.to_owned(),
        bounds: Bounds::new(lower.parse().ok(), upper.parse().ok()).ok()?,
    })
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

/// What values are rounded to: the largest power of ten that leaves twenty steps in a span.
fn rounding(span: i64) -> i64 {
    let mut step = 1;
    while step * 10 * 20 <= span {
        step *= 10;
    }
    step
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
            let within = |value: Decimal| {
                bounds.lower().is_none_or(|lower| lower <= value)
                    && bounds.upper().is_none_or(|upper| value <= upper)
            };
            for wear in [0, 200, 500, 900] {
                let value = value(&bounds, wear).expect("a value");
                assert!(within(value), "{value} of {bounds} at {wear}");
            }
            let worn = value(&bounds, 1_200).expect("a value");
            assert!(!within(worn), "{worn} of {bounds}");
        }
    }
}
