//! What is asked about a train.

use super::conceded::{Conceded, ConcededInTrain};
use super::due_at_once::{DueAtOnce, DueAtOnceInTrain};
use super::failed_test::{FailedTest, FailedTestInTrain};
use super::judge_again::{JudgeAgain, JudgeAgainInTrain};
use super::not_conceded::{NotConceded, NotConcededInTrain};
use super::overdue::{Overdue, OverdueInTrain};
use super::seen_free::Recorded;
use super::shortcoming::{Fault, Shortcoming, ShortcomingInTrain};
use super::{Standing, Supposed};
use crate::circuit::compiled::CompiledCircuit;
use crate::circuit::state::{Impaired, Impairment};
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car::Orientation;
use crate::configuration::car_type::{BrakePosition, LoadState};
use crate::identity::{CarNumber, PositionCode, RouteName};
use crate::isolation::CutOutState;
use crate::rule_set::facts::{Movement, TrainKind, Whereabouts};
use crate::time::{Day, Instant};
use crate::units::{Distance, Gradient, Speed, Thousandths};
use crate::worked::Missing;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// A car of the train, with what the register says of it.
#[derive(Debug, Clone)]
pub struct TrainCar {
    /// Its number.
    pub number: CarNumber,
    /// Which way it stands.
    pub orientation: Orientation,
    /// The circuit of its type.
    pub circuit: Arc<CompiledCircuit>,
    /// The positions that hold no component, as [`CompiledCircuit::vacant`] finds them, and those
    /// that hold an assembly without what it needs. They deliver nothing.
    pub vacant: Vec<PositionCode>,
    /// When what stood there last came off, of those that hold nothing, where that is known.
    pub vacated: BTreeMap<PositionCode, Instant>,
    /// What is fitted and yet is not as it must be.
    pub shortcomings: Vec<Shortcoming>,
    /// What stands on it under concessions.
    pub conceded: Vec<Conceded>,
    /// What departs on it from its baseline with no concession, and is not told otherwise.
    pub not_conceded: Vec<NotConceded>,
    /// The tests of it that were failed and not passed since.
    pub failed_tests: Vec<FailedTest>,
    /// The work on it that is due at once since something was touched, and on what is fitted to it since
    /// that failed, where that was looked for.
    pub due_at_once: Vec<DueAtOnce>,
    /// What is known of overdue work on it.
    pub overdue: Overdue,
    /// The components on it that are to be judged again.
    pub judge_again: Vec<JudgeAgain>,
    /// The cut-outs in force on it.
    pub cut_outs: Vec<CutOutInTrain>,
}

impl TrainCar {
    /// Why a position that delivers nothing does not: nothing is there, or something is missing
    /// inside what is.
    pub(super) fn absence(&self, position: &PositionCode) -> Impairment {
        if self.is_incomplete(position) {
            Impairment::Incomplete
        } else {
            Impairment::Vacant
        }
    }

    /// Whether a position holds an assembly in which something that it needs is missing.
    pub fn is_incomplete(&self, position: &PositionCode) -> bool {
        let mut found = self.shortcomings.iter();
        found.any(|one| one.fault == Fault::Missing && one.position.is_inside(position))
    }
}

/// A cut-out in force on a car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CutOutInTrain {
    /// Where.
    pub position: PositionCode,
    /// In which state.
    pub state: CutOutState,
    /// Since when; none of one that is no cut-out of the register.
    pub since: Option<Since>,
    /// What the register has of it; none of one that is no cut-out of the register.
    pub recorded: Option<Recorded>,
}

/// Since when a cut-out stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Since {
    /// When it was made or, where nobody saw it change, first seen.
    pub at: Instant,
    /// The last time before that it was seen in its normal state, where nobody saw it change.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub not_before: Option<Instant>,
}

/// The way ahead, and what the train runs for.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Way {
    /// The speed to stop from.
    pub speed: Option<Speed>,
    /// The steepest gradient in the direction of travel; negative where it falls.
    pub gradient: Option<Gradient>,
    /// The shortest distance in which the train must stop.
    pub signalling_distance: Option<Distance>,
    /// How far it is to where it is meant to go.
    pub distance_to_go: Option<Distance>,
    /// Where the train is.
    pub whereabouts: Option<Whereabouts>,
    /// What kind of train it is.
    pub kind: Option<TrainKind>,
    /// What it moves for.
    pub movement: Option<Movement>,
    /// The route it runs on.
    pub route: Option<RouteName>,
    /// The day it runs on.
    pub day: Option<Day>,
    /// The moment for which it is asked; where it is not known, every cut-out counts as just made.
    #[serde(skip)]
    pub at: Option<Instant>,
    /// The most adhesion that an axle is taken to hold with on its rails.
    pub holding_adhesion: Option<Thousandths>,
}

/// A question about a train.
#[derive(Debug, Clone)]
pub struct Question {
    /// Its cars, from the first in the direction of travel.
    pub cars: Vec<TrainCar>,
    /// What is supposed beyond what is in force.
    pub supposed: Vec<Supposed>,
    /// The brake position.
    pub brake_position: BrakePosition,
    /// The load state.
    pub load: LoadState,
    /// The way ahead.
    pub way: Way,
}

impl Question {
    /// As it stands, unless something is supposed.
    pub fn standing(&self) -> Standing {
        if self.supposed.is_empty() {
            Standing::AsItStands
        } else {
            Standing::WhatIf
        }
    }

    /// The circuit of the train.
    pub(super) fn circuit(&self) -> Result<TrainCircuit, Missing> {
        if self.cars.is_empty() {
            return Err(Missing::one("cars", "the train"));
        }
        let unknown = self
            .supposed
            .iter()
            .find(|supposed| !self.cars.iter().any(|car| car.number == supposed.at.car));
        if let Some(supposed) = unknown {
            return Err(Missing::one(
                format!("car {}", supposed.at.car),
                "the train",
            ));
        }
        let placed = self.cars.iter().map(|car| PlacedCar {
            number: car.number.clone(),
            orientation: car.orientation,
            circuit: Arc::clone(&car.circuit),
        });
        Ok(TrainCircuit::new(placed.collect()))
    }

    /// Everything that does not do its work, car by car: what is cut out, and positions that
    /// hold no component or an incomplete one. Linear in both, and in what is missing inside.
    pub fn impaired(&self) -> Vec<Impaired> {
        let mut impaired = Vec::new();
        for (place, car) in self.cars.iter().enumerate() {
            impaired.extend(self.cut_outs_of(place, car));
            impaired.extend(car.vacant.iter().map(|position| Impaired {
                car: place,
                position: position.clone(),
                by: car.absence(position),
            }));
        }
        impaired
    }

    /// What is found on the cars of one kind, car by car.
    fn of_each<F: Clone, T>(
        &self,
        found: impl Fn(&TrainCar) -> &[F],
        in_train: impl Fn(CarNumber, F) -> T,
    ) -> Vec<T> {
        let mut all = Vec::new();
        for car in &self.cars {
            let found = found(car).iter().cloned();
            all.extend(found.map(|one| in_train(car.number.clone(), one)));
        }
        all
    }

    /// What is fitted and yet is not as it must be, car by car.
    pub(super) fn shortcomings(&self) -> Vec<ShortcomingInTrain> {
        let in_train = |car_number, shortcoming| ShortcomingInTrain {
            car_number,
            shortcoming,
        };
        self.of_each(|car| car.shortcomings.as_slice(), in_train)
    }

    /// What stands on the cars under concessions, car by car.
    pub(super) fn conceded(&self) -> Vec<ConcededInTrain> {
        let in_train = |car_number, conceded| ConcededInTrain {
            car_number,
            conceded,
        };
        self.of_each(|car| car.conceded.as_slice(), in_train)
    }

    /// What departs on the cars from their baselines with no concession, car by car.
    pub(super) fn not_conceded(&self) -> Vec<NotConcededInTrain> {
        let in_train = |car_number, departs| NotConcededInTrain {
            car_number,
            departs,
        };
        self.of_each(|car| car.not_conceded.as_slice(), in_train)
    }

    /// The tests of the cars that were failed and not passed since, car by car.
    pub(super) fn failed_tests(&self) -> Vec<FailedTestInTrain> {
        let in_train = |car_number, failed| FailedTestInTrain { car_number, failed };
        self.of_each(|car| car.failed_tests.as_slice(), in_train)
    }

    /// The work on the cars and on what is fitted to them that is due at once, car by car.
    pub(super) fn due_at_once(&self) -> Vec<DueAtOnceInTrain> {
        let in_train = |car_number, due| DueAtOnceInTrain { car_number, due };
        self.of_each(|car| car.due_at_once.as_slice(), in_train)
    }

    /// The cars of which work is overdue or was not looked at, car by car.
    pub(super) fn overdue(&self) -> Vec<OverdueInTrain> {
        let cars = self.cars.iter();
        let told = cars.filter(|car| car.overdue != Overdue::Nothing);
        let in_train = told.map(|car| OverdueInTrain {
            car_number: car.number.clone(),
            overdue: car.overdue.clone(),
        });
        in_train.collect()
    }

    /// The components on the cars that are to be judged again, car by car.
    pub(super) fn judge_again(&self) -> Vec<JudgeAgainInTrain> {
        let in_train = |car_number, again| JudgeAgainInTrain { car_number, again };
        self.of_each(|car| car.judge_again.as_slice(), in_train)
    }

    /// Whether anything is supposed of a position.
    pub(super) fn supposes(&self, car: &CarNumber, position: &PositionCode) -> bool {
        let mut supposed = self.supposed.iter();
        supposed.any(|one| one.at.car == *car && one.at.position == *position)
    }

    /// What is cut out, car by car.
    pub(super) fn cut_outs(&self) -> impl Iterator<Item = Impaired> {
        let cars = self.cars.iter().enumerate();
        cars.flat_map(|(place, car)| self.cut_outs_of(place, car))
    }

    /// What is cut out in force on a car, unless supposed to be otherwise, and what is supposed
    /// to be cut out.
    fn cut_outs_of<'a>(
        &'a self,
        place: usize,
        car: &'a TrainCar,
    ) -> impl Iterator<Item = Impaired> + 'a {
        let in_force = car
            .cut_outs
            .iter()
            .filter(move |cut_out| !self.supposes(&car.number, &cut_out.position))
            .map(|cut_out| (&cut_out.position, cut_out.state));
        let by_supposition = self
            .supposed
            .iter()
            .filter(|other| other.at.car == car.number)
            .filter_map(|other| Some((&other.at.position, other.state?)));
        in_force
            .chain(by_supposition)
            .map(move |(position, state)| Impaired {
                car: place,
                position: position.clone(),
                by: Impairment::CutOut(state),
            })
    }

    /// The length of the train over couplers.
    pub(super) fn length(&self) -> Distance {
        let millimetres = self
            .cars
            .iter()
            .map(|car| f64::from(car.circuit.car_type().length_mm));
        Distance(millimetres.sum::<f64>() / 1000.0)
    }

    /// The greatest speed that every car allows.
    pub(super) fn speed_max(&self) -> Option<Speed> {
        let speeds = self
            .cars
            .iter()
            .map(|car| car.circuit.car_type().speed_max_km_h);
        speeds.min().map(|speed| Speed(f64::from(speed)))
    }
}
