//! Quantities. Whole counts where the register adds and compares, real numbers only inside the
//! formulas of braking; the unit is part of the type.

mod written;

use crate::unreadable::Unreadable;
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, Index, IndexMut, Sub};
use std::str::FromStr;

/// A mass in kilograms, 0 to 500,000 for one vehicle; sums may be larger.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
pub struct Kilograms(pub i64);

/// The greatest mass or braked weight of one vehicle.
pub const VEHICLE_MASS_MAX: Kilograms = Kilograms(500_000);

impl Kilograms {
    /// Tonnes, for formulas and people.
    pub fn tonnes(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// Tonnes, rounded down to a kilogram and never below nil.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "whole already, and a cast stops at the ends of the range"
    )]
    pub fn of_tonnes(tonnes: f64) -> Self {
        Self((tonnes.max(0.0) * 1000.0).floor() as i64)
    }
}

impl Add for Kilograms {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Kilograms {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Sum for Kilograms {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        iter.fold(Self(0), Add::add)
    }
}

impl fmt::Display for Kilograms {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        written::thousandths(f, self.0)?;
        f.write_str(" t")
    }
}

word_list! {
    /// Which counter of a car.
    Meter, "meter" {
        /// Distance run, in kilometres.
        Odometer = "odometer",
        /// Hours in running order.
        RunningHours = "running_hours",
        /// Hours of the air compressor.
        CompressorHours = "compressor_hours",
    }
}

impl Meter {
    /// The unit of its readings.
    pub const fn unit(self) -> &'static str {
        match self {
            Meter::Odometer => "km",
            Meter::RunningHours | Meter::CompressorHours => "h",
        }
    }
}

/// One value for each meter of a car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub struct ByMeter<T> {
    /// For [`Meter::Odometer`].
    pub odometer: T,
    /// For [`Meter::RunningHours`].
    pub running_hours: T,
    /// For [`Meter::CompressorHours`].
    pub compressor_hours: T,
}

impl<T> ByMeter<T> {
    /// The value that `of` gives for each meter.
    pub fn from_fn(mut of: impl FnMut(Meter) -> T) -> Self {
        Self {
            odometer: of(Meter::Odometer),
            running_hours: of(Meter::RunningHours),
            compressor_hours: of(Meter::CompressorHours),
        }
    }
}

impl<T> Index<Meter> for ByMeter<T> {
    type Output = T;
    fn index(&self, meter: Meter) -> &T {
        match meter {
            Meter::Odometer => &self.odometer,
            Meter::RunningHours => &self.running_hours,
            Meter::CompressorHours => &self.compressor_hours,
        }
    }
}

impl<T> IndexMut<Meter> for ByMeter<T> {
    fn index_mut(&mut self, meter: Meter) -> &mut T {
        match meter {
            Meter::Odometer => &mut self.odometer,
            Meter::RunningHours => &mut self.running_hours,
            Meter::CompressorHours => &mut self.compressor_hours,
        }
    }
}

/// What a meter shows or what a component has run, in thousandths of the meter's unit: metres
/// for an odometer, thousandths of an hour else. Exact, so that sums over a life do not drift.
/// What is read is from 0 to [`AMOUNT_MAX`]; differences may be negative.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(try_from = "i64")]
pub struct Amount(pub i64);

/// The greatest amount that a meter may show: 100 million kilometres or hours.
pub const AMOUNT_MAX: Amount = Amount(100_000_000_000);

impl Amount {
    /// Whole kilometres or hours.
    pub const fn whole(units: i64) -> Self {
        Self(units * 1000)
    }

    /// Kilometres or hours with their fraction.
    pub fn units(self) -> f64 {
        self.0 as f64 / 1000.0
    }

    /// Rounded to a tenth, as what was read is told.
    #[must_use]
    pub fn tenths(self) -> Self {
        self.nearest(100)
    }

    /// Rounded to a whole kilometre or a tenth of an hour, as what was worked out between readings is
    /// told: a finer one is nothing that anybody read.
    #[must_use]
    pub fn worked_out(self, meter: Meter) -> Self {
        match meter {
            Meter::Odometer => self.nearest(1_000),
            Meter::RunningHours | Meter::CompressorHours => self.tenths(),
        }
    }

    /// The nearest multiple of so many thousandths; of two as near, the greater.
    fn nearest(self, step: i64) -> Self {
        let steps = self.0.saturating_add(step / 2).div_euclid(step);
        Self(steps.saturating_mul(step))
    }
}

impl TryFrom<i64> for Amount {
    type Error = Unreadable;
    fn try_from(thousandths: i64) -> Result<Self, Unreadable> {
        let amount = Self(thousandths);
        let expected = "thousandths of the unit from 0 to 100000000000";
        (Self(0)..=AMOUNT_MAX)
            .contains(&amount)
            .then_some(amount)
            .ok_or_else(|| Unreadable::new("amount", &thousandths.to_string(), expected))
    }
}

impl Add for Amount {
    type Output = Self;
    /// Stops at the ends of the range, far above [`AMOUNT_MAX`], rather than wrap.
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}

impl Sub for Amount {
    type Output = Self;
    /// Stops at the ends of the range, far above [`AMOUNT_MAX`], rather than wrap.
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        written::thousandths(f, self.0)
    }
}

impl FromStr for Amount {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a number from 0 to 100000000 with at most three decimals, as 183600.5";
        let refuse = || Unreadable::new("amount", text, expected);
        let (whole, fraction) = text.split_once('.').unwrap_or((text, "0"));
        let digits = |t: &str| !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
        if !digits(whole) || !digits(fraction) || fraction.len() > 3 || whole.len() > 9 {
            return Err(refuse());
        }
        let whole: i64 = whole.parse().map_err(|_| refuse())?;
        let thousandths: i64 = format!("{fraction:0<3}").parse().map_err(|_| refuse())?;
        let amount = Amount(whole * 1000 + thousandths);
        (amount <= AMOUNT_MAX).then_some(amount).ok_or_else(refuse)
    }
}

/// A pure number in thousandths, exact: an efficiency, a ratio, a coefficient of friction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Thousandths(pub u32);

impl Thousandths {
    /// As a real number, for formulas.
    pub fn real(self) -> f64 {
        f64::from(self.0) / 1000.0
    }
}

impl fmt::Display for Thousandths {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.real().fmt(f)
    }
}

macro_rules! real_quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        pub struct $name(pub f64);

        impl $name {
            /// The unit, as shown to people.
            pub const UNIT: &'static str = $unit;
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                let precision = f.precision().unwrap_or(1);
                written::decimal(f, self.0, precision)?;
                f.write_str(concat!(" ", $unit))
            }
        }
    };
}

real_quantity!(
    /// Speed in km/h, 0 to 500.
    Speed, "km/h");
real_quantity!(
    /// Distance along the track in metres.
    Distance, "m");
real_quantity!(
    /// Deceleration in m/s², positive when slowing.
    Deceleration, "m/s²");
real_quantity!(
    /// Gradient in per mille, positive uphill.
    Gradient, "‰");
real_quantity!(
    /// A span of time in seconds.
    Seconds, "s");
real_quantity!(
    /// Force in kilonewtons.
    Kilonewtons, "kN");
real_quantity!(
    /// Power in kilowatts.
    Kilowatts, "kW");
real_quantity!(
    /// Energy in megajoules.
    Megajoules, "MJ");
real_quantity!(
    /// Volume in litres.
    Litres, "l");
real_quantity!(
    /// Pressure above the surrounding air, in bar.
    GaugePressure, "bar");
real_quantity!(
    /// Pressure above vacuum, in bar.
    AbsolutePressure, "bar absolute");

/// The pressure of the surrounding air in the register's arithmetic.
pub const ATMOSPHERE: AbsolutePressure = AbsolutePressure(1.0);

impl GaugePressure {
    /// The same pressure counted from vacuum.
    pub fn absolute(self) -> AbsolutePressure {
        AbsolutePressure(self.0 + ATMOSPHERE.0)
    }
}

impl Speed {
    /// Metres a second.
    pub fn metres_per_second(self) -> f64 {
        self.0 / 3.6
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_are_exact_to_the_thousandth() {
        let amount: Amount = "183600.5".parse().expect("an amount");
        assert_eq!(amount, Amount(183_600_500));
        assert_eq!(amount.to_string(), "183600.5");
        assert_eq!(Amount(-1_050).to_string(), "-1.05");
        for bad in ["", "-1", "1.", ".5", "1.2345", "1e3", "100000000.001", "١٢"] {
            assert!(bad.parse::<Amount>().is_err(), "{bad}");
        }
    }

    #[test]
    fn an_amount_that_no_meter_shows_is_not_read() {
        let read = serde_json::from_str::<Amount>;
        assert_eq!(read("100000000000").ok(), Some(AMOUNT_MAX));
        assert!(read("-1").is_err() && read("100000000001").is_err());
    }
}
