//! What of a train counts as not doing its work beyond what is recorded of it: pipes that an open end
//! empties, and reservoirs whose air a decision does not count. Every answer about the train counts so,
//! that none speaks of air of which another says that it is gone.

use super::Question;
use super::not_counted::Spent;
use super::seen_free::{self, BrakeSeenFree};
use super::states::States;
use super::unfed::Unfed;
use crate::circuit::state::{Impaired, Impairment, Marked};
use crate::circuit::train::TrainCircuit;
use crate::configuration::component::PositionRef;
use crate::identity::PositionCode;
use crate::isolation::open_ends;
use crate::worked::Missing;

/// The states of a train with air that is not counted as used up, the brakes that were seen free, and what
/// was found of that air.
pub(super) fn states(
    question: &Question,
    marked: &Marked<'_>,
) -> Result<(States, Vec<BrakeSeenFree>, Unfed), Missing> {
    let (mut states, seen_free) = seen_free::states(question, marked)?;
    let unfed = Unfed::of(question, marked, &states);
    states.spend(&unfed.nodes);
    Ok((states, seen_free, unfed))
}

impl Question {
    /// What does not do its work, with what open ends of pipe empty. Nothing more is looked for where
    /// nothing is missing.
    pub(super) fn with_open_ends(&self, circuit: &TrainCircuit) -> Result<Vec<Impaired>, Missing> {
        let mut impaired = self.impaired();
        let absent = |one: &Impaired| matches!(one.by, Impairment::Vacant | Impairment::Incomplete);
        if impaired.iter().any(absent) {
            let emptied = open_ends::emptied(&circuit.marked(&impaired)?);
            impaired.extend(emptied);
        }
        Ok(impaired)
    }

    /// The places that hold nothing, car by car. Of what is incomplete it is told otherwise.
    pub(super) fn vacant(&self) -> Vec<PositionRef> {
        let vacant = self.cars.iter().flat_map(|car| {
            let empty = move |at: &&PositionCode| car.absence(at) == Impairment::Vacant;
            let places = car.vacant.iter().filter(empty);
            places.map(move |position| PositionRef {
                car: car.number.clone(),
                position: position.clone(),
            })
        });
        vacant.collect()
    }

    /// The same as with open ends, with the reservoirs whose air is not counted.
    pub fn counted(&self) -> Result<Vec<Impaired>, Missing> {
        let mut counted = self.with_open_ends(&self.circuit()?)?;
        let spent = self.air_not_counted()?.into_iter();
        counted.extend(spent.filter_map(|one| {
            let mut cars = self.cars.iter();
            Some(Impaired {
                car: cars.position(|car| car.number == one.at.car)?,
                position: one.at.position,
                by: Impairment::Emptied,
            })
        }));
        Ok(counted)
    }

    /// The reservoirs whose air is not counted, as the decision about the train tells them; none where
    /// nobody can command a brake and so nothing is decided. Nothing is worked out where all air counts.
    pub fn air_not_counted(&self) -> Result<Vec<Spent>, Missing> {
        if !self.may_leave_unfed() {
            return Ok(Vec::new());
        }
        let circuit = self.circuit()?;
        let marked = circuit.marked(&self.with_open_ends(&circuit)?)?;
        let states = states(self, &marked);
        Ok(states.map_or_else(|_| Vec::new(), |(.., unfed)| unfed.spent))
    }
}
