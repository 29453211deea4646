//! A formation in the words of whoever asks: `TM101, TM102 reversed, 4107`. Whether a name is
//! that of a unit or of a car, only the register knows.

use crate::configuration::car::{Orientation, Vehicle};
use crate::identity::{CarNumber, UnitNumber};
use crate::unreadable::Unreadable;
use std::collections::BTreeSet;
use std::fmt;
use std::str::FromStr;

/// The most units and cars that one text may name.
pub const VEHICLES_MAX: usize = 40;

const EXPECTED: &str = "units and cars from the front, separated by commas, as \
    “TM3-001, TM3-002 reversed, 4107”; “TM3-002r” is short for “TM3-002 reversed”";

/// Units and cars by name, from the first in the direction of travel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FormationText(Vec<NamedVehicle>);

/// A unit or car by its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedVehicle {
    name: String,
    may_be: MayBe,
    orientation: Orientation,
}

/// What a name may be that of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum MayBe {
    Either,
    Unit,
    Car,
}

/// Why a name is not that of one vehicle.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unresolved {
    /// Neither a unit nor a car has it.
    #[error("{0} is neither a unit nor a car of the register")]
    Unknown(String),
    /// Both a unit and a car have it.
    #[error("{0} is both a unit and a car; write “unit {0}” or “car {0}”")]
    Ambiguous(String),
}

impl FormationText {
    /// The vehicles in order.
    pub fn vehicles(&self) -> &[NamedVehicle] {
        &self.0
    }
}

impl NamedVehicle {
    /// The name as a unit's, if it may be one.
    pub fn unit(&self) -> Option<UnitNumber> {
        let name = || self.name.parse().ok();
        (self.may_be != MayBe::Car).then(name).flatten()
    }

    /// The name as a car's, if it may be one.
    pub fn car(&self) -> Option<CarNumber> {
        let name = || self.name.parse().ok();
        (self.may_be != MayBe::Unit).then(name).flatten()
    }

    /// The vehicle, given which of the units and cars asked for there are.
    pub fn resolve(
        &self,
        units: &BTreeSet<UnitNumber>,
        cars: &BTreeSet<CarNumber>,
    ) -> Result<Vehicle, Unresolved> {
        let unit = self.unit().filter(|unit| units.contains(unit));
        let car = self.car().filter(|car| cars.contains(car));
        match (unit, car) {
            (Some(unit), None) => Ok(Vehicle::Unit(unit, self.orientation)),
            (None, Some(car)) => Ok(Vehicle::Car(car, self.orientation)),
            (None, None) => Err(Unresolved::Unknown(self.name.clone())),
            (Some(_), Some(_)) => Err(Unresolved::Ambiguous(self.name.clone())),
        }
    }
}

impl FromStr for FormationText {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let named: Result<Vec<NamedVehicle>, Unreadable> =
            text.split([',', ';']).map(str::parse).collect();
        let named = named?;
        if named.len() > VEHICLES_MAX {
            let expected = format!("at most {VEHICLES_MAX} units and cars");
            return Err(Unreadable::new("formation", text, expected));
        }
        Ok(Self(named))
    }
}

impl FromStr for NamedVehicle {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let trimmed = text.trim();
        let (may_be, rest) = kind(trimmed);
        let (name, orientation) = orientation(rest);
        let vehicle = Self {
            name: name.to_owned(),
            may_be,
            orientation,
        };
        if vehicle.unit().is_none() && vehicle.car().is_none() {
            return Err(Unreadable::new("formation", trimmed, EXPECTED));
        }
        Ok(vehicle)
    }
}

fn kind(text: &str) -> (MayBe, &str) {
    if let Some(name) = text.strip_prefix("unit ") {
        (MayBe::Unit, name.trim())
    } else if let Some(name) = text.strip_prefix("car ") {
        (MayBe::Car, name.trim())
    } else {
        (MayBe::Either, text)
    }
}

/// A name and its orientation. An `r` after a digit is short for the word; a name that itself
/// ends so is followed by its orientation as a word.
fn orientation(text: &str) -> (&str, Orientation) {
    if let Some((name, word)) = text.rsplit_once(' ') {
        match word.parse() {
            Ok(orientation) => return (name.trim(), orientation),
            Err(_) if word == "r" => return (name.trim(), Orientation::Reversed),
            Err(_) => {}
        }
    }
    match text.strip_suffix('r') {
        Some(name) if name.ends_with(|c: char| c.is_ascii_digit()) => (name, Orientation::Reversed),
        _ => (text, Orientation::Forward),
    }
}

impl fmt::Display for NamedVehicle {
    /// In the shortest form that reads back as the same.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.may_be {
            MayBe::Either => "",
            MayBe::Unit => "unit ",
            MayBe::Car => "car ",
        })?;
        let ends_in_digit = self.name.ends_with(|c: char| c.is_ascii_digit());
        let word = match self.orientation {
            Orientation::Reversed if ends_in_digit => "r",
            Orientation::Reversed => " reversed",
            Orientation::Forward if orientation(&self.name).0 == self.name => "",
            Orientation::Forward => " forward",
        };
        write!(f, "{}{word}", self.name)
    }
}

impl fmt::Display for FormationText {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (place, vehicle) in self.0.iter().enumerate() {
            let separator = if place == 0 { "" } else { "," };
            write!(f, "{separator}{vehicle}")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> FormationText {
        text.parse().expect("a formation")
    }

    fn resolved(text: &str) -> Vec<Result<Vehicle, Unresolved>> {
        let units = BTreeSet::from(["TM101", "TM102", "7"].map(|n| n.parse().expect("a unit")));
        let cars = BTreeSet::from(["4107", "7", "X9r"].map(|n| n.parse().expect("a car")));
        let text = read(text);
        let vehicles = text.vehicles().iter();
        vehicles.map(|v| v.resolve(&units, &cars)).collect()
    }

    #[test]
    fn units_and_cars_are_told_apart_by_the_register() {
        let unit = |n: &str, o| Ok(Vehicle::Unit(n.parse().expect("a unit"), o));
        let car = |n: &str, o| Ok(Vehicle::Car(n.parse().expect("a car"), o));
        let (forward, reversed) = (Orientation::Forward, Orientation::Reversed);
        assert_eq!(
            resolved("TM101, TM102 reversed,4107 r"),
            [
                unit("TM101", forward),
                unit("TM102", reversed),
                car("4107", reversed)
            ]
        );
        assert_eq!(read("TM101; TM102 reversed"), read("TM101,TM102r"));
        assert_eq!(resolved("X9r forward"), [car("X9r", forward)]);
        assert_eq!(
            resolved("car 7, unit 7"),
            [car("7", forward), unit("7", forward)]
        );
    }

    #[test]
    fn a_name_of_nothing_or_of_two_things_is_not_guessed() {
        assert_eq!(resolved("4999"), [Err(Unresolved::Unknown("4999".into()))]);
        assert_eq!(resolved("7"), [Err(Unresolved::Ambiguous("7".into()))]);
    }

    #[test]
    fn a_formation_reads_back_as_it_is_written() {
        for text in [
            "TM101,TM102r,4107",
            "X9r forward",
            "A reversed",
            "car 7r,unit 7",
            "TM 1r",
        ] {
            assert_eq!(read(text).to_string(), text);
            assert_eq!(read(&read(text).to_string()), read(text));
        }
    }

    #[test]
    fn what_is_no_formation_is_refused() {
        let many = vec!["4107"; VEHICLES_MAX + 1].join(",");
        for bad in [
            "",
            ",",
            "TM101,,TM102",
            "reversed, 4/7",
            "unit car 4/7",
            &many,
        ] {
            assert!(bad.parse::<FormationText>().is_err(), "{bad}");
        }
    }
}
