//! What to close so that a component is without pressure: every minimal set of cocks, with what
//! stays charged and where it is drained. Where a set leaves a reservoir to be drained, the sets
//! that keep its air off as well are found too, for that air is still good for other brakes.

mod cuts;
mod pipes;
mod pressure;
mod section;

use super::CutOutState;
use super::losses::{Judge, Losses};
use crate::circuit::Behaviour;
use crate::circuit::compiled::Role;
use crate::circuit::delivers::Air;
use crate::circuit::sets::Media;
use crate::circuit::state::{Impaired, Impairment, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::{BrakePosition, LoadState};
use crate::identity::{CarNumber, PositionCode};
use crate::worked::Missing;
pub(crate) use pipes::{behaviour, drains_of, is_cock, is_plain_pipe};
use pressure::{Pressure, Reservoirs};
use section::Sections;
pub use section::{DeadSection, Side};
use serde::Serialize;

/// A position of a car in its place in the train.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Spot {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The position.
    pub position: PositionCode,
}

impl Spot {
    /// The position of a node; none of a port.
    pub(crate) fn of(train: &TrainCircuit, node: usize) -> Option<Self> {
        let (car, position) = train.position_of(node)?;
        Some(Self {
            car,
            car_number: train.cars()[car].number.clone(),
            position: position.clone(),
        })
    }
}

/// A cock to be closed, and the state that leaves it in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ToClose {
    /// The cock.
    #[serde(flatten)]
    pub at: Spot,
    /// The state.
    pub state: CutOutState,
}

impl ToClose {
    fn impaired(&self) -> Impaired {
        impaired(&self.at, self.state)
    }
}

/// A reservoir that stays charged when the cocks are closed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChargedReservoir {
    /// The reservoir.
    #[serde(flatten)]
    pub at: Spot,
    /// Its volume in litres.
    pub volume_l: u32,
    /// Where it is drained; nowhere, where the circuit has no drain cock on it.
    pub drains: Vec<Spot>,
    /// What becomes of its air.
    pub air: ChargedAir,
}

/// What becomes of the air in a reservoir that is cut off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ChargedAir {
    /// A cock of the set lets it out.
    LetOutByTheCock,
    /// It must be drained before work.
    ToBeDrained,
    /// It cannot be drained, and only a valve without command keeps it back.
    HeldByAValve,
}

/// A set of cocks that keeps air from the component.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ClosingSet {
    /// The cocks, in the order of the train.
    pub cocks: Vec<ToClose>,
    /// The sources of air that are switched off and secured besides.
    pub off: Vec<ToClose>,
    /// What it takes from the train, reservoirs drained.
    pub losses: Losses,
    /// The reservoirs that stay charged on the side of the component.
    pub charged: Vec<ChargedReservoir>,
    /// The pipe at each side of the component: where it is drained and proved to be without
    /// pressure. Each has to be proved.
    pub sections: Vec<DeadSection>,
    /// Valves that keep air back only because they have no command: no cock stands between
    /// them and the component.
    pub rests_on: Vec<Spot>,
}

/// The air that is left in a section of pipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PipeAir {
    /// Let out by a cock of the set.
    LetOut,
    /// It stays in the pipe.
    Stays,
}

impl ClosingSet {
    /// Whether reservoirs must be drained before work.
    pub fn drains(&self) -> bool {
        let mut charged = self.charged.iter();
        charged.any(|one| one.air == ChargedAir::ToBeDrained)
    }

    /// The state of the train that the set leads to, beyond what it was: cocks closed and
    /// reservoirs emptied.
    pub fn impaired(&self) -> Vec<Impaired> {
        let charged = self.charged.iter();
        let emptied = charged
            .filter(|reservoir| reservoir.air == ChargedAir::ToBeDrained)
            .map(|reservoir| impaired(&reservoir.at, CutOutState::ClosedVented));
        self.closed().into_iter().chain(emptied).collect()
    }

    /// The same with no reservoir emptied yet.
    pub fn closed(&self) -> Vec<Impaired> {
        let all = self.cocks.iter().chain(&self.off);
        all.map(ToClose::impaired).collect()
    }
}

fn impaired(at: &Spot, state: CutOutState) -> Impaired {
    Impaired {
        car: at.car,
        position: at.position.clone(),
        by: Impairment::CutOut(state),
    }
}

/// Every minimal set of cocks that keeps air from a component.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Closing {
    /// The component's position.
    pub component: Spot,
    /// Whether any air comes to it or from it. What has none is switched off, and no cock matters.
    pub carries_air: bool,
    /// Whether it makes pressure of itself and must be switched off besides.
    pub makes_pressure: bool,
    /// Where no set of cocks keeps air from it by itself: the sources of air with no cock between
    /// that are switched off besides, for the sets that there are then.
    pub without_cock: Vec<Spot>,
    /// Where there is no set at all: the reservoirs that are to be emptied, and where.
    pub to_empty: Vec<ChargedReservoir>,
    /// The sets, that which takes the least first. Of two of them one may hold more cocks than the
    /// other, so that no reservoir is to be drained.
    pub sets: Vec<ClosingSet>,
    /// Where not all sets are listed: up to how many cocks in a set they all are.
    pub complete_to: Option<usize>,
    /// Where not all sets that need no reservoir drained are listed: up to how many cocks in a set
    /// they all are.
    pub sparing_complete_to: Option<usize>,
}

impl Closing {
    /// The same with what the sets take from a train of which less counts than is recorded. What is closed
    /// and drained for work stays as it is: whoever works there counts on air all the same.
    pub(crate) fn taking_from(
        mut self,
        train: &TrainCircuit,
        counted: &[Impaired],
        case: (BrakePosition, LoadState),
    ) -> Result<Self, Missing> {
        rank(train, counted, &mut self.sets, case)?;
        Ok(self)
    }

    /// Whether nothing but stored air presses at the component as the train stands: one of the
    /// sets then has no cock and drains it.
    pub fn only_drains(&self) -> bool {
        let mut sets = self.sets.iter();
        sets.any(|set| set.cocks.is_empty() && !set.charged.is_empty())
    }
}

/// Every minimal set of cocks that keeps from a component the air that is fed, and where one of
/// them leaves a reservoir to be drained, every minimal set that keeps stored air off too. They are
/// ranked by the braked weight lost once stored air is used up, then at once, then by other
/// functions lost, then by the number of cocks. Cocks that stand closed are taken as closed. A source of air is asked about with itself
/// switched off; where one has no cock between, the sets are those with it switched off besides.
pub fn closing(
    train: &TrainCircuit,
    standing: &[Impaired],
    component: (usize, &PositionCode),
    case: (BrakePosition, LoadState),
) -> Result<Closing, Missing> {
    train.impaired(standing)?;
    let target = train
        .node(component.0, component.1)
        .ok_or_else(|| not_in_circuit(train, component))?;
    let makes_pressure = makes_air(train, target);
    let mut pressure = Pressure::new(train, target, (standing, &[]));
    let mut found = cuts::all_cuts(&pressure);
    let mut off: Vec<usize> = Vec::new();
    if found.sets.is_empty() {
        let near = pressure.upstream(&pressure.cocks);
        let nodes = (0..near.len()).filter(|node| *node != target && near[*node]);
        off = nodes.filter(|node| makes_air(train, *node)).collect();
        if !off.is_empty() {
            pressure = Pressure::new(train, target, (standing, &off));
            found = cuts::all_cuts(&pressure);
        }
    }
    let without_cock = off.iter().filter_map(|node| Spot::of(train, *node));
    let without_cock = without_cock.collect();
    off.extend(makes_pressure.then_some(target));
    let sections = Sections::new(train, standing);
    let mut sets = Vec::new();
    for shut in &found.sets {
        let place = (target, shut.as_slice(), off.as_slice());
        sets.push(set(&sections, standing, &pressure, place)?);
    }
    let to_empty = if sets.is_empty() {
        let impaired: Vec<Impaired> = off_of(train, &off).iter().map(ToClose::impaired).collect();
        let state = train.impaired(&[standing, &impaired].concat())?;
        charged(&state, &pressure, &pressure.cocks, Fed::Too)
    } else {
        Vec::new()
    };
    rank(train, standing, &mut sets, case)?;
    let component = Spot::of(train, target).ok_or_else(|| not_in_circuit(train, component))?;
    Ok(Closing {
        component,
        carries_air: sections.carries_air(target),
        makes_pressure,
        without_cock,
        to_empty,
        sets,
        complete_to: found.complete_to,
        sparing_complete_to: found.sparing_complete_to,
    })
}

/// Tells what each set takes from a train as it stands, and ranks them by that.
fn rank(
    train: &TrainCircuit,
    standing: &[Impaired],
    sets: &mut [ClosingSet],
    (brake_position, load): (BrakePosition, LoadState),
) -> Result<(), Missing> {
    let judge = Judge::new(train, brake_position, load)?;
    let states: Vec<Vec<Impaired>> = sets.iter().map(ClosingSet::impaired).collect();
    for (set, losses) in sets.iter_mut().zip(judge.losses(standing, &states)?) {
        set.losses = losses;
    }
    sets.sort_by_key(|set| {
        let losses = &set.losses;
        let functions = losses.functions_lost();
        (losses.later, losses.at_once, functions, set.cocks.len())
    });
    Ok(())
}

/// What is missing where a position has no place in the circuit.
pub(crate) fn not_in_circuit(
    train: &TrainCircuit,
    (car, position): (usize, &PositionCode),
) -> Missing {
    let of = train.cars().get(car).map_or_else(
        || format!("place {} of the train", car + 1),
        |car| {
            let car_type = car.circuit.car_type();
            format!("car type {} revision {}", car_type.name, car_type.revision)
        },
    );
    Missing::one(format!("position {position} in the circuit"), of)
}

fn set(
    sections: &Sections<'_>,
    standing: &[Impaired],
    pressure: &Pressure,
    (target, shut, off): (usize, &[usize], &[usize]),
) -> Result<ClosingSet, Missing> {
    let train = sections.train();
    let cocks: Vec<ToClose> = shut
        .iter()
        .filter_map(|node| to_close(train, *node))
        .collect();
    let mut set = ClosingSet {
        cocks,
        off: off_of(train, off),
        losses: Losses::default(),
        charged: Vec::new(),
        sections: Vec::new(),
        rests_on: pressure
            .rests_on(shut)
            .into_iter()
            .filter_map(|node| Spot::of(train, node))
            .collect(),
    };
    let impaired = [standing, &set.impaired()].concat();
    let state = train.impaired(&impaired)?;
    set.charged = charged(&state, pressure, shut, Fed::Not);
    set.sections = sections.around(&state, target, shut);
    Ok(set)
}

fn to_close(train: &TrainCircuit, node: usize) -> Option<ToClose> {
    Some(ToClose {
        at: Spot::of(train, node)?,
        state: CutOutState::usual_of(train.kind(node)?, behaviour(train, node)?),
    })
}

/// Whether a position is a source of air. Others make demands, which no cock keeps off.
fn makes_air(train: &TrainCircuit, node: usize) -> bool {
    let mut lines = train.lines_from(node).iter();
    matches!(train.roles()[node], Role::Source(_))
        && lines.any(|line| !line.media.within(Media::AIR).is_empty())
}

fn off_of(train: &TrainCircuit, off: &[usize]) -> Vec<ToClose> {
    let spots = off.iter().filter_map(|node| Spot::of(train, *node));
    let state = CutOutState::ElectricallyOff;
    spots.map(|at| ToClose { at, state }).collect()
}

/// Whether reservoirs are told of that a source feeds still.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fed {
    Not,
    Too,
}

/// The reservoirs joined to the component, without those that a source feeds still or with them.
fn charged(
    state: &TrainState<'_>,
    pressure: &Pressure,
    shut: &[usize],
    told: Fed,
) -> Vec<ChargedReservoir> {
    let train = state.train();
    let near = pressure.upstream(shut);
    let fed = pressure.pressing(shut, Reservoirs::Empty);
    let joined = pressure.drains.iter().filter(|(reservoir, _)| {
        let fed = !fed.media[*reservoir].within(Media::STORED).is_empty();
        near[*reservoir] && (told == Fed::Too || !fed)
    });
    let charged = |(reservoir, drains): &(usize, Vec<usize>)| {
        let Some(Behaviour::Reservoir { volume_l }) = behaviour(train, *reservoir) else {
            return None;
        };
        let air = if !state.emptied(*reservoir, Air::Retained).is_empty() {
            ChargedAir::LetOutByTheCock
        } else if drains.is_empty() {
            ChargedAir::HeldByAValve
        } else {
            ChargedAir::ToBeDrained
        };
        let drains = drains.iter().filter_map(|node| Spot::of(train, *node));
        Some(ChargedReservoir {
            at: Spot::of(train, *reservoir)?,
            volume_l: *volume_l,
            drains: drains.collect(),
            air,
        })
    };
    joined.filter_map(charged).collect()
}
