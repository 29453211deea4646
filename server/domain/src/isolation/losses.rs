//! What supposed impairments take from a train, braked weight and other functions, for several
//! hundred suppositions in one evaluation.

use super::Supply;
use super::slide_protection::unprotected_axles;
use super::weights::{ActuatorWeight, Assessed, governing, weights};
use crate::circuit::Mode;
use crate::circuit::compiled::Role;
use crate::circuit::delivers::Air;
use crate::circuit::scenarios::{Asked, LANES, Lanes, Scenarios};
use crate::circuit::sets::{Impairments, Modes};
use crate::circuit::state::Impaired;
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::{BrakePosition, LoadState, PositionKind};
use crate::units::Kilograms;
use crate::words::word_list;
use crate::worked::{Missing, MissingFact};
use serde::Serialize;

word_list! {
    /// What a train can lose besides braked weight.
    Function, "function" {
        /// Brakes that apply in emergency and no longer in service.
        ServiceBrake = "service_brake",
        /// Spring-applied brakes that stay released while running.
        RunningFree = "running_free",
        /// Spring-applied brakes that hold the standing train.
        Holding = "holding",
        /// Signals of the load to the brake control.
        LoadSignal = "load_signal",
        /// Axles protected against sliding.
        SlideProtection = "slide_protection",
        /// Levelling valves of the air suspension.
        Suspension = "suspension",
        /// Compressors whose air reaches anything.
        AirSupply = "air_supply",
    }
}

/// How much of a function is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct FunctionLoss {
    /// The function.
    pub function: Function,
    /// How many of what it counts are lost.
    pub lost: u32,
}

/// What is lost beyond what was lost before.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Losses {
    /// Braked weight lost in emergency at once, while stored air lasts.
    pub at_once: Kilograms,
    /// Braked weight lost in emergency once stored air is used up.
    pub later: Kilograms,
    /// What else is lost once stored air is used up; only what is.
    pub functions: Vec<FunctionLoss>,
}

impl Losses {
    /// How many things besides braked weight are lost.
    pub fn functions_lost(&self) -> u32 {
        self.functions.iter().map(|loss| loss.lost).sum()
    }

    /// Whether nothing is lost.
    pub fn is_nothing(&self) -> bool {
        self.later.0 == 0 && self.at_once.0 == 0 && self.functions.is_empty()
    }
}

/// A node and what is the matter with it.
pub(crate) type Fault = (usize, Impairments);

/// What is the matter beyond what was.
#[derive(Debug)]
pub(crate) struct More {
    /// In the circuit.
    pub(crate) faults: Vec<Fault>,
    /// The positions that are impaired themselves, of which slide protection is a matter.
    pub(crate) impaired: Vec<Impaired>,
}

/// A train made ready to be judged in many states. Its places of command are the foremost.
#[derive(Debug)]
pub(crate) struct Judge<'t> {
    train: &'t TrainCircuit,
    service: TrainCircuit,
    emergency: TrainCircuit,
    weights: Vec<Weighed>,
}

/// A braked weight with what becomes of it without its load signals.
#[derive(Debug)]
struct Weighed {
    weight: ActuatorWeight,
    sensors: Vec<usize>,
    /// Without a load signal, at once and later.
    unsignalled: [Result<Kilograms, MissingFact>; 2],
}

impl<'t> Judge<'t> {
    /// Prepares a train. Linear in nodes, lines and assessed values.
    pub(crate) fn new(
        train: &'t TrainCircuit,
        brake_position: BrakePosition,
        load: LoadState,
    ) -> Result<Self, Missing> {
        let case = Assessed {
            brake_position,
            load,
        };
        let mut missing = Vec::new();
        let weights = weights(train, case, &mut missing);
        Missing::unless_none(missing)?;
        let weighed = |weight: ActuatorWeight| Weighed {
            weight,
            sensors: governing(train, weight.node).collect(),
            unsignalled: [Supply::Now, Supply::Exhausted]
                .map(|supply| weight.unsignalled(train, case, supply)),
        };
        Ok(Self {
            train,
            service: commanded(train, Mode::Service)?,
            emergency: commanded(train, Mode::Emergency)?,
            weights: weights.into_iter().map(weighed).collect(),
        })
    }

    /// The faults that impairments are in the circuit; those outside it are left out.
    pub(crate) fn faults(&self, impaired: &[Impaired]) -> Vec<Fault> {
        let fault = |one: &Impaired| {
            let node = self.train.node(one.car, &one.position)?;
            Some((node, self.train.impairments(node, one.by)))
        };
        impaired.iter().filter_map(fault).collect()
    }

    /// Whether a failure of a node can change the braked weight: whether anything leads from it
    /// to an actuator or a load sensor.
    pub(crate) fn can_matter(&self) -> Vec<bool> {
        let roles = self.train.roles();
        let mut matters = vec![false; roles.len()];
        for (node, role) in roles.iter().enumerate() {
            let sensor = self.train.kind(node) == Some(PositionKind::LoadSensor);
            matters[node] = sensor || *role == Role::AirApplied;
        }
        let mut changed = true;
        while changed {
            changed = false;
            for node in (0..roles.len()).rev() {
                let leads = |to: usize| matters[to];
                let mut lines = self.train.lines_from(node).iter();
                if !matters[node] && lines.any(|line| leads(line.to)) {
                    matters[node] = true;
                    changed = true;
                }
            }
        }
        matters
    }

    /// The braked weight left in emergency, at once and later, with each of up to [`LANES`]
    /// sets of further faults. Linear in slots and lines.
    pub(crate) fn left(&self, base: &[Fault], more: &[&[Fault]]) -> Result<Vec<Left>, Missing> {
        let scenarios = scenarios(&self.emergency, base, more);
        let lanes = Lanes::first(more.len());
        let at_once = self.weight_left(&scenarios, lanes, Supply::Now);
        let later = self.weight_left(&scenarios, lanes, Supply::Exhausted);
        let pairs = at_once?.into_iter().zip(later?);
        Ok(pairs
            .take(more.len())
            .map(|(at_once, later)| Left { at_once, later })
            .collect())
    }

    fn weight_left(
        &self,
        scenarios: &Scenarios<'_>,
        lanes: Lanes,
        supply: Supply,
    ) -> Result<Vec<Kilograms>, Missing> {
        let (unsignalled, air) = match supply {
            Supply::Now => (0, Air::Stored),
            Supply::Exhausted => (1, Air::FromSources),
        };
        let delivery = scenarios.delivery(Asked::all(Modes::of(Mode::Emergency), air));
        let signalled = self.weights.iter().map(|weighed| weighed.weight.signalled);
        let total: Kilograms = signalled.sum();
        let mut left = vec![total; LANES];
        let mut missing: Vec<MissingFact> = Vec::new();
        for weighed in &self.weights {
            let weight = &weighed.weight;
            let applies = scenarios.applies(&delivery, weight.node).within(lanes);
            let signalled = weighed
                .sensors
                .iter()
                .fold(Lanes::ALL, |all, sensor| all.within(delivery.of(*sensor)));
            for lane in lanes.without(applies).each() {
                left[lane] = left[lane] - weight.signalled;
            }
            let without = applies.without(signalled);
            match &weighed.unsignalled[unsignalled] {
                _ if without.is_empty() => {}
                Ok(less) => {
                    for lane in without.each() {
                        left[lane] = left[lane] - weight.signalled + *less;
                    }
                }
                Err(fact) => missing.push(fact.clone()),
            }
        }
        missing.dedup();
        if missing.is_empty() {
            Ok(left)
        } else {
            Err(Missing(missing))
        }
    }

    /// What each set of further impairments takes away. Linear in slots and lines for every
    /// [`LANES`] sets.
    pub(crate) fn losses(
        &self,
        base: &[Impaired],
        more: &[Vec<Impaired>],
    ) -> Result<Vec<Losses>, Missing> {
        let of = |impaired: &Vec<Impaired>| More {
            faults: self.faults(impaired),
            impaired: impaired.clone(),
        };
        self.losses_of(base, &more.iter().map(of).collect::<Vec<_>>())
    }

    /// The same of what is the matter in the circuit, whatever brought it about.
    pub(crate) fn losses_of(
        &self,
        base: &[Impaired],
        more: &[More],
    ) -> Result<Vec<Losses>, Missing> {
        let base_faults = self.faults(base);
        let mut losses = Vec::with_capacity(more.len());
        for block in more.chunks(LANES - 1) {
            let mut lanes: Vec<&[Fault]> = vec![&[]];
            lanes.extend(block.iter().map(|more| more.faults.as_slice()));
            let left = self.left(&base_faults, &lanes)?;
            let functions = self.functions(&base_faults, &lanes);
            let axles = unprotected_axles(self.train, base).len();
            for (lane, more) in block.iter().enumerate() {
                let all = [base, more.impaired.as_slice()].concat();
                let slide = unprotected_axles(self.train, &all).len() - axles;
                let mut functions = lost_functions(&functions, lane + 1);
                if slide > 0 {
                    functions.push(FunctionLoss {
                        function: Function::SlideProtection,
                        lost: u32::try_from(slide).unwrap_or(u32::MAX),
                    });
                }
                losses.push(Losses {
                    at_once: left[0].at_once - left[lane + 1].at_once,
                    later: left[0].later - left[lane + 1].later,
                    functions,
                });
            }
        }
        Ok(losses)
    }

    /// For each function, where each of what it counts is there.
    fn functions(&self, base: &[Fault], more: &[&[Fault]]) -> Vec<(Function, Vec<Lanes>)> {
        let service = scenarios(&self.service, base, more);
        let emergency = scenarios(&self.emergency, base, more);
        let standing = scenarios(self.train, base, more);
        let serving = service.delivery(Asked::all(Modes::of(Mode::Service), Air::FromSources));
        let stopping = emergency.delivery(Asked::all(Modes::of(Mode::Emergency), Air::FromSources));
        let holding = standing.delivery(Asked::all(Modes::of(Mode::Holding), Air::Retained));
        let each = |of: &dyn Fn(usize) -> Option<Lanes>| -> Vec<Lanes> {
            (0..self.train.roles().len()).filter_map(of).collect()
        };
        let spring = |node: usize| matches!(self.train.roles()[node], Role::SpringApplied(_));
        let of_kind = |node: usize, kind| self.train.kind(node) == Some(kind);
        let served = each(&|node| {
            (self.train.roles()[node] == Role::AirApplied).then(|| {
                let stops = emergency.applies(&stopping, node);
                service
                    .applies(&serving, node)
                    .and(Lanes::ALL.without(stops))
            })
        });
        let released = each(&|node| {
            spring(node).then(|| {
                let (drags, _) = service.without_and_with_air(&serving, node);
                Lanes::ALL.without(drags)
            })
        });
        let holds =
            each(&|node| spring(node).then(|| standing.without_and_with_air(&holding, node).0));
        let delivering = |kind| each(&|node| of_kind(node, kind).then(|| serving.of(node)));
        let supplying =
            each(&|node| of_kind(node, PositionKind::Compressor).then(|| standing.feeds(node)));
        vec![
            (Function::ServiceBrake, served),
            (Function::RunningFree, released),
            (Function::Holding, holds),
            (Function::LoadSignal, delivering(PositionKind::LoadSensor)),
            (
                Function::Suspension,
                delivering(PositionKind::LevellingValve),
            ),
            (Function::AirSupply, supplying),
        ]
    }
}

/// The braked weight left.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Left {
    pub(crate) at_once: Kilograms,
    pub(crate) later: Kilograms,
}

/// How many of each function were there in the first lane and are not in this one.
fn lost_functions(functions: &[(Function, Vec<Lanes>)], lane: usize) -> Vec<FunctionLoss> {
    let lost = |there: &&Lanes| there.has(0) && !there.has(lane);
    functions
        .iter()
        .map(|(function, each)| FunctionLoss {
            function: *function,
            lost: u32::try_from(each.iter().filter(lost).count()).unwrap_or(u32::MAX),
        })
        .filter(|loss| loss.lost > 0)
        .collect()
}

/// Scenarios with some faults in all of them and others in one each.
pub(crate) fn scenarios<'t>(
    train: &'t TrainCircuit,
    base: &[Fault],
    more: &[&[Fault]],
) -> Scenarios<'t> {
    let base = base.iter().map(|(node, with)| (Lanes::ALL, *node, *with));
    let more = more.iter().enumerate().flat_map(|(lane, faults)| {
        let lane = Lanes::one(lane);
        faults.iter().map(move |(node, with)| (lane, *node, *with))
    });
    Scenarios::new(train, base.chain(more))
}

/// The train commanded from the foremost car that can command a mode.
pub(crate) fn commanded(train: &TrainCircuit, mode: Mode) -> Result<TrainCircuit, Missing> {
    let place = train.command_places(mode).first().copied();
    place
        .map(|place| train.commanded_from(place))
        .ok_or_else(|| {
            Missing::one(
                format!("a place of command for {mode} braking"),
                "the train",
            )
        })
}
