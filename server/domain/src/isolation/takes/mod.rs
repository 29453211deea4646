//! What closing each position of a car takes, and what of that another description of its circuit
//! changes: which cock now takes which axles.

mod looked_at;
mod told;
mod trial;

pub use looked_at::LookedAt;
pub use told::{OtherwiseRow, SoundRow, TakesRow};
pub use trial::Trial;

use super::CutOutState;
use super::Supply;
use super::effect::{ActuatorEffect, AppliedBy, Availability, effect};
use super::held_on::{HeldOn, may_be_on};
use super::load_signal::lost_signals;
use super::losses::commanded;
use super::tally::Counts;
use super::weak_points::failures_of;
use crate::circuit::Mode;
use crate::circuit::delivers::{Air, Delivery};
use crate::circuit::sets::Modes;
use crate::circuit::state::{Impaired, Impairment};
use crate::circuit::train::TrainCircuit;
use crate::identity::{CarNumber, PositionCode};
use crate::worked::Missing;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// An actuator of a train.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Actuator {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// Its position.
    pub position: PositionCode,
    /// The axle it acts on.
    pub axle: Option<u8>,
    /// What becomes of it.
    pub does: Availability,
    /// Whether it may stay on, though nothing commands it.
    pub may_drag: bool,
}

/// What one closed position takes, once stored air is used up: the actuators that no longer do
/// their work in each mode.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Takes {
    /// By mode, without those in which none is out of work.
    pub brakes: BTreeMap<Mode, BTreeSet<Actuator>>,
    /// The load sensors whose signal is lost while running.
    pub load_signals: BTreeSet<(CarNumber, PositionCode)>,
}

impl Takes {
    /// Whether it takes nothing.
    pub fn is_empty(&self) -> bool {
        self.brakes.is_empty() && self.load_signals.is_empty()
    }
}

/// What works with nothing closed and nothing failed, once stored air is used up: of those that a
/// mode is about, air-applied ones in service and emergency, spring-applied ones in holding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Sound {
    /// The mode.
    pub mode: Mode,
    /// The counts of the train.
    pub train: Counts,
    /// How many actuators of the car that is looked at work, of how many.
    pub car: (usize, usize),
    /// Those of the train that do not do their work, springs that drag among them.
    pub idle: BTreeSet<Actuator>,
}

/// A position as it is closed, or as it fails. Each position has one such state.
pub type Closed = (PositionCode, CutOutState);

/// What a change of the circuit changes about one position: what it takes, or how it is closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TakesOtherwise {
    /// The position.
    pub position: PositionCode,
    /// How it was closed and what that took; none where it was not in the circuit.
    pub before: Option<(CutOutState, Takes)>,
    /// How it is closed and what that takes; none where it is not in the circuit.
    pub after: Option<(CutOutState, Takes)>,
}

/// What works in the sound train, mode by mode, commanded from the foremost place. A change that
/// takes brakes from it leaves its cocks less to take, which is no improvement.
pub fn sound(train: &TrainCircuit, car: usize) -> Result<Vec<Sound>, Missing> {
    let trains = in_each_mode(train)?;
    let of = |(mode, train): (Mode, TrainCircuit)| {
        let effect = effect(&train.sound(), mode, Supply::Exhausted);
        let counted = match mode {
            Mode::Service | Mode::Emergency => AppliedBy::Air,
            Mode::Holding => AppliedBy::Spring,
        };
        let own = effect.actuators.iter();
        let own = own.filter(|one| one.car == car && one.applied_by == counted);
        let works = own
            .clone()
            .filter(|one| one.availability == Availability::Available);
        Sound {
            mode,
            car: (works.count(), own.count()),
            idle: idle(effect.actuators, &HeldOn::default()),
            train: effect.counts,
        }
    };
    Ok(trains.into_iter().map(of).collect())
}

/// What each position of one car of a train takes when it is closed or fails, beyond what is out
/// of work with everything open. One evaluation of the train for each position and mode.
pub fn each_takes(train: &TrainCircuit, car: usize) -> Result<BTreeMap<Closed, Takes>, Missing> {
    let trains = in_each_mode(train)?;
    let [(_, service), ..] = &trains;
    let mut sound = BTreeMap::new();
    for (mode, train) in &trains {
        sound.insert(*mode, out_of_work(train, *mode, &[])?);
    }
    let sound_signals = signals_lost(service, &[])?;
    let mut each = BTreeMap::new();
    let failures = train.cars().get(car).map(failures_of);
    for (position, state) in failures.into_iter().flatten() {
        let closed = Impaired {
            car,
            position: position.clone(),
            by: Impairment::CutOut(state),
        };
        let mut takes = Takes::default();
        for (mode, train) in &trains {
            let out = out_of_work(train, *mode, std::slice::from_ref(&closed))?;
            let more: BTreeSet<Actuator> = out.difference(&sound[mode]).cloned().collect();
            if !more.is_empty() {
                takes.brakes.insert(*mode, more);
            }
        }
        let lost = signals_lost(service, std::slice::from_ref(&closed))?;
        takes.load_signals = lost.difference(&sound_signals).cloned().collect();
        each.insert((position.clone(), state), takes);
    }
    Ok(each)
}

/// The train as each mode has it: commanded from the foremost place, and standing uncommanded.
fn in_each_mode(train: &TrainCircuit) -> Result<[(Mode, TrainCircuit); 3], Missing> {
    Ok([
        (Mode::Service, commanded(train, Mode::Service)?),
        (Mode::Emergency, commanded(train, Mode::Emergency)?),
        (Mode::Holding, train.clone()),
    ])
}

fn out_of_work(
    train: &TrainCircuit,
    mode: Mode,
    closed: &[Impaired],
) -> Result<BTreeSet<Actuator>, Missing> {
    let state = train.impaired(closed)?;
    let held_on = match mode {
        Mode::Service | Mode::Emergency => may_be_on(train, mode, closed)?,
        Mode::Holding => HeldOn::default(),
    };
    let actuators = effect(&state, mode, Supply::Exhausted).actuators;
    Ok(idle(actuators, &held_on))
}

/// Those that do not do their work.
fn idle(actuators: Vec<ActuatorEffect>, held_on: &HeldOn) -> BTreeSet<Actuator> {
    let out = actuators
        .into_iter()
        .filter(|actuator| actuator.availability != Availability::Available)
        .map(|actuator| Actuator {
            car: actuator.car,
            car_number: actuator.car_number,
            position: actuator.position,
            axle: actuator.axle,
            does: actuator.availability,
            may_drag: actuator.applied_by == AppliedBy::Air && held_on.has(actuator.node),
        });
    out.collect()
}

/// The load sensors that nothing reaches once stored air is used up.
fn signals_lost(
    train: &TrainCircuit,
    closed: &[Impaired],
) -> Result<BTreeSet<(CarNumber, PositionCode)>, Missing> {
    let state = train.impaired(closed)?;
    let delivery = Delivery::new(&state, Modes::of(Mode::Service), Air::FromSources);
    let lost = lost_signals(train, &delivery).into_iter();
    Ok(lost.map(|one| (one.car_number, one.position)).collect())
}

/// What another description changes, by position.
pub fn takes_otherwise(
    before: &BTreeMap<Closed, Takes>,
    after: &BTreeMap<Closed, Takes>,
) -> Vec<TakesOtherwise> {
    let by_position = |all: &BTreeMap<Closed, Takes>| -> BTreeMap<PositionCode, _> {
        let all = all.iter();
        all.map(|((position, state), takes)| (position.clone(), (*state, takes.clone())))
            .collect()
    };
    let (before, after) = (by_position(before), by_position(after));
    let all: BTreeSet<&PositionCode> = before.keys().chain(after.keys()).collect();
    all.into_iter()
        .map(|position| TakesOtherwise {
            position: position.clone(),
            before: before.get(position).cloned(),
            after: after.get(position).cloned(),
        })
        .filter(|one| one.before != one.after)
        .collect()
}
