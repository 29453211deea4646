//! What is asked about a train besides its cars, in words from an address, a form or a command
//! line. A field that nobody gave may be assumed, and then whoever asked is told so; a field
//! that was left blank is not known, and what needs it gets no answer.

mod brake_position;
pub(super) mod disputed;
mod route;

use super::{Question, Supposed, TrainCar, Way};
use crate::configuration::car_type::{BrakePosition, LoadState};
use crate::rule_set::RuleSet;
use crate::rule_set::facts::{Movement, TrainKind, Whereabouts};
use crate::rule_set::usual::Usual;
use crate::units::{Amount, Distance, Gradient, Speed, Thousandths};
use crate::unreadable::Unreadable;
use crate::words::word_list;
use crate::worked::{Missing, MissingFact};
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

word_list! {
    /// A field of the question.
    AskedField, "field of the question" {
        /// How the cars are loaded.
        Load = "load",
        /// The brake position.
        BrakePosition = "brake_position",
        /// The speed to stop from, in km/h.
        Speed = "speed",
        /// The steepest gradient in the direction of travel in per mille; negative where it
        /// falls.
        Gradient = "gradient",
        /// The shortest distance in which the train must stop, in metres.
        SignallingDistance = "signalling_distance",
        /// How far it is to where the train is meant to go, in kilometres.
        DistanceToGo = "distance_to_go",
        /// Where the train is.
        Whereabouts = "whereabouts",
        /// What kind of train it is.
        TrainKind = "train_kind",
        /// What it moves for.
        Movement = "movement",
        /// The route it runs on, as the operator calls it.
        Route = "route",
        /// The most adhesion that a holding axle is taken to use: its force by its load.
        HoldingAdhesion = "holding_adhesion",
    }
}

impl AskedField {
    /// The unit of its number, if it is one.
    pub const fn unit(self) -> Option<&'static str> {
        match self {
            Self::Speed => Some("km/h"),
            Self::Gradient => Some("‰"),
            Self::SignallingDistance => Some("m"),
            Self::DistanceToGo => Some("km"),
            Self::Load
            | Self::BrakePosition
            | Self::Whereabouts
            | Self::TrainKind
            | Self::Movement
            | Self::Route
            | Self::HoldingAdhesion => None,
        }
    }
}

/// The words of a question, field by field.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Words(BTreeMap<AskedField, String>);

/// Gradients that can be asked about, in per mille.
pub const GRADIENTS: RangeInclusive<f64> = -100.0..=100.0;
/// Signalling distances that can be asked about, in metres.
pub const SIGNALLING_DISTANCES: RangeInclusive<f64> = 1.0..=20_000.0;
/// Adhesions of holding axles that can be asked about.
pub const HOLDING_ADHESIONS: RangeInclusive<f64> = 0.01..=0.5;

/// What was asked; none where it is not known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Asked {
    /// The load state.
    pub load: Option<LoadState>,
    /// The brake position.
    pub brake_position: Option<BrakePosition>,
    /// The way ahead.
    pub way: Way,
}

/// All fields that cannot be read, each with what was expected.
pub type UnreadableFields = Vec<(AskedField, Unreadable)>;

impl Words {
    /// Gives a field.
    pub fn put(&mut self, field: AskedField, text: &str) {
        self.0.insert(field, text.trim().to_owned());
    }

    /// A field, if it was given; blank where it is said not to be known.
    pub fn get(&self, field: AskedField) -> Option<&str> {
        self.0.get(&field).map(String::as_str)
    }

    /// A field as it was given, nothing where it was not.
    pub fn text(&self, field: AskedField) -> &str {
        self.get(field).unwrap_or_default()
    }

    /// Fills in what nobody gave: the brake position in which trains of the cars run as a rule, or
    /// with which they brake least, the speed that they are made for, and what all rule sets that
    /// say so call usual. Says which fields those are. How far it is to go is never assumed.
    pub fn assume(&mut self, cars: &[TrainCar], rule_sets: &[&RuleSet]) -> Vec<AskedField> {
        let said = Usual::agreed(rule_sets);
        let word = |name: Option<&'static str>| name.map(str::to_owned);
        let load = match self.get(AskedField::Load) {
            Some(given) => given.parse().ok(),
            None => said.load,
        };
        let position = brake_position::assumed(cars, load);
        let usual = [
            (AskedField::Load, word(said.load.map(LoadState::name))),
            (
                AskedField::BrakePosition,
                word(position.map(BrakePosition::name)),
            ),
            (AskedField::Speed, speed_max(cars)),
            (
                AskedField::Gradient,
                said.gradient.map(|gradient| gradient.0.to_string()),
            ),
            (
                AskedField::SignallingDistance,
                said.signalling_distance.map(|metres| metres.0.to_string()),
            ),
            (
                AskedField::Whereabouts,
                word(said.whereabouts.map(Whereabouts::name)),
            ),
            (
                AskedField::TrainKind,
                word(said.train_kind.map(TrainKind::name)),
            ),
            (
                AskedField::Movement,
                word(said.movement.map(Movement::name)),
            ),
            (
                AskedField::HoldingAdhesion,
                said.holding_adhesion.map(|of| of.thousandths.to_string()),
            ),
        ];
        let mut assumed = Vec::new();
        for (field, text) in usual {
            if let (Some(text), false) = (text, self.0.contains_key(&field)) {
                self.0.insert(field, text);
                assumed.push(field);
            }
        }
        assumed
    }

    /// Reads all fields, or says of each that cannot be read what was expected.
    pub fn read(&self) -> Result<Asked, UnreadableFields> {
        let mut reading = Reading {
            words: self,
            faults: Vec::new(),
        };
        let asked = Asked {
            load: reading.word(AskedField::Load),
            brake_position: reading.word(AskedField::BrakePosition),
            way: Way {
                speed: reading.number(AskedField::Speed, 1.0..=500.0).map(Speed),
                gradient: reading
                    .number(AskedField::Gradient, GRADIENTS)
                    .map(Gradient),
                signalling_distance: reading
                    .number(AskedField::SignallingDistance, SIGNALLING_DISTANCES)
                    .map(Distance),
                distance_to_go: reading
                    .number(AskedField::DistanceToGo, 0.0..=10_000.0)
                    .map(|kilometres| Distance(kilometres * 1000.0)),
                whereabouts: reading.word(AskedField::Whereabouts),
                kind: reading.word(AskedField::TrainKind),
                movement: reading.word(AskedField::Movement),
                route: reading.word(AskedField::Route),
                holding_adhesion: reading
                    .thousandths(AskedField::HoldingAdhesion, HOLDING_ADHESIONS),
                day: None,
                at: None,
            },
        };
        if reading.faults.is_empty() {
            Ok(asked)
        } else {
            Err(reading.faults)
        }
    }
}

/// Why a value is assumed of cars, where nothing else in the answer says so.
pub fn because(field: AskedField, cars: &[TrainCar]) -> Option<&'static str> {
    match field {
        AskedField::BrakePosition => Some(brake_position::because(cars)),
        _ => None,
    }
}

fn speed_max(cars: &[TrainCar]) -> Option<String> {
    let speeds = cars.iter().map(|car| car.circuit.car_type().speed_max_km_h);
    speeds.min().map(|speed| speed.to_string())
}

struct Reading<'a> {
    words: &'a Words,
    faults: UnreadableFields,
}

impl Reading<'_> {
    fn word<T: std::str::FromStr<Err = Unreadable>>(&mut self, field: AskedField) -> Option<T> {
        let text = self.words.text(field);
        if text.is_empty() {
            return None;
        }
        text.parse()
            .map_err(|why| self.faults.push((field, why)))
            .ok()
    }

    fn number(&mut self, field: AskedField, range: RangeInclusive<f64>) -> Option<f64> {
        let text = self.words.text(field);
        if text.is_empty() {
            return None;
        }
        let digits = text.strip_prefix(['-', '−']).unwrap_or(text);
        let plain = digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let size = digits.parse::<f64>().ok().filter(|_| plain);
        let number = size.map(|size| if digits == text { size } else { -size });
        let within = number.filter(|number| range.contains(number));
        if within.is_none() {
            let (least, most) = (range.start(), range.end());
            let unit = field.unit().unwrap_or_default();
            let expected = format!("a number from {least} to {most} ({unit})");
            self.faults
                .push((field, Unreadable::new(field.name(), text, expected)));
        }
        within
    }

    /// A pure number with at most three decimals.
    fn thousandths(
        &mut self,
        field: AskedField,
        range: RangeInclusive<f64>,
    ) -> Option<Thousandths> {
        let text = self.words.text(field);
        if text.is_empty() {
            return None;
        }
        let read = text.parse::<Amount>().ok();
        let read = read.and_then(|amount| u32::try_from(amount.0).ok());
        let within = read
            .map(Thousandths)
            .filter(|of| range.contains(&of.real()));
        if within.is_none() {
            let (least, most) = (range.start(), range.end());
            let expected = format!("a number from {least} to {most}, of at most three decimals");
            self.faults
                .push((field, Unreadable::new(field.name(), text, expected)));
        }
        within
    }
}

impl Asked {
    /// The question about these cars, or what it lacks to be one.
    pub fn question(
        self,
        cars: Vec<TrainCar>,
        supposed: Vec<Supposed>,
    ) -> Result<Question, Missing> {
        let lacking = |what: &str| MissingFact {
            what: what.to_owned(),
            of: "the question".to_owned(),
        };
        match (self.brake_position, self.load) {
            (Some(brake_position), Some(load)) => Ok(Question {
                cars,
                supposed,
                brake_position,
                load,
                way: self.way,
            }),
            (brake_position, load) => {
                let brake_position = brake_position.is_none().then(|| lacking("brake position"));
                let load = load.is_none().then(|| lacking("load state"));
                Err(Missing(brake_position.into_iter().chain(load).collect()))
            }
        }
    }
}

#[cfg(test)]
mod tests;
