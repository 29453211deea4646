//! A design tried in a formation: what each of its positions takes there, and what that was with
//! another design in its place.

use super::{Closed, Sound, Takes, TakesOtherwise, each_takes, sound, takes_otherwise};
use crate::circuit::compiled::CompiledCircuit;
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car::{OrderedCar, Orientation, Vehicle};
use crate::configuration::car_type::CarType;
use crate::worked::{Missing, MissingFact};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The formation that a design is tried in.
#[derive(Debug, Clone)]
pub struct Trial {
    /// Its units and cars.
    pub vehicles: Vec<Vehicle>,
    /// Its cars, each with its design where that is known.
    pub cars: Vec<(OrderedCar, Option<Arc<CarType>>)>,
}

/// What a design does in a formation.
#[derive(Debug, Default)]
pub(super) struct Tried {
    /// The car that is looked at.
    pub(super) car: String,
    /// What works with everything open.
    pub(super) sound: Vec<Sound>,
    /// What worked so before.
    pub(super) sound_before: Option<Vec<Sound>>,
    /// What each position takes.
    pub(super) takes: BTreeMap<Closed, Takes>,
    /// What that was before, where it differs.
    pub(super) otherwise: Vec<TakesOtherwise>,
}

impl Trial {
    /// The formation as text, to be asked again.
    pub(super) fn text(&self) -> String {
        in_words(&self.vehicles)
    }

    /// Tries a design in place of those of its name, beside what was there before.
    pub(super) fn run(
        &self,
        design: &Arc<CarType>,
        before: Option<&Arc<CarType>>,
    ) -> Result<Tried, Missing> {
        let (train, place) = self.train(design)?;
        let takes = each_takes(&train, place)?;
        let mut tried = Tried {
            car: self.cars[place].0.car.to_string(),
            sound: sound(&train, place)?,
            ..Tried::default()
        };
        if let Some(before) = before {
            let (train, place) = self.train(before)?;
            tried.sound_before = Some(sound(&train, place)?);
            tried.otherwise = takes_otherwise(&each_takes(&train, place)?, &takes);
        }
        tried.takes = takes;
        Ok(tried)
    }

    /// The train with a design in all cars of its name, and the place of the first of them.
    fn train(&self, design: &Arc<CarType>) -> Result<(TrainCircuit, usize), Missing> {
        let own = |other: &Option<Arc<CarType>>| {
            other
                .as_ref()
                .is_some_and(|other| other.name == design.name)
        };
        let place = self.cars.iter().position(|(_, other)| own(other));
        let place = place.ok_or_else(|| {
            Missing::one(format!("a car of type {}", design.name), "the formation")
        })?;
        let train = self.cars.iter().map(|(car, other)| match other {
            other if own(other) => placed(car, design),
            Some(other) => placed(car, other),
            None => Err(Missing::one("design", format!("car {}", car.car))),
        });
        let train = TrainCircuit::new(train.collect::<Result<_, Missing>>()?);
        Ok((train, place))
    }
}

fn placed(car: &OrderedCar, design: &CarType) -> Result<PlacedCar, Missing> {
    let circuit = CompiledCircuit::new(design).map_err(|_| {
        Missing(vec![MissingFact {
            what: "a circuit without faults".into(),
            of: format!("car type {} revision {}", design.name, design.revision),
        }])
    })?;
    Ok(PlacedCar {
        number: car.car.clone(),
        orientation: car.orientation,
        circuit: Arc::new(circuit),
    })
}

fn in_words(vehicles: &[Vehicle]) -> String {
    let word = |vehicle: &Vehicle| {
        let (name, orientation) = match vehicle {
            Vehicle::Unit(unit, orientation) => (format!("unit {unit}"), orientation),
            Vehicle::Car(car, orientation) => (format!("car {car}"), orientation),
        };
        match orientation {
            Orientation::Forward => name,
            Orientation::Reversed => format!("{name} reversed"),
        }
    };
    let words: Vec<String> = vehicles.iter().map(word).collect();
    words.join(", ")
}
