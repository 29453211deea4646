//! Further questions about the train of a question: what to close, its weak points, the path to
//! a position, what flows in a car, fault finding, and which tests reveal a wrong cock. All of the train as it stands,
//! or as it is supposed.

use super::stored::StoredIn;
use super::{Question, RuleSetAnswer, Supposed, counted, decide};
use crate::circuit::Mode;
use crate::circuit::state::{Impaired, Impairment};
use crate::circuit::train::TrainCircuit;
use crate::configuration::component::PositionRef;
use crate::identity::CarNumber;
use crate::isolation::Supply;
use crate::isolation::closing::{Closing, ClosingSet, closing};
use crate::isolation::fault_finding::{AsRecorded, FaultFinding, Observation, find_faults};
use crate::isolation::flow::{CarFlow, car_flow};
use crate::isolation::path::{Path, path};
use crate::isolation::reveal::{Reveal, reveal};
use crate::isolation::slide_protection::{UnprotectedAxle, unprotected_axles};
use crate::isolation::weak_points::{WeakPoints, weak_points};
use crate::rule_set::RuleSet;
use crate::test_record::procedure::Procedure;
use crate::worked::Missing;
use serde::Serialize;

/// For how many of the sets to close, the best first, a verdict is given.
pub const VERDICTS_MAX: usize = 30;

/// What to close, with the verdicts that it leads to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatToClose {
    /// The sets, the best first.
    #[serde(flatten)]
    pub closing: Closing,
    /// What each rule set says with each of the first sets closed and its reservoirs drained;
    /// at most [`VERDICTS_MAX`] of them.
    pub verdicts: Vec<Vec<RuleSetAnswer>>,
    /// What each of the first sets leaves stored until it is drained.
    #[serde(skip)]
    pub stored: Vec<Vec<StoredIn>>,
}

impl Question {
    /// Every minimal set of cocks that keeps air from a component, with verdicts.
    pub fn what_to_close(
        &self,
        component: &PositionRef,
        rule_sets: &[&RuleSet],
    ) -> Result<WhatToClose, Missing> {
        let circuit = self.circuit()?;
        let car = self.place(component)?;
        let case = (self.brake_position, self.load);
        let closing = closing(&circuit, &self.impaired(), (car, &component.position), case)?;
        let closing = closing.taking_from(&circuit, &self.counted()?, case)?;
        let verdicts = |set: &ClosingSet| {
            let with = self.with(&set.impaired());
            decide(&with, rule_sets).map(|decision| decision.verdicts)
        };
        let first = closing.sets.iter().take(VERDICTS_MAX);
        let verdicts = first.clone().map(verdicts).collect::<Result<_, _>>()?;
        let stored = |set: &ClosingSet| self.with(&set.closed()).stored_air();
        let stored = first.map(stored).collect::<Result<_, _>>()?;
        Ok(WhatToClose {
            closing,
            verdicts,
            stored,
        })
    }

    /// What every single failure takes away, and every pair.
    pub fn weak_points(&self) -> Result<WeakPoints, Missing> {
        let (circuit, impaired) = (self.circuit()?, self.counted()?);
        weak_points(&circuit, &impaired, self.brake_position, self.load)
    }

    /// The path by which a position is fed in a mode.
    pub fn path(&self, to: &PositionRef, mode: Mode) -> Result<Path, Missing> {
        let car = self.place(to)?;
        let circuit = self.circuit()?;
        let counted = self.counted_in(&circuit, mode, Supply::Now)?;
        path(&circuit, &counted, mode, (car, &to.position))
    }

    /// What flows in one car of the train in a mode, and what is lost there and why. Which brakes
    /// cannot be said to be off is told as the decision tells it, in all modes alike.
    pub fn flow(&self, car: &CarNumber, mode: Mode, supply: Supply) -> Result<CarFlow, Missing> {
        let place = self.place_of(car)?;
        let circuit = self.circuit()?;
        let counted = self.counted_in(&circuit, mode, supply)?;
        let mut flow = car_flow(&circuit, &counted, (mode, supply), place)?;
        let marked = circuit.marked(&self.with_open_ends(&circuit)?)?;
        // Where nobody commands one of both modes there is no decision to agree with.
        if let Ok((states, ..)) = counted::states(self, &marked) {
            let braking = states.commanded(supply);
            let told = match mode {
                Mode::Service => &braking.service.actuators[..],
                Mode::Emergency => &braking.emergency.actuators[..],
                Mode::Holding => &[],
            };
            for (own, told) in flow.effect.actuators.iter_mut().zip(told) {
                own.may_drag = told.may_drag;
                own.known_off = told.known_off;
            }
        }
        Ok(flow)
    }

    /// What does not do its work in a mode. Springs hold the standing train with what air may be left, and
    /// once stored air is used up none of it counts anyhow.
    fn counted_in(
        &self,
        circuit: &TrainCircuit,
        mode: Mode,
        supply: Supply,
    ) -> Result<Vec<Impaired>, Missing> {
        if mode == Mode::Holding || supply == Supply::Exhausted {
            self.with_open_ends(circuit)
        } else {
            self.counted()
        }
    }

    /// The axles of the train that nothing protects from sliding.
    pub fn unprotected(&self) -> Result<Vec<UnprotectedAxle>, Missing> {
        Ok(unprotected_axles(&self.circuit()?, &self.impaired()))
    }

    /// The single faults that explain what was seen. Air that is not counted may be there all the same:
    /// what is recorded explains what was seen also where it does so with that air.
    pub fn find_faults(
        &self,
        observations: &[Observation],
        supply: Supply,
    ) -> Result<FaultFinding, Missing> {
        let (circuit, recorded) = (self.circuit()?, self.impaired());
        let counted = self.counted()?;
        let found = find_faults(&circuit, &counted, observations, supply)?;
        if found.as_recorded == AsRecorded::Explains || counted == recorded {
            return Ok(found);
        }
        let full = find_faults(&circuit, &recorded, observations, supply)?;
        Ok(match full.as_recorded {
            AsRecorded::Explains => full,
            AsRecorded::DoesNotExplain => found,
        })
    }

    /// Which tests reveal a cock in a wrong state on a train of these cars that is sound
    /// otherwise.
    pub fn reveal(&self, procedures: &[&Procedure]) -> Result<Reveal, Missing> {
        reveal(&self.circuit()?, procedures)
    }

    /// The place in the train of the car of a position.
    fn place(&self, at: &PositionRef) -> Result<usize, Missing> {
        self.place_of(&at.car)
    }

    fn place_of(&self, number: &CarNumber) -> Result<usize, Missing> {
        let mut cars = self.cars.iter();
        cars.position(|car| car.number == *number)
            .ok_or_else(|| Missing::one(format!("car {number}"), "the train"))
    }

    /// The question with more supposed.
    #[must_use]
    pub fn with(&self, more: &[Impaired]) -> Self {
        let mut question = self.clone();
        let supposed = more.iter().filter_map(|one| {
            let Impairment::CutOut(state) = one.by else {
                return None;
            };
            Some(Supposed {
                at: PositionRef {
                    car: self.cars.get(one.car)?.number.clone(),
                    position: one.position.clone(),
                },
                state: Some(state),
            })
        });
        question.supposed.extend(supposed);
        question
    }
}
