//! A design tried in a formation of the register: what each of its positions takes there, and
//! what that was with another design in its place.

use crate::failure::Failure;
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::train::{PlacedCar, TrainCircuit};
use domain::configuration::car::{OrderedCar, Orientation, Vehicle};
use domain::configuration::car_type::CarType;
use domain::decision::formation::FormationText;
use domain::isolation::takes::{
    Closed, Sound, Takes, TakesOtherwise, each_takes, sound, takes_otherwise,
};
use domain::ledger::dossier::CarRecord;
use domain::time::Day;
use domain::worked::{Missing, MissingFact};
use exchange::output::OutputError;
use std::collections::BTreeMap;
use std::sync::Arc;
use store::read::View;

/// The formation that a design is tried in, with the designs of its cars.
pub(super) struct Trial {
    /// The formation as text, to be asked again.
    pub(super) text: String,
    cars: Vec<(OrderedCar, Option<Arc<CarType>>)>,
}

/// What a design does in a formation.
#[derive(Default)]
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
    pub(super) otherwise: Option<Vec<TakesOtherwise>>,
}

impl Trial {
    /// The formation of a text; where that is empty, a unit with a car of the design in it. None
    /// where no car is built to the design. Six statements.
    pub(super) async fn read(
        view: &mut View,
        text: &str,
        design: &CarType,
        today: Day,
    ) -> Result<Option<Self>, Failure> {
        let vehicles = if text.is_empty() {
            let example = view.vehicle_of_design(design, today);
            example.await?.into_iter().collect()
        } else {
            let formation: FormationText = text.parse()?;
            view.vehicles(&formation).await??
        };
        if vehicles.is_empty() {
            return Ok(None);
        }
        let cars = view.formation(&vehicles).await??;
        let known = |record: &CarRecord| view.documents.car_type(&record.car, today).cloned();
        let designs = cars.into_iter().map(|car| {
            let design = known(&car.record);
            (car.place, design)
        });
        Ok(Some(Self {
            text: in_words(&vehicles),
            cars: designs.collect(),
        }))
    }

    /// Tries a design in place of those of its name, beside what was there before. It takes a
    /// core for a while, and holds up no other request.
    pub(super) async fn run(
        self,
        design: CarType,
        before: Option<Arc<CarType>>,
    ) -> Result<Result<Tried, Missing>, Failure> {
        let run = move || {
            let (train, place) = self.train(&Arc::new(design))?;
            let takes = each_takes(&train, place)?;
            let mut tried = Tried {
                car: self.cars[place].0.car.to_string(),
                sound: sound(&train, place)?,
                ..Tried::default()
            };
            if let Some(before) = before {
                let (train, place) = self.train(&before)?;
                tried.sound_before = Some(sound(&train, place)?);
                tried.otherwise = Some(takes_otherwise(&each_takes(&train, place)?, &takes));
            }
            tried.takes = takes;
            Ok(tried)
        };
        let tried = tokio::task::spawn_blocking(run).await;
        tried.map_err(|why| Failure::File(OutputError::Io(std::io::Error::other(why))))
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
