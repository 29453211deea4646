//! Numbers with a unit in the cells of rule sets.

use crate::input::cells::{Reads, known};
use domain::test_record::decimal::Decimal;

/// Reads a quantity in the unit of its column: the decimal number nearest to what stands there.
pub(super) fn quantity<T>(quantity: fn(f64) -> T) -> impl Reads<T> {
    move |text| {
        let number: Decimal = known(text)?;
        Ok(quantity(number.millionths() as f64 / 1e6))
    }
}
