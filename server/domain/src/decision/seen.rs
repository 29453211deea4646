//! What somebody saw of a train, in the words of whoever says it:
//! `4101:=BS1-XT1:service:no_pressure`, or of the brakes of a bogie `4101:bogie 2:released:braking`.

use super::TrainCar;
use crate::identity::{CarNumber, PositionCode};
use crate::isolation::closing::Spot;
use crate::isolation::fault_finding::{OBSERVATIONS_MAX, Observation};
use crate::isolation::observed::{During, LookedAt, Seen};
use crate::unreadable::Unreadable;
use std::fmt;
use std::str::FromStr;

/// Where something was seen on a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SeenAt {
    /// At a position.
    Position(PositionCode),
    /// At the brakes of a bogie, from 1 at end 1.
    Bogie(u8),
}

impl FromStr for SeenAt {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let expected = "a position such as =BS1-XT1, or a bogie such as bogie 2";
        match text.strip_prefix("bogie ") {
            Some(number) => number.trim().parse().map(Self::Bogie).ok(),
            None => text.parse().map(Self::Position).ok(),
        }
        .ok_or_else(|| Unreadable::new("place that was looked at", text, expected))
    }
}

impl fmt::Display for SeenAt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Position(code) => code.fmt(f),
            Self::Bogie(number) => write!(f, "bogie {number}"),
        }
    }
}

/// Something seen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sight {
    /// On which car.
    pub car: CarNumber,
    /// Where on it.
    pub at: SeenAt,
    /// What the brake was doing.
    pub during: During,
    /// What was seen.
    pub seen: Seen,
}

impl Sight {
    /// The same thing seen the other way.
    #[must_use]
    pub fn otherwise(&self) -> Self {
        Self {
            seen: self.seen.otherwise(),
            ..self.clone()
        }
    }

    /// A sight of a place as an answer names it.
    pub fn of(at: &LookedAt, during: During, seen: Seen) -> Self {
        let (car, at) = match at {
            LookedAt::Position(spot) => (&spot.car_number, SeenAt::Position(spot.position.clone())),
            LookedAt::Bogie {
                car_number, bogie, ..
            } => (car_number, SeenAt::Bogie(*bogie)),
        };
        Self {
            car: car.clone(),
            at,
            during,
            seen,
        }
    }

    /// Finds the place in a train. Pressure is seen at a position, braking at a bogie or at a
    /// brake itself.
    pub fn in_train(&self, cars: &[TrainCar]) -> Result<Observation, Unreadable> {
        let refuse =
            |expected: String| Unreadable::new("what was seen", &self.to_string(), expected);
        let car = cars.iter().position(|car| car.number == self.car);
        let car = car.ok_or_else(|| {
            let numbers: Vec<&str> = cars.iter().map(|car| car.number.as_str()).collect();
            refuse(format!("a car of this train: {}", numbers.join(", ")))
        })?;
        let car_type = cars[car].circuit.car_type();
        let at = match &self.at {
            SeenAt::Position(code) => {
                let mut nodes = car_type.circuit.nodes.iter();
                let node = nodes.find(|node| node.position == *code);
                let node = node.ok_or_else(|| {
                    refuse(format!(
                        "a position in the brake circuit of car {}",
                        self.car
                    ))
                })?;
                if self.seen.is_of_a_brake() && !node.behaviour.is_actuator() {
                    return Err(refuse("pressure or no_pressure there".to_owned()));
                }
                LookedAt::Position(Spot {
                    car,
                    car_number: self.car.clone(),
                    position: code.clone(),
                })
            }
            SeenAt::Bogie(bogie) => {
                if !car_type.bogies.iter().any(|one| one.number == *bogie) {
                    return Err(refuse(format!("a bogie of car {}", self.car)));
                }
                if !self.seen.is_of_a_brake() {
                    return Err(refuse("braking or not_braking at a bogie".to_owned()));
                }
                LookedAt::Bogie {
                    car,
                    car_number: self.car.clone(),
                    bogie: *bogie,
                }
            }
        };
        Ok(Observation {
            at,
            during: self.during,
            seen: self.seen,
        })
    }
}

/// Reads several things seen; of one place in one state of the brake the last holds.
pub fn sights<'a>(texts: impl IntoIterator<Item = &'a str>) -> Result<Vec<Sight>, Unreadable> {
    let mut all: Vec<Sight> = Vec::new();
    for text in texts {
        let one: Sight = text.parse()?;
        all.retain(|other| {
            (&other.car, &other.at, other.during) != (&one.car, &one.at, one.during)
        });
        all.push(one);
        if all.len() > OBSERVATIONS_MAX {
            let expected = format!("at most {OBSERVATIONS_MAX} things seen");
            return Err(Unreadable::new("what was seen", text, expected));
        }
    }
    Ok(all)
}

/// A car, what was looked at on it, and what was seen there, all in words.
fn parts(text: &str) -> Option<(CarNumber, &str, &str)> {
    let (car, rest) = text.split_once(':')?;
    let (before, _) = rest.rsplit_once(':')?;
    let (at, _) = before.rsplit_once(':')?;
    let told = rest.get(at.len() + 1..)?;
    Some((car.parse().ok()?, at, told))
}

/// The car and the name of a position of it that was looked at, where that is another than its code.
pub fn called(text: &str) -> Option<(CarNumber, &str)> {
    let (car, name, _) = parts(text)?;
    name.parse::<SeenAt>().is_err().then_some((car, name))
}

/// The same text with the code of the position, where another of its names is given there. What
/// names no position stays as it is, for whoever reads it to refuse.
pub fn with_code(
    text: &str,
    code: impl FnOnce(&CarNumber, &str) -> Result<PositionCode, String>,
) -> Result<String, Unreadable> {
    match (called(text), parts(text)) {
        (Some((car, name)), Some((.., told))) => {
            let code = code(&car, name).map_err(|expected| {
                Unreadable::new("what was seen", text, format!("for “{name}” {expected}"))
            })?;
            Ok(format!("{car}:{code}:{told}"))
        }
        _ => Ok(text.to_owned()),
    }
}

impl FromStr for Sight {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let refuse = || {
            let expected = "CAR:PLACE:STATE:SEEN as 4101:=BS1-XT1:service:no_pressure or \
                            4101:bogie 2:released:braking";
            Unreadable::new("what was seen", text, expected)
        };
        let (car, rest) = text.split_once(':').ok_or_else(refuse)?;
        let (rest, seen) = rest.rsplit_once(':').ok_or_else(refuse)?;
        let (at, during) = rest.rsplit_once(':').ok_or_else(refuse)?;
        Ok(Self {
            car: car.parse().map_err(|_| refuse())?,
            at: at.parse().map_err(|_| refuse())?,
            during: during.parse()?,
            seen: seen.parse()?,
        })
    }
}

impl fmt::Display for Sight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            car,
            at,
            during,
            seen,
        } = self;
        write!(f, "{car}:{at}:{}:{}", during.name(), seen.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sight_reads_back_as_it_is_written() {
        for text in [
            "4101:=BS1-XT1:service:no_pressure",
            "4101:bogie 2:released:braking",
        ] {
            assert_eq!(text.parse::<Sight>().expect("a sight").to_string(), text);
        }
        for bad in [
            "",
            "4101",
            "4101:bogie x:service:braking",
            "4101:=A:now:braking",
        ] {
            assert!(bad.parse::<Sight>().is_err(), "{bad}");
        }
    }

    #[test]
    fn a_position_may_be_called_by_another_name() {
        let code = |_: &CarNumber, name: &str| match name {
            "B1" => Ok("=BS1-QM1".parse::<PositionCode>().expect("a code")),
            _ => Err("a name of a position".to_owned()),
        };
        for (text, by_code) in [
            ("4101:B1:service:pressure", "4101:=BS1-QM1:service:pressure"),
            ("4101:=A:service:pressure", "4101:=A:service:pressure"),
            (
                "4101:bogie 2:released:braking",
                "4101:bogie 2:released:braking",
            ),
            ("4101", "4101"),
        ] {
            assert_eq!(with_code(text, code).expect("a text"), by_code);
        }
        let unknown = with_code("4101:B9:service:pressure", code).expect_err("a refusal");
        assert!(unknown.expected.contains("B9"), "{unknown}");
    }

    #[test]
    fn of_one_place_in_one_state_the_last_sight_holds() {
        let read = sights(["1:=A:service:pressure", "1:=A:service:no_pressure"]);
        assert_eq!(read.expect("readable").len(), 1);
    }
}
