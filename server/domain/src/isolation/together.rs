//! The states of a train that one decision looks at, evaluated together: with its cut-outs and
//! without, in each mode, with each air, and commanded from each place.

use super::Supply;
use super::brake_percentage::Braked;
use super::effect::{AppliedBy, Deliveries, Effect, air};
use crate::circuit::Mode;
use crate::circuit::compiled::Role;
use crate::circuit::delivers::Air;
use crate::circuit::scenarios::{Asked, LaneDelivery, Lanes, Scenarios};
use crate::circuit::sets::{Impairments, Modes};
use crate::circuit::state::Marked;
use crate::identity::CarNumber;

/// One word is enough for a train of twelve cars each of which can command it.
const WORDS: usize = 1;

/// How many cases can be evaluated together, each in at most two lanes.
pub(crate) const CASES_MAX: usize = Lanes::<WORDS>::COUNT / 2;

/// Whether the cut-outs are looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum As {
    /// With what is cut out and missing.
    ItIs,
    /// With nothing cut out and nothing missing.
    Sound,
}

/// One state of a train.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Case {
    /// The car from which it is commanded; none where nobody is told apart.
    pub(crate) from: Option<usize>,
    /// The mode.
    pub(crate) mode: Mode,
    /// Which air counts.
    pub(crate) supply: Supply,
    /// With the cut-outs or without.
    pub(crate) standing: As,
}

/// What is evaluated in one lane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Lane {
    from: Option<usize>,
    mode: Mode,
    air: Air,
    standing: As,
}

/// The lanes of a case: that of the air that applies brakes, none in holding, that of the air that
/// keeps springs released, and that of the air that does so while stored air lasts, none in holding:
/// it is the lane of the same case then, and asks for none of its own beside that.
#[derive(Debug, Clone, Copy)]
struct LanesOf {
    to_air_applied: Option<usize>,
    to_springs: usize,
    back_at_springs: Option<usize>,
}

/// Some states of a train, made ready.
pub(crate) struct Together<'t> {
    marked: &'t Marked<'t>,
    sound: Marked<'t>,
    cases: Vec<(Case, LanesOf)>,
    scenarios: Scenarios<'t, WORDS>,
    asked: Asked<WORDS>,
}

impl<'t> Together<'t> {
    /// At most [`CASES_MAX`] cases. Where no command reaches a spring, springs are looked at once
    /// for all places of command. Linear in slots and lines.
    pub(crate) fn new(marked: &'t Marked<'t>, cases: impl Iterator<Item = Case>) -> Self {
        let train = marked.train();
        let commands_reach_springs = train.commands_reach_springs();
        let mut lanes: Vec<Lane> = Vec::new();
        let mut lane_of = |case: &Case, (kind, supply): (AppliedBy, Supply)| {
            let told_apart = kind == AppliedBy::Air || commands_reach_springs;
            let lane = Lane {
                from: case.from.filter(|_| told_apart),
                mode: case.mode,
                air: air(case.mode, supply, kind),
                standing: case.standing,
            };
            let known = lanes.iter().position(|known| *known == lane);
            known.unwrap_or_else(|| {
                lanes.push(lane);
                lanes.len() - 1
            })
        };
        let cases = cases.take(CASES_MAX).map(|case| {
            let commanded = case.mode != Mode::Holding;
            let of = LanesOf {
                to_air_applied: commanded.then(|| lane_of(&case, (AppliedBy::Air, case.supply))),
                to_springs: lane_of(&case, (AppliedBy::Spring, case.supply)),
                back_at_springs: commanded
                    .then(|| lane_of(&case, (AppliedBy::Spring, Supply::Now))),
            };
            (case, of)
        });
        let cases = cases.collect();
        let those = |which: &dyn Fn(&Lane) -> bool| {
            let lanes = lanes.iter().enumerate().filter(|(_, lane)| which(lane));
            lanes.fold(Lanes::NONE, |set, (at, _)| set.and(Lanes::one(at)))
        };
        let as_it_is = those(&|lane| lane.standing == As::ItIs);
        let impaired = marked.impaired().iter();
        let impaired = impaired.map(|node| (as_it_is, *node, marked.impairments(*node)));
        let at_rest = train.commands().map(|(node, car)| {
            let elsewhere = |lane: &Lane| lane.from.is_some_and(|from| from != car);
            (those(&elsewhere), node)
        });
        let mut asked = Asked::NOTHING;
        for (at, lane) in lanes.iter().enumerate() {
            asked.ask(Lanes::one(at), Modes::of(lane.mode), lane.air);
        }
        Self {
            marked,
            sound: Marked::sound(train),
            cases,
            scenarios: Scenarios::commanded(train, impaired, at_rest),
            asked,
        }
    }

    /// Evaluates them. Linear in slots and lines, a few times over.
    pub(crate) fn delivered(&self) -> Delivered<'_> {
        Delivered {
            together: self,
            delivery: self.scenarios.delivery(self.asked.clone()),
        }
    }
}

/// Some states of a train, evaluated.
pub(crate) struct Delivered<'s> {
    together: &'s Together<'s>,
    delivery: LaneDelivery<'s, WORDS>,
}

impl Delivered<'_> {
    /// The number of the car from which a case is commanded.
    pub(crate) fn from(&self, case: usize) -> Option<CarNumber> {
        let (case, _) = &self.together.cases[case];
        let cars = self.together.marked.train().cars();
        Some(cars.get(case.from?)?.number.clone())
    }

    /// The effect in a case.
    pub(crate) fn effect(&self, case: usize) -> Effect {
        let (case, lanes) = &self.together.cases[case];
        let deliveries = Deliveries {
            mode: case.mode,
            supply: case.supply,
            to_air_applied: lanes.to_air_applied.map(|lane| self.delivery.one(lane)),
            to_springs: self.delivery.one(lanes.to_springs),
            back_at_springs: lanes.back_at_springs.map(|lane| self.delivery.one(lane)),
        };
        deliveries.effect(self.marked(case))
    }

    /// What brakes in a case; nothing in holding.
    pub(crate) fn braked(&self, case: usize) -> Braked {
        let (case, lanes) = &self.together.cases[case];
        let delivery = lanes.to_air_applied.map(|lane| self.delivery.one(lane));
        let braked = delivery.map(|delivery| Braked::by(self.marked(case), &delivery));
        braked.unwrap_or_default()
    }

    /// Those of some nodes that deliver nothing in a case; none in holding.
    pub(crate) fn dead(&self, case: usize, nodes: &[usize]) -> Vec<usize> {
        let (_, lanes) = &self.together.cases[case];
        let Some(lane) = lanes.to_air_applied else {
            return Vec::new();
        };
        let delivers = |node: usize| self.delivery.of(node).has(lane);
        nodes
            .iter()
            .copied()
            .filter(|node| !delivers(*node))
            .collect()
    }

    /// Those of the cases from one on, of the same mode as a first one, in which an actuator
    /// does not do what it does in that: all of the train as it is. Linear in actuators and
    /// cases.
    pub(crate) fn otherwise(&self, first: usize, from: usize) -> Vec<usize> {
        let (known, lanes) = &self.together.cases[first];
        let (mut applied, mut springs) = (Lanes::NONE, Lanes::NONE);
        let marked = self.together.marked;
        let actuators = marked.train().actuators().iter();
        // An impaired one does the same whatever reaches it.
        for node in actuators.filter(|node| marked.impairments(**node) == Impairments::NONE) {
            let fed = self.delivery.of(*node);
            let differ = |lane: usize| {
                if fed.has(lane) {
                    Lanes::ALL.without(fed)
                } else {
                    fed
                }
            };
            match (marked.train().roles()[*node], lanes.to_air_applied) {
                (Role::AirApplied, Some(lane)) => applied = applied.and(differ(lane)),
                (Role::AirApplied, None) => {}
                _ => springs = springs.and(differ(lanes.to_springs)),
            }
        }
        let cases = self.together.cases.iter().enumerate().skip(from);
        let differs = cases.filter(|(_, (case, lanes))| {
            let otherwise = lanes.to_air_applied.is_some_and(|lane| applied.has(lane))
                || springs.has(lanes.to_springs);
            case.mode == known.mode && otherwise
        });
        differs.map(|(at, _)| at).collect()
    }

    fn marked(&self, case: &Case) -> &Marked<'_> {
        match case.standing {
            As::ItIs => self.together.marked,
            As::Sound => &self.together.sound,
        }
    }
}
