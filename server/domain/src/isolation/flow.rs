//! What flows where in one car of a train in a mode, what is lost there, and why: what the
//! drawing of its circuit shows.

use super::Supply;
use super::cause::{Cause, CauseKind, Reached, Trail, cause, causes_at, trails};
use super::effect::{ActuatorEffect, Availability, Effect, effect};
use super::losses::commanded;
use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::delivers::{Air, Delivering, Delivery};
use crate::circuit::sets::{Media, Modes};
use crate::circuit::state::{Impaired, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::circuit::{Line, Medium, Mode, Place};
use crate::identity::CarNumber;
use crate::worked::Missing;
use serde::Serialize;
use std::collections::{BTreeMap, VecDeque};

/// What a line or place does, against what it would do in the sound train.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Flowing {
    /// Nothing in this mode, and the same in the sound train.
    AtRest,
    /// It delivers, carries, brakes or holds.
    Flows,
    /// It drags: a spring presses while running.
    Drags,
    /// It does not, and would in the sound train.
    Lost,
}

/// A place of the car.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PlaceFlow {
    /// What it does.
    pub flowing: Flowing,
    /// What it lacks, of what it delivers in the sound train. Empty for an actuator, which
    /// delivers nothing.
    pub lacks: Vec<Medium>,
    /// What is the matter at the place itself.
    pub matter: Vec<CauseKind>,
    /// Why it is lost or drags; nothing where it is neither.
    pub why: Vec<Cause>,
}

/// A line of the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LineFlow {
    /// What it does.
    pub flowing: Flowing,
    /// Whether what it brings comes by it first. Of a pipe that flows both ways, the line of
    /// which this is so tells from where it is fed.
    pub leads: bool,
}

/// What flows in one car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CarFlow {
    /// The car from which the mode is commanded; none in holding.
    pub from: Option<CarNumber>,
    /// The effect on the whole train.
    pub effect: Effect,
    /// Every position and port of the car's circuit.
    pub places: BTreeMap<Place, PlaceFlow>,
    /// The lines of the car type's circuit, in its order.
    pub lines: Vec<LineFlow>,
}

/// What flows in one car of a train in a mode, commanded from the foremost place. Linear in
/// nodes and lines of the train, and again for each impairment.
pub fn car_flow(
    train: &TrainCircuit,
    impaired: &[Impaired],
    (mode, supply): (Mode, Supply),
    car: usize,
) -> Result<CarFlow, Missing> {
    let (from, commanded) = match mode {
        Mode::Service | Mode::Emergency => {
            let place = train.command_places(mode).first().copied();
            let from = place.map(|place| train.cars()[place].number.clone());
            (from, commanded(train, mode)?)
        }
        Mode::Holding => (None, train.clone()),
    };
    let Some(placed) = commanded.cars().get(car) else {
        let of = format!("place {} of the train", car + 1);
        return Err(Missing::one("car", of));
    };
    let (state, sound) = (commanded.impaired(impaired)?, commanded.sound());
    let air = match supply {
        Supply::Now => Air::Stored,
        Supply::Exhausted => Air::FromSources,
    };
    let now = Delivery::new(&state, Modes::of(mode), air);
    let compared = Compared {
        steps: steps(&state, &now),
        reached: trails(state.marked(), &now, Trail::Dead),
        sound: Delivery::new(&sound, Modes::of(mode), air),
        state: &state,
        now,
        car,
    };
    let effect = effect(&state, mode, supply);
    let circuit = &placed.circuit.car_type().circuit;
    Ok(CarFlow {
        places: compared.places(&effect),
        lines: circuit.lines.iter().map(|l| compared.line(l)).collect(),
        from,
        effect,
    })
}

/// What flows now beside what flows in the sound train.
struct Compared<'a> {
    state: &'a TrainState<'a>,
    now: Delivery<'a>,
    sound: Delivery<'a>,
    reached: Reached,
    steps: Vec<Option<usize>>,
    car: usize,
}

impl Compared<'_> {
    fn places(&self, effect: &Effect) -> BTreeMap<Place, PlaceFlow> {
        let of_car = |actuator: &&ActuatorEffect| actuator.car == self.car;
        let actuators: BTreeMap<_, &ActuatorEffect> = effect
            .actuators
            .iter()
            .filter(of_car)
            .map(|actuator| (&actuator.position, actuator))
            .collect();
        let circuit = &self.state.train().cars()[self.car].circuit;
        let place = |place: &Place| {
            let node = self.state.train().node_at(self.car, place)?;
            let actuator = match place {
                Place::Position(position) => actuators.get(position),
                Place::Port { .. } => None,
            };
            let flow = match actuator {
                Some(actuator) => self.actuator(node, actuator),
                None => self.place(node),
            };
            Some((place.clone(), flow))
        };
        let nodes = circuit.nodes().iter();
        nodes.filter_map(|node| place(&node.place)).collect()
    }

    fn matter(&self, node: usize) -> Vec<CauseKind> {
        let causes = causes_at(self.state.marked(), node).into_iter();
        causes.map(|cause| cause.kind).collect()
    }

    fn actuator(&self, node: usize, actuator: &ActuatorEffect) -> PlaceFlow {
        PlaceFlow {
            flowing: match actuator.availability {
                Availability::Available => Flowing::Flows,
                Availability::Lost => Flowing::Lost,
                Availability::Dragging => Flowing::Drags,
            },
            lacks: Vec::new(),
            matter: self.matter(node),
            why: actuator.why.clone(),
        }
    }

    fn place(&self, node: usize) -> PlaceFlow {
        let sound = self.sound.media(node);
        let now = self.now.media(node).and(self.brought(node));
        let lacking = sound.without(now);
        let flowing = match (lacking.is_empty(), now.is_empty()) {
            (false, _) => Flowing::Lost,
            (true, false) => Flowing::Flows,
            (true, true) => Flowing::AtRest,
        };
        PlaceFlow {
            flowing,
            lacks: self.meant(node, lacking),
            matter: self.matter(node),
            why: match flowing {
                Flowing::Lost => self.why(node),
                _ => Vec::new(),
            },
        }
    }

    /// What the lines bring to a place that leads nowhere, such as a gauge that hangs on two pipes:
    /// it shows what comes, whatever is let out of the other pipe.
    fn brought(&self, node: usize) -> Media {
        let train = self.state.train();
        let ends = train.roles()[node] == Role::Pass && train.lines_from(node).is_empty();
        if !ends || self.state.marked().is_blocked(node) {
            return Media::NONE;
        }
        let lines = train.cars()[self.car]
            .circuit
            .car_type()
            .circuit
            .lines
            .iter();
        let into = lines.filter(|line| train.node_at(self.car, &line.to) == Some(node));
        into.filter(|line| self.line(line).flowing == Flowing::Flows)
            .fold(Media::NONE, |all, line| all.and(Media::of(line.medium)))
    }

    /// Of what a node lacks, what a line carries on or brings to it: a source or a valve makes
    /// whatever its lines carry.
    fn meant(&self, node: usize, lacking: Media) -> Vec<Medium> {
        let train = self.state.train();
        let out = train.lines_from(node).iter().map(|line| line.media);
        let carried = out.fold(Media::NONE, Media::and);
        let meant = if carried.is_empty() {
            lacking
        } else {
            carried.within(lacking)
        };
        if meant == Media::ALL {
            Vec::new()
        } else {
            meant.each().collect()
        }
    }

    fn why(&self, node: usize) -> Vec<Cause> {
        let mut causes = causes_at(self.state.marked(), node);
        for origin in self.reached.by(node) {
            causes.extend(causes_at(self.state.marked(), origin));
        }
        causes.sort_unstable();
        causes.dedup();
        if causes.is_empty() {
            causes.extend(cause(self.state.marked(), node, CauseKind::NothingFeedsIt));
        }
        causes
    }

    fn line(&self, line: &Line) -> LineFlow {
        let train = self.state.train();
        let ends = [&line.from, &line.to].map(|place| train.node_at(self.car, place));
        let [Some(from), Some(to)] = ends else {
            return LineFlow {
                flowing: Flowing::AtRest,
                leads: false,
            };
        };
        let media = Media::of(line.medium);
        let modes = match line.modes.as_slice() {
            [] => Modes::ALL,
            modes => Modes::of_each(modes),
        };
        let compiled = CompiledLine {
            from,
            to,
            input: 1,
            media,
            modes,
        };
        let flowing = match (
            carries(&self.now, &compiled),
            carries(&self.sound, &compiled),
        ) {
            (true, _) => Flowing::Flows,
            (false, true) => Flowing::Lost,
            (false, false) => Flowing::AtRest,
        };
        let leads = match (self.steps[from], self.steps[to]) {
            (Some(from), Some(to)) => from < to,
            (Some(_), None) => true,
            (None, _) => false,
        };
        LineFlow { flowing, leads }
    }
}

/// Whether a line brings something.
fn carries(delivery: &Delivery<'_>, line: &CompiledLine) -> bool {
    let carried = delivery.media(line.from).within(line.media);
    !carried.is_empty() && delivery.is_open(line)
}

/// How many lines away from where its air or demand begins each node is, breadth first; none
/// where nothing comes to it. Linear in nodes and lines.
fn steps(state: &TrainState<'_>, delivery: &Delivery<'_>) -> Vec<Option<usize>> {
    let train = state.train();
    let count = train.roles().len();
    let mut fed = vec![false; count];
    for node in 0..count {
        for line in train
            .lines_from(node)
            .iter()
            .filter(|l| carries(delivery, l))
        {
            fed[line.to] = true;
        }
    }
    let begins = |node: &usize| !fed[*node] && !delivery.media(*node).is_empty();
    let mut open: VecDeque<usize> = (0..count).filter(begins).collect();
    let mut steps = vec![None; count];
    for node in &open {
        steps[*node] = Some(0);
    }
    while let Some(node) = open.pop_front() {
        let next = steps[node].map(|step| step + 1);
        for line in train
            .lines_from(node)
            .iter()
            .filter(|l| carries(delivery, l))
        {
            if steps[line.to].is_none() {
                steps[line.to] = next;
                open.push_back(line.to);
            }
        }
    }
    steps
}
