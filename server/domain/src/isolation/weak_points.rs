//! Weak points of a formation: what every single failure takes away, and every pair.
//!
//! All failures are evaluated, several hundred scenarios at a time, by the same rules as a
//! single state; nothing is taken from one failure to another. A failure can only change the
//! braked weight where lines lead from it to an actuator or a load sensor, so pairs are made of
//! such failures.

use super::CutOutState;
use super::isolable::Isolable;
use super::losses::{Fault, Judge, Losses};
use crate::circuit::scenarios::LANES;
use crate::circuit::state::{Impaired, Impairment};
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::{BrakePosition, LoadState, Position};
use crate::identity::{CarNumber, PositionCode};
use crate::units::Kilograms;
use crate::worked::Missing;
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// The most pairs that an answer holds in each of its two orders.
pub const PAIRS_MAX: usize = 10_000;

/// The most failures of which pairs are made.
pub const FAILURES_IN_PAIRS_MAX: usize = 3_000;

/// A position that fails.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Failure {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The position.
    pub position: PositionCode,
    /// How: a cock is closed, everything else delivers nothing.
    pub state: CutOutState,
}

/// A failure and what it takes away.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WeakPoint {
    /// The failure.
    #[serde(flatten)]
    pub failure: Failure,
    /// What it takes.
    pub losses: Losses,
}

/// Two failures and what they take away together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct WeakPair {
    /// The one, as its place in the list of single failures.
    pub one: usize,
    /// The other.
    pub other: usize,
    /// Braked weight lost in emergency at once.
    pub at_once: Kilograms,
    /// Braked weight lost in emergency once stored air is used up.
    pub later: Kilograms,
    /// By how much that is more than the one and the other by themselves lose later.
    pub beyond_each: Kilograms,
}

/// The weak points of a formation.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct WeakPoints {
    /// Braked weight in emergency at once, as the train stands.
    pub at_once: Kilograms,
    /// The same once stored air is used up.
    pub later: Kilograms,
    /// Every single failure, the worst first.
    pub singles: Vec<WeakPoint>,
    /// The pairs.
    pub pairs: Pairs,
}

/// The pairs of failures of a formation.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Pairs {
    /// The failures of which none were made, by their place in the list of single failures: nothing
    /// leads from them to a brake or a load sensor, so that they take no braked weight beside another
    /// failure either.
    pub left_out: Vec<usize>,
    /// How many were evaluated; none where there are more failures than
    /// [`FAILURES_IN_PAIRS_MAX`].
    pub evaluated: usize,
    /// How many of them take braked weight.
    pub that_take: usize,
    /// How many take more than their two failures by themselves.
    pub that_take_beyond_each: usize,
    /// Those that take braked weight, the worst first, at most [`PAIRS_MAX`].
    pub worst: Vec<WeakPair>,
    /// Those that take more than each by itself, the greatest difference first, at most
    /// [`PAIRS_MAX`].
    pub hidden: Vec<WeakPair>,
}

/// Every single failure and every pair, ranked by the braked weight lost once stored air is used
/// up, then by that lost at once. The time for pairs is that of nodes and lines for every 512 of
/// them.
pub fn weak_points(
    train: &TrainCircuit,
    standing: &[Impaired],
    brake_position: BrakePosition,
    load: LoadState,
) -> Result<WeakPoints, Missing> {
    train.impaired(standing)?;
    let judge = Judge::new(train, brake_position, load)?;
    let mut singles = singles(train, &judge, standing)?;
    singles.sort_by_key(|single| {
        let losses = &single.losses;
        let functions = losses.functions_lost();
        (
            Reverse((losses.later, losses.at_once, functions)),
            single.failure.car,
        )
    });
    let base = judge.faults(standing);
    let left = judge.left(&base, &[&[]])?;
    let left = left
        .first()
        .copied()
        .ok_or_else(|| Missing::one("cars", "the train"))?;
    let pairs = pairs(train, &judge, &base, &singles)?;
    Ok(WeakPoints {
        at_once: left.at_once,
        later: left.later,
        singles,
        pairs,
    })
}

fn singles(
    train: &TrainCircuit,
    judge: &Judge<'_>,
    standing: &[Impaired],
) -> Result<Vec<WeakPoint>, Missing> {
    let mut failures = Vec::new();
    for (place, car) in train.cars().iter().enumerate() {
        let stands = |failure: &Failure| {
            let at = |one: &Impaired| one.car == place && one.position == failure.position;
            standing.iter().any(at)
        };
        failures.extend(failures_of(place, car).filter(|failure| !stands(failure)));
    }
    let sets: Vec<Vec<Impaired>> = failures.iter().map(|f| vec![impaired(f)]).collect();
    let losses = judge.losses(standing, &sets)?;
    let points = failures.into_iter().zip(losses);
    Ok(points
        .map(|(failure, losses)| WeakPoint { failure, losses })
        .collect())
}

/// Every position of a car as it fails.
pub(super) fn failures_of(place: usize, car: &PlacedCar) -> impl Iterator<Item = Failure> {
    car.circuit
        .car_type()
        .positions
        .iter()
        .filter_map(move |position| {
            Some(Failure {
                car: place,
                car_number: car.number.clone(),
                position: position.code.clone(),
                state: failed(car, position)?,
            })
        })
}

/// How a position fails; none where nobody described what it does.
fn failed(car: &PlacedCar, position: &Position) -> Option<CutOutState> {
    let known = Isolable::at(car.circuit.car_type(), &position.code)?;
    Some(if known.is_cock() {
        known.usual()
    } else {
        CutOutState::Failed
    })
}

fn impaired(failure: &Failure) -> Impaired {
    Impaired {
        car: failure.car,
        position: failure.position.clone(),
        by: Impairment::CutOut(failure.state),
    }
}

/// A pair being ranked.
struct Ranked {
    pairs: Pairs,
    base: (Kilograms, Kilograms),
}

fn pairs(
    train: &TrainCircuit,
    judge: &Judge<'_>,
    base: &[Fault],
    singles: &[WeakPoint],
) -> Result<Pairs, Missing> {
    let matters = judge.can_matter();
    let failing = |(at, single): (usize, &WeakPoint)| {
        let faults = judge.faults(&[impaired(&single.failure)]);
        let fault = faults.first().copied()?;
        matters[fault.0].then_some((at, fault))
    };
    let failing: Vec<(usize, Fault)> = singles.iter().enumerate().filter_map(failing).collect();
    let paired: BTreeSet<usize> = failing.iter().map(|(at, _)| *at).collect();
    let left_out = (0..singles.len()).filter(|at| !paired.contains(at));
    let none = Pairs {
        left_out: left_out.collect(),
        ..Pairs::default()
    };
    if failing.len() > FAILURES_IN_PAIRS_MAX || train.cars().is_empty() {
        return Ok(none);
    }
    let mut ranked = Ranked {
        pairs: none,
        base: (Kilograms(0), Kilograms(0)),
    };
    let mut block: Vec<([Fault; 2], [usize; 2])> = Vec::with_capacity(LANES);
    for (at, (one, fault)) in failing.iter().enumerate() {
        for (other, beside) in &failing[at + 1..] {
            block.push(([*fault, *beside], [*one, *other]));
            if block.len() == LANES - 1 {
                ranked.add(judge, base, singles, &block)?;
                block.clear();
            }
        }
    }
    ranked.add(judge, base, singles, &block)?;
    Ok(ranked.finish())
}

impl Ranked {
    /// Evaluates up to one less than [`LANES`] pairs.
    fn add(
        &mut self,
        judge: &Judge<'_>,
        base: &[Fault],
        singles: &[WeakPoint],
        block: &[([Fault; 2], [usize; 2])],
    ) -> Result<(), Missing> {
        let mut lanes: Vec<&[Fault]> = vec![&[]];
        lanes.extend(block.iter().map(|(faults, _)| faults.as_slice()));
        let left = judge.left(base, &lanes)?;
        self.base = (left[0].at_once, left[0].later);
        self.pairs.evaluated += block.len();
        for ((_, [one, other]), left) in block.iter().zip(&left[1..]) {
            let later = self.base.1 - left.later;
            let by_each = singles[*one].losses.later + singles[*other].losses.later;
            let pair = WeakPair {
                one: *one,
                other: *other,
                at_once: self.base.0 - left.at_once,
                later,
                beyond_each: (later - by_each).max(Kilograms(0)),
            };
            self.keep(pair);
        }
        Ok(())
    }

    fn keep(&mut self, pair: WeakPair) {
        if pair.later.0 > 0 {
            self.pairs.that_take += 1;
            self.pairs.worst.push(pair);
        }
        if pair.beyond_each.0 > 0 {
            self.pairs.that_take_beyond_each += 1;
            self.pairs.hidden.push(pair);
        }
        if self.pairs.worst.len() >= 4 * PAIRS_MAX {
            keep_first(&mut self.pairs.worst, worst_first);
        }
        if self.pairs.hidden.len() >= 4 * PAIRS_MAX {
            keep_first(&mut self.pairs.hidden, hidden_first);
        }
    }

    fn finish(mut self) -> Pairs {
        keep_first(&mut self.pairs.worst, worst_first);
        keep_first(&mut self.pairs.hidden, hidden_first);
        self.pairs
    }
}

type Order = (Reverse<(Kilograms, Kilograms)>, usize, usize);

fn worst_first(pair: &WeakPair) -> Order {
    (Reverse((pair.later, pair.at_once)), pair.one, pair.other)
}

fn hidden_first(pair: &WeakPair) -> Order {
    (
        Reverse((pair.beyond_each, pair.later)),
        pair.one,
        pair.other,
    )
}

fn keep_first(pairs: &mut Vec<WeakPair>, order: fn(&WeakPair) -> Order) {
    pairs.sort_by_key(order);
    pairs.truncate(PAIRS_MAX);
}
