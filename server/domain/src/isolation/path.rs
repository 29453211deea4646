//! The path of air or demand: the positions passed in order, from its source to any position.

use super::cause::{Cause, causes_at};
use super::closing::not_in_circuit;
use super::losses::commanded;
use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::delivers::{Air, Delivering, Delivery};
use crate::circuit::sets::{Media, Modes};
use crate::circuit::state::{Impaired, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::circuit::{Medium, Mode, Place};
use crate::identity::{CarNumber, PositionCode};
use crate::words::word_list;
use crate::worked::Missing;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

word_list! {
    /// What reaches a position.
    Reached, "reach of a position" {
        /// A source feeds it.
        FromSource = "from_source",
        /// Only air that was stored before reaches it.
        FromStoredAir = "from_stored_air",
        /// Nothing reaches it as the train is; the path is that of the sound train.
        Interrupted = "interrupted",
        /// Nothing reaches it in this mode even in the sound train.
        Never = "never",
    }
}

/// One place on a path.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stop {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The position, or the end of the car that is crossed.
    pub place: Place,
    /// Whether it delivers as the train is.
    pub delivers: Delivers,
    /// What is the matter there.
    pub matter: Vec<Cause>,
}

/// Whether a place delivers as the train is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Delivers {
    /// It does.
    Yes,
    /// It does not.
    No,
}

/// A part of a path without a valve that needs more than one input.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Leg {
    /// What flows into its last stop; none where that is itself the source.
    pub medium: Option<Medium>,
    /// The input of the valve that it ends at; none at the position asked for.
    pub input: Option<String>,
    /// From a source, a reservoir or a valve to a valve or the position asked for.
    pub stops: Vec<Stop>,
}

/// The path to a position.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Path {
    /// The mode.
    pub mode: Mode,
    /// What reaches the position.
    pub reached: Reached,
    /// The parts of the path, each after those that feed it.
    pub legs: Vec<Leg>,
}

/// The path by which a position is fed in a mode, commanded from the foremost place. Of several
/// ways the shortest is given. Linear in nodes and lines.
pub fn path(
    train: &TrainCircuit,
    standing: &[Impaired],
    mode: Mode,
    (car, position): (usize, &PositionCode),
) -> Result<Path, Missing> {
    let target = train
        .node(car, position)
        .ok_or_else(|| not_in_circuit(train, (car, position)))?;
    let commanded = match mode {
        Mode::Service | Mode::Emergency => commanded(train, mode)?,
        Mode::Holding => train.clone(),
    };
    let state = commanded.impaired(standing)?;
    let sound = commanded.sound();
    let tries = [
        (&state, Air::FromSources, Reached::FromSource),
        (&state, Air::Stored, Reached::FromStoredAir),
        (&sound, Air::FromSources, Reached::Interrupted),
        (&sound, Air::Stored, Reached::Interrupted),
    ];
    let delivers = Delivery::new(&state, Modes::of(mode), Air::Stored);
    for (state_of_path, air, reached) in tries {
        let trace = Trace::new(state_of_path, Modes::of(mode), air);
        if !trace.delivery.media(target).is_empty() {
            let legs = Legs {
                state: &state,
                delivers: &delivers,
                trace: &trace,
                parts: Vec::new(),
                seen: BTreeSet::new(),
            };
            return Ok(Path {
                mode,
                reached,
                legs: legs.to(target),
            });
        }
    }
    Ok(Path {
        mode,
        reached: Reached::Never,
        legs: Vec::new(),
    })
}

/// A line by which a node was first reached, with what came by it.
type Came = (CompiledLine, Media);

/// What of a node is reached by one line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum By {
    /// What a pipe carries of one medium.
    Medium(Medium),
    /// An input of a valve that needs several.
    Input(u32),
    /// The whole of any other node.
    Whole,
}

/// By which lines each node is first reached, breadth first.
struct Trace<'s> {
    delivery: Delivery<'s>,
    came: BTreeMap<(usize, By), Came>,
}

impl<'s> Trace<'s> {
    fn new(state: &'s TrainState<'s>, modes: Modes, air: Air) -> Self {
        let train = state.train();
        let delivery = Delivery::new(state, modes, air);
        let mut came = BTreeMap::new();
        let mut reached = vec![Media::NONE; train.roles().len()];
        let mut filled = vec![0u32; train.roles().len()];
        let mut open: VecDeque<(usize, Media)> = VecDeque::new();
        for (node, role) in train.roles().iter().enumerate() {
            let begins = match role {
                Role::Source(_) => delivery.media(node),
                Role::Reservoir if air != Air::FromSources => {
                    delivery.media(node).within(Media::STORED)
                }
                _ => Media::NONE,
            };
            if !begins.is_empty() {
                reached[node] = begins;
                open.push_back((node, begins));
            }
        }
        while let Some((node, media)) = open.pop_front() {
            for line in train.lines_from(node) {
                let carried = media.within(line.media);
                if carried.is_empty() || !delivery.is_open(line) {
                    continue;
                }
                let new = brought(
                    &mut came,
                    &mut filled,
                    train.roles()[line.to],
                    (line, carried),
                );
                let new = new
                    .within(delivery.media(line.to))
                    .without(reached[line.to]);
                if !new.is_empty() {
                    reached[line.to] = reached[line.to].and(new);
                    open.push_back((line.to, new));
                }
            }
        }
        Self { delivery, came }
    }

    /// The lines by which what a node delivers of these media came to it.
    fn into(&self, node: usize, media: Media) -> Vec<Came> {
        let here = self
            .came
            .range((node, By::Medium(Medium::MainAir))..=(node, By::Whole));
        let of = |by: By| match by {
            By::Medium(medium) => !Media::of(medium).within(media).is_empty(),
            By::Input(_) | By::Whole => true,
        };
        here.filter(|((_, by), _)| of(*by))
            .map(|(_, came)| *came)
            .collect()
    }
}

/// What a line brings to a node of some role; the first line to bring it is kept.
fn brought(
    came: &mut BTreeMap<(usize, By), Came>,
    filled: &mut [u32],
    role: Role,
    (line, carried): (&CompiledLine, Media),
) -> Media {
    let to = line.to;
    match role {
        Role::Source(_) => Media::NONE,
        Role::AllOf(required) => {
            filled[to] |= line.input;
            came.entry((to, By::Input(line.input)))
                .or_insert((*line, carried));
            if filled[to] & required == required {
                Media::ALL
            } else {
                Media::NONE
            }
        }
        _ if role.is_pipe() => {
            for medium in carried.each() {
                let of = Media::of(medium);
                came.entry((to, By::Medium(medium))).or_insert((*line, of));
            }
            carried
        }
        _ => {
            came.entry((to, By::Whole)).or_insert((*line, carried));
            Media::ALL
        }
    }
}

/// The legs of a path being put together.
struct Legs<'a> {
    state: &'a TrainState<'a>,
    delivers: &'a Delivery<'a>,
    trace: &'a Trace<'a>,
    parts: Vec<Leg>,
    seen: BTreeSet<(usize, usize, u32)>,
}

impl Legs<'_> {
    fn to(mut self, target: usize) -> Vec<Leg> {
        let into = self.trace.into(target, Media::ALL);
        if into.is_empty() {
            return vec![Leg {
                medium: None,
                input: None,
                stops: self.stop(target).into_iter().collect(),
            }];
        }
        for came in into {
            self.leg(came);
        }
        self.parts
    }

    /// The leg that ends with a line, after the legs that feed it.
    fn leg(&mut self, (line, media): Came) {
        let train = self.state.train();
        if !self.seen.insert((line.from, line.to, line.input)) {
            return;
        }
        let mut nodes = vec![line.to, line.from];
        let (mut at, mut carried) = (line.from, media);
        while !matches!(train.roles()[at], Role::Source(_) | Role::AllOf(_)) {
            let Some((came, brought)) = self.trace.into(at, carried).first().copied() else {
                break;
            };
            (at, carried) = (came.from, brought);
            if nodes.contains(&at) {
                break;
            }
            nodes.push(at);
        }
        if matches!(train.roles()[at], Role::AllOf(_)) {
            for came in self.trace.into(at, Media::ALL) {
                self.leg(came);
            }
        }
        nodes.reverse();
        let stops = nodes
            .into_iter()
            .filter_map(|node| self.stop(node))
            .collect();
        self.parts.push(Leg {
            medium: media.each().next(),
            input: input_name(train, &line),
            stops,
        });
    }

    fn stop(&self, node: usize) -> Option<Stop> {
        let train = self.state.train();
        let (car, compiled) = train.of_node(node);
        Some(Stop {
            car,
            car_number: train.cars().get(car)?.number.clone(),
            place: compiled.place.clone(),
            delivers: if self.delivers.media(node).is_empty() {
                Delivers::No
            } else {
                Delivers::Yes
            },
            matter: causes_at(self.state.marked(), node),
        })
    }
}

/// The name of the input that a line joins, of a valve that needs several.
fn input_name(train: &TrainCircuit, line: &CompiledLine) -> Option<String> {
    if !matches!(train.roles()[line.to], Role::AllOf(_)) {
        return None;
    }
    let (car, to) = train.of_node(line.to);
    let (_, from) = train.of_node(line.from);
    let circuit = &train.cars().get(car)?.circuit.car_type().circuit;
    let mut lines = circuit.lines.iter();
    lines
        .find(|one| {
            one.from == from.place
                && one.to == to.place
                && !Media::of(one.medium).within(line.media).is_empty()
        })
        .map(|one| one.input.clone())
}
