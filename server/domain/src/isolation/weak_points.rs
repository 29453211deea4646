//! Weak points of a formation: what every single failure takes away, and every pair.
//!
//! All failures are evaluated, several hundred scenarios at a time, by the same rules as a
//! single state; nothing is taken from one failure to another. A failure can only change the
//! braked weight where lines lead from it to an actuator or a load sensor, so pairs are made of
//! such failures. A hose or a drain cock that leaks takes the air of the pipe that it stands in;
//! wherever in that pipe the leak is, it is the same failure.

use super::CutOutState;
use super::closing::Spot;
pub use super::failure::{Fails, Failure};
use super::isolable::Isolable;
use super::leaks::leaks;
use super::losses::{Fault, Judge, Losses, More};
use crate::circuit::scenarios::LANES;
use crate::circuit::state::{Impaired, Impairment, Marked};
use crate::circuit::train::{PlacedCar, TrainCircuit};
use crate::configuration::car_type::{BrakePosition, LoadState, Position};
use crate::identity::PositionCode;
use crate::units::Kilograms;
use crate::worked::Missing;
use serde::Serialize;
use std::cmp::Reverse;
use std::collections::BTreeSet;

/// The most pairs that an answer holds in each of its two orders. Long trains have hundreds of thousands
/// that take something; what is left out of both orders takes less than all that is in the first, and
/// mostly no more than its two failures by themselves, which are told singly.
pub const PAIRS_MAX: usize = 10_000;

/// The most failures of which pairs are made.
pub const FAILURES_IN_PAIRS_MAX: usize = 3_000;

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
    let marked = train.marked(standing)?;
    let judge = Judge::new(train, brake_position, load)?;
    let (failures, more): (Vec<Failure>, Vec<More>) =
        failing(&marked, &judge, standing).into_iter().unzip();
    let losses = judge.losses_of(standing, &more)?;
    let mut singles: Vec<(WeakPoint, Vec<Fault>)> = failures
        .into_iter()
        .zip(losses)
        .zip(more)
        .map(|((failure, losses), more)| (WeakPoint { failure, losses }, more.faults))
        .collect();
    singles.sort_by_key(|(single, _)| {
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
    let (singles, faults): (Vec<WeakPoint>, Vec<Vec<Fault>>) = singles.into_iter().unzip();
    let pairs = pairs(&judge, &base, &singles, &faults)?;
    Ok(WeakPoints {
        at_once: left.at_once,
        later: left.later,
        singles,
        pairs,
    })
}

/// Every failure of a train that does not stand already, with what is then the matter.
fn failing(marked: &Marked<'_>, judge: &Judge<'_>, standing: &[Impaired]) -> Vec<(Failure, More)> {
    let train = marked.train();
    let mut all = Vec::new();
    for (place, car) in train.cars().iter().enumerate() {
        for (position, state) in failures_of(car) {
            let here = |one: &Impaired| {
                let stands = one.by != Impairment::Emptied;
                stands && one.car == place && one.position == *position
            };
            if standing.iter().any(here) {
                continue;
            }
            let impaired = vec![Impaired {
                car: place,
                position: position.clone(),
                by: Impairment::CutOut(state),
            }];
            let failure = Failure {
                car: place,
                car_number: car.number.clone(),
                position: position.clone(),
                how: Fails::To(state),
            };
            let faults = judge.faults(&impaired);
            all.push((failure, More { faults, impaired }));
        }
    }
    for leak in leaks(marked) {
        let mut spots = leak.at.iter().filter_map(|node| Spot::of(train, *node));
        if let Some(first) = spots.next() {
            let failure = Failure {
                car: first.car,
                car_number: first.car_number,
                position: first.position,
                how: Fails::Leaks {
                    medium: leak.medium,
                    likewise: spots.collect(),
                },
            };
            let more = More {
                faults: leak.faults(),
                impaired: Vec::new(),
            };
            all.push((failure, more));
        }
    }
    all
}

/// Every position of a car, as it fails by itself.
pub(super) fn failures_of(car: &PlacedCar) -> impl Iterator<Item = (&PositionCode, CutOutState)> {
    let positions = car.circuit.car_type().positions.iter();
    positions.filter_map(|position| Some((&position.code, failed(car, position)?)))
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

/// A pair being ranked.
struct Ranked {
    pairs: Pairs,
    base: (Kilograms, Kilograms),
}

fn pairs(
    judge: &Judge<'_>,
    base: &[Fault],
    singles: &[WeakPoint],
    faults: &[Vec<Fault>],
) -> Result<Pairs, Missing> {
    let matters = judge.can_matter();
    let failing: Vec<(usize, &[Fault])> = faults
        .iter()
        .enumerate()
        .filter(|(_, faults)| faults.iter().any(|(node, _)| matters[*node]))
        .map(|(at, faults)| (at, faults.as_slice()))
        .collect();
    let paired: BTreeSet<usize> = failing.iter().map(|(at, _)| *at).collect();
    let left_out = (0..singles.len()).filter(|at| !paired.contains(at));
    let none = Pairs {
        left_out: left_out.collect(),
        ..Pairs::default()
    };
    if failing.len() > FAILURES_IN_PAIRS_MAX || failing.is_empty() {
        return Ok(none);
    }
    let mut ranked = Ranked {
        pairs: none,
        base: (Kilograms(0), Kilograms(0)),
    };
    let mut block: Vec<(Vec<Fault>, [usize; 2])> = Vec::with_capacity(LANES);
    for (at, (one, faults)) in failing.iter().enumerate() {
        for (other, beside) in &failing[at + 1..] {
            block.push(([*faults, *beside].concat(), [*one, *other]));
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
        block: &[(Vec<Fault>, [usize; 2])],
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
