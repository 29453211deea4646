//! Measuring what is left of a train's brakes as an exact ratio of whole numbers, so that the end
//! of a band is met or not met without rounding.

use super::facts::{CarFacts, Operative, TrainFacts, VehicleKind};
use super::requirement::{CountedBy, Counting, CountsAsBraked, HeavyLocomotives, Measure};
use crate::identity::CarNumber;
use crate::units::Kilograms;
use crate::worked::Missing;
use std::fmt;

/// An exact ratio; the whole is above nil.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ratio {
    part: u64,
    whole: u64,
}

impl Ratio {
    /// The ratio; `None` without a whole.
    pub fn new(part: u64, whole: u64) -> Option<Self> {
        (whole > 0).then_some(Self { part, whole })
    }

    /// Whether it is at least so many percent: 100 · part ≥ percent · whole in whole numbers.
    pub fn is_at_least(self, percent: u32) -> bool {
        100 * u128::from(self.part) >= u128::from(percent) * u128::from(self.whole)
    }

    /// In hundredths of a percent, rounded down.
    pub fn hundredths_down(self) -> u128 {
        10_000 * u128::from(self.part) / u128::from(self.whole)
    }
}

impl std::fmt::Display for Ratio {
    /// Percent with two decimals, rounded down.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let hundredths = self.hundredths_down();
        write!(f, "{}.{:02} %", hundredths / 100, hundredths % 100)
    }
}

/// A ratio and how it was found: "24 of 32 axles = 75.00 %".
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Measured {
    /// The ratio.
    pub ratio: Ratio,
    /// The numbers in words.
    pub working: String,
}

impl Measure {
    /// Measures a train. No answer when a fact is missing or there is nothing to count. Linear in
    /// the number of vehicles.
    pub fn of(&self, train: &TrainFacts) -> Result<Measured, Missing> {
        match self {
            Self::BrakePercentage => {
                let percentage = needed(train.percentage, "brake percentage", "train")?.left();
                let (braked, mass) = (percentage.braked_weight(), percentage.mass());
                let words = format!("100 · {braked} braked weight / {mass}");
                measured(whole(braked), whole(mass), &words)
            }
            Self::Proportion(counting) => counting.of(train),
        }
    }
}

impl Counting {
    fn of(&self, train: &TrainFacts) -> Result<Measured, Missing> {
        let tread_brakes_only = self.if_tread_brakes_only.filter(|_| !train.cars.is_empty());
        let by = match tread_brakes_only {
            Some(by) if has_tread_brakes_only(train)? => by,
            _ => self.by,
        };
        match by {
            CountedBy::Actuators => count(train, "actuators", |car| car.actuators),
            CountedBy::TreadBrakeUnits => {
                count(train, "tread brake units", |car| car.tread_brake_units)
            }
            CountedBy::Bogies => count(train, "bogies", |car| car.bogies),
            CountedBy::Axles => axles(train, self.heavy_locomotives),
            CountedBy::Cars(when) => cars(train, when),
            CountedBy::BrakedWeight => {
                let percentage = needed(train.percentage, "brake percentage", "train")?;
                let (left, complete) = (
                    percentage.left().braked_weight(),
                    percentage.complete().braked_weight(),
                );
                let words = format!("{left} of {complete} braked weight");
                measured(whole(left), whole(complete), &words)
            }
            CountedBy::Equipment(kind) => {
                let name = format!("count of {kind}");
                let counted = needed(train.equipment.get(&kind).copied(), &name, "train")?;
                let (operative, total) = (counted.operative(), counted.total());
                let words = format!("{operative} of {total}, kind {kind}");
                measured(operative.into(), total.into(), &words)
            }
        }
    }
}

/// Whether the vehicle counts as braked. No answer when its axles are not known.
pub(super) fn is_braked(car: &CarFacts, when: CountsAsBraked) -> Result<bool, Missing> {
    let axles = needed(car.axles, "operative axles", OfCar(&car.car))?;
    Ok(match when {
        CountsAsBraked::AllAxles => axles.out() == 0 && axles.total() > 0,
        CountsAsBraked::AxlesAtLeast(least) => axles.operative() >= least.max(1),
    })
}

/// A fact, or what is missing.
pub(super) fn needed<T>(fact: Option<T>, what: &str, of: impl fmt::Display) -> Result<T, Missing> {
    fact.ok_or_else(|| Missing::one(what, of.to_string()))
}

/// A car, in words only where they are needed.
#[derive(Clone, Copy)]
struct OfCar<'a>(&'a CarNumber);

impl fmt::Display for OfCar<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "car {}", self.0)
    }
}

fn whole(mass: Kilograms) -> u64 {
    u64::try_from(mass.0).unwrap_or(0)
}

fn measured(part: u64, whole: u64, words: &str) -> Result<Measured, Missing> {
    let ratio = needed(Ratio::new(part, whole), words, "train: there is nothing")?;
    let working = format!("{words} = {ratio}");
    Ok(Measured { ratio, working })
}

fn has_tread_brakes_only(train: &TrainFacts) -> Result<bool, Missing> {
    let mut actuators = 0_u64;
    for car in &train.cars {
        let of = OfCar(&car.car);
        let all = needed(car.actuators, "actuators", of)?.total();
        let tread = needed(car.tread_brake_units, "tread brake units", of)?.total();
        if all != tread {
            return Ok(false);
        }
        actuators += u64::from(all);
    }
    Ok(actuators > 0)
}

fn count(
    train: &TrainFacts,
    what: &str,
    of_car: impl Fn(&CarFacts) -> Option<Operative>,
) -> Result<Measured, Missing> {
    let (mut part, mut whole) = (0, 0);
    for car in &train.cars {
        let counted = needed(of_car(car), what, OfCar(&car.car))?;
        part += u64::from(counted.operative());
        whole += u64::from(counted.total());
    }
    measured(part, whole, &format!("{part} of {whole} {what}"))
}

fn cars(train: &TrainFacts, when: CountsAsBraked) -> Result<Measured, Missing> {
    let mut braked = 0;
    for car in &train.cars {
        braked += u64::from(is_braked(car, when)?);
    }
    let all = train.cars.len() as u64;
    measured(braked, all, &format!("{braked} of {all} vehicles braked"))
}

fn axles(train: &TrainFacts, heavy: Option<HeavyLocomotives>) -> Result<Measured, Missing> {
    let (mut out, mut extra, mut all) = (0, 0_u64, 0);
    for car in &train.cars {
        let counted = needed(car.axles, "operative axles", OfCar(&car.car))?;
        out += u64::from(counted.out());
        all += u64::from(counted.total());
        let more_each = axle_counts(car, counted, heavy)? - 1;
        extra = more_each
            .saturating_mul(counted.out().into())
            .saturating_add(extra);
    }
    let operative = all.saturating_sub(extra.saturating_add(out));
    let words = if extra == 0 {
        format!("{operative} of {all} axles")
    } else {
        format!("{all} axles less {out} cut out and {extra} more for heavy locomotives, of {all}")
    };
    measured(operative, all, &words)
}

/// As how many a cut-out axle of the vehicle counts, at least 1. What the vehicle is and weighs
/// need only be known when an axle of it is cut out.
fn axle_counts(
    car: &CarFacts,
    axles: Operative,
    heavy: Option<HeavyLocomotives>,
) -> Result<u64, Missing> {
    let Some(heavy) = heavy.filter(|_| axles.out() > 0) else {
        return Ok(1);
    };
    let of = OfCar(&car.car);
    if needed(car.kind, "locomotive or not", of)? != VehicleKind::Locomotive {
        return Ok(1);
    }
    let mass = needed(car.mass, "mass", of)?;
    let counts = u64::from(heavy.cut_out_axle_counts.max(1));
    Ok(if mass > heavy.heavier_than { counts } else { 1 })
}
