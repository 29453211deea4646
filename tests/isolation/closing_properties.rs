//! What to close, proved against trying every set of cocks on random circuits. Whether air comes
//! to a position is asked of a slow evaluation that shares nothing with the one it checks.

use super::random_trains::{RandomTrain, trains};
use domain::circuit::state::Impairment::CutOut;
use domain::circuit::{Behaviour, End, Medium, Place};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState, PositionKind};
use domain::isolation::CutOutState::{Bypassed, ClosedTrapped, ClosedVented, SupplyCut};
use domain::isolation::closing::{ChargedAir, closing};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

type At = (usize, Place);

const AIR: [Medium; 6] = [
    Medium::MainAir,
    Medium::BrakePipeAir,
    Medium::PilotPressure,
    Medium::CylinderPressure,
    Medium::SuspensionAir,
    Medium::ParkingAir,
];
const STORED: [Medium; 4] = [
    Medium::MainAir,
    Medium::BrakePipeAir,
    Medium::SuspensionAir,
    Medium::ParkingAir,
];

/// A way of air: from, to, input, medium.
type Way = (At, At, String, Medium);

struct Pipes {
    ways: Vec<Way>,
    behaviours: BTreeMap<At, (Behaviour, PositionKind)>,
    shut: BTreeSet<At>,
    bypassed: BTreeSet<At>,
}

impl Pipes {
    fn new(train: &RandomTrain) -> Self {
        let mut pipes = Self {
            ways: Vec::new(),
            behaviours: BTreeMap::new(),
            shut: BTreeSet::new(),
            bypassed: BTreeSet::new(),
        };
        for (car, (car_type, orientation)) in train.cars.iter().enumerate() {
            for node in &car_type.circuit.nodes {
                let kind = car_type.position(&node.position).unwrap().kind;
                let at = (car, Place::Position(node.position.clone()));
                pipes.behaviours.insert(at, (node.behaviour.clone(), kind));
            }
            for line in &car_type.circuit.lines {
                let (from, to) = ((car, line.from.clone()), (car, line.to.clone()));
                pipes.ways.push((from, to, line.input.clone(), line.medium));
            }
            let next = train.cars.get(car + 1);
            for pipe in next.iter().flat_map(|_| ["a", "b"]) {
                let end = |o, first| match (o, first) {
                    (Orientation::Forward, true) | (Orientation::Reversed, false) => End::End1,
                    _ => End::End2,
                };
                let pipe = pipe.to_owned();
                let rear = Place::Port {
                    end: end(*orientation, false),
                    pipe: pipe.clone(),
                };
                let front = Place::Port {
                    end: end(next.unwrap().1, true),
                    pipe,
                };
                for medium in AIR {
                    let (one, other) = ((car, rear.clone()), (car + 1, front.clone()));
                    pipes
                        .ways
                        .push((one.clone(), other.clone(), String::new(), medium));
                    pipes.ways.push((other, one, String::new(), medium));
                }
            }
        }
        pipes.ways.retain(|(.., medium)| AIR.contains(medium));
        for one in &train.impaired {
            let at = (one.car, Place::Position(one.position.clone()));
            if one.by == CutOut(Bypassed) {
                pipes.bypassed.insert(at.clone());
            }
            let closed = [ClosedVented, ClosedTrapped, SupplyCut].map(CutOut);
            if pipes.is_cock(&at) && closed.contains(&one.by) {
                pipes.shut.insert(at);
            }
        }
        pipes
    }

    fn is_cock(&self, at: &At) -> bool {
        matches!(self.behaviours.get(at), Some((Behaviour::Cock { .. }, _)))
    }

    fn is_pipe(&self, at: &At) -> bool {
        match self.behaviours.get(at) {
            None | Some((Behaviour::Cock { .. } | Behaviour::Reservoir { .. }, _)) => true,
            Some((Behaviour::Pass, kind)) => *kind != PositionKind::CheckValve,
            Some(_) => false,
        }
    }

    /// Whether a drain cock hangs on a reservoir, with nothing between but pipe and what passes at
    /// any pressure.
    fn is_drained(&self, reservoir: &At) -> bool {
        let mut joined = BTreeSet::from([reservoir.clone()]);
        loop {
            let mut next = joined.clone();
            for (_, to, ..) in self.ways.iter().filter(|(from, ..)| joined.contains(from)) {
                let Some((behaviour, kind)) = self.behaviours.get(to) else {
                    next.insert(to.clone());
                    continue;
                };
                let free = [
                    PositionKind::Hose,
                    PositionKind::Filter,
                    PositionKind::DumpValve,
                ];
                if *kind == PositionKind::DrainCock {
                    return true;
                }
                if matches!(behaviour, Behaviour::Pass) && free.contains(kind) {
                    next.insert(to.clone());
                }
            }
            if next == joined {
                return false;
            }
            joined = next;
        }
    }

    /// Whether air comes to a target with more cocks shut: rounds until nothing changes.
    fn air_comes(&self, target: &At, shut: &BTreeSet<At>) -> bool {
        let closed = |at: &At| self.shut.contains(at) || shut.contains(at);
        let mut has: BTreeSet<(At, Medium)> = BTreeSet::new();
        loop {
            let mut next = has.clone();
            for (at, (behaviour, _)) in self.behaviours.iter().filter(|(at, _)| *at != target) {
                if closed(at) {
                    continue;
                }
                let gives: &[Medium] = match behaviour {
                    Behaviour::Source { .. } => &AIR,
                    Behaviour::Reservoir { .. } if !self.is_drained(at) => &STORED,
                    Behaviour::AllOf if self.all_filled(at, &has) => &AIR,
                    Behaviour::AnyOf if self.any_filled(at, &has) => &AIR,
                    _ => &[],
                };
                next.extend(gives.iter().map(|medium| (at.clone(), *medium)));
            }
            for (from, to, _, medium) in &self.ways {
                let passes = |at: &At| at != target && !closed(at);
                if has.contains(&(from.clone(), *medium)) {
                    if to == target {
                        return true;
                    }
                    let one_way = matches!(self.behaviours.get(to), Some((Behaviour::Pass, _)));
                    if passes(to) && (self.is_pipe(to) || one_way) {
                        next.insert((to.clone(), *medium));
                    }
                }
                // Air flows back out of a pipe that has it.
                if self.is_pipe(to) && has.contains(&(to.clone(), *medium)) {
                    if from == target {
                        return true;
                    }
                    if passes(from) && self.is_pipe(from) {
                        next.insert((from.clone(), *medium));
                    }
                }
            }
            if next == has {
                return false;
            }
            has = next;
        }
    }

    fn fed_inputs(
        &self,
        at: &At,
        has: &BTreeSet<(At, Medium)>,
    ) -> (BTreeSet<&str>, BTreeSet<&str>) {
        let into = self.ways.iter().filter(|(_, to, ..)| to == at);
        let (mut all, mut fed) = (BTreeSet::new(), BTreeSet::new());
        for (from, _, input, medium) in into {
            all.insert(input.as_str());
            if has.contains(&(from.clone(), *medium)) {
                fed.insert(input.as_str());
            }
        }
        (all, fed)
    }

    fn all_filled(&self, at: &At, has: &BTreeSet<(At, Medium)>) -> bool {
        let (all, fed) = self.fed_inputs(at, has);
        fed == all || self.bypassed.contains(at) && !fed.is_empty()
    }

    fn any_filled(&self, at: &At, has: &BTreeSet<(At, Medium)>) -> bool {
        !self.fed_inputs(at, has).1.is_empty()
    }

    /// The reservoirs that can be drained and whose air only a closed cock keeps from a target, with
    /// more cocks shut: rounds until nothing changes.
    fn stored_beside(&self, target: &At, shut: &BTreeSet<At>) -> BTreeSet<At> {
        let closed = |at: &At| self.shut.contains(at) || shut.contains(at);
        let mut beside = BTreeSet::from([target.clone()]);
        loop {
            let mut next = beside.clone();
            for (from, to, ..) in &self.ways {
                if beside.contains(to) && !closed(from) {
                    next.insert(from.clone());
                }
                let into = from == target || self.is_pipe(from);
                if beside.contains(from) && into && self.is_pipe(to) && !closed(to) {
                    next.insert(to.clone());
                }
            }
            if next == beside {
                break;
            }
            beside = next;
        }
        beside.remove(target);
        beside.retain(|at| {
            let behaviour = self.behaviours.get(at);
            let stores = matches!(behaviour, Some((Behaviour::Reservoir { .. }, _)));
            stores && self.is_drained(at)
        });
        beside
    }

    /// Every minimal set of cocks that keeps off what is fed, and every one of so many cocks at most
    /// that keeps off what is stored too.
    fn sets_to_close(&self, target: &At, most: usize) -> BTreeSet<BTreeSet<At>> {
        let fed = self.minimal_sets(target, |set| !self.air_comes(target, set));
        let all = self.minimal_sets(target, |set| {
            !self.air_comes(target, set) && self.stored_beside(target, set).is_empty()
        });
        let few = all.into_iter().filter(|set| set.len() <= most);
        fed.into_iter().chain(few).collect()
    }

    /// Every minimal set of cocks that is enough, by trying all sets.
    fn minimal_sets(
        &self,
        target: &At,
        enough: impl Fn(&BTreeSet<At>) -> bool,
    ) -> BTreeSet<BTreeSet<At>> {
        let cocks: Vec<&At> = self
            .behaviours
            .keys()
            .filter(|at| self.is_cock(at) && !self.shut.contains(*at) && *at != target)
            .collect();
        let mut minimal: BTreeSet<BTreeSet<At>> = BTreeSet::new();
        let mut choices: Vec<u32> = (0..1 << cocks.len()).collect();
        choices.sort_by_key(|choice| choice.count_ones());
        for choice in choices {
            let chosen = cocks.iter().enumerate();
            let set: BTreeSet<At> = chosen
                .filter(|(at, _)| choice >> at & 1 == 1)
                .map(|(_, cock)| (*cock).clone())
                .collect();
            let smaller = minimal.iter().any(|other| other.is_subset(&set));
            if !smaller && enough(&set) {
                minimal.insert(set);
            }
        }
        minimal
    }

    fn cocks(&self) -> usize {
        self.behaviours.keys().filter(|at| self.is_cock(at)).count()
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 160,
        failure_persistence: None,
        ..Default::default()
    })]

    #[test]
    fn every_minimal_set_of_cocks_is_found_and_no_other(
        train in trains(3).prop_map(RandomTrain::with_controllers),
        chosen in any::<prop::sample::Index>(),
    ) {
        let pipes = Pipes::new(&train);
        prop_assume!(!pipes.behaviours.is_empty() && pipes.cocks() <= 8);
        let targets: Vec<&At> = pipes.behaviours.keys().collect();
        let target = &targets[chosen.index(targets.len())].clone();
        let Place::Position(position) = &target.1 else { unreachable!() };

        let circuit = train.circuit();
        let case = (BrakePosition::P, LoadState::Normal);
        let found = closing(&circuit, &train.impaired, (target.0, position), case).unwrap();
        prop_assert_eq!(found.complete_to, None);
        let most = found.sparing_complete_to.unwrap_or(pipes.cocks());
        prop_assert!(found.sparing_complete_to.is_none_or(|most| 4 <= most));
        let sets: Vec<BTreeSet<At>> = found
            .sets
            .iter()
            .map(|set| {
                let cocks = set.cocks.iter();
                cocks.map(|c| (c.at.car, Place::Position(c.at.position.clone()))).collect()
            })
            .collect();
        let distinct: BTreeSet<BTreeSet<At>> = sets.iter().cloned().collect();
        prop_assert_eq!(distinct.len(), sets.len());
        // Where no set is enough by itself, they are the sets with some sources switched off.
        let mut pipes = pipes;
        if !found.without_cock.is_empty() {
            prop_assert_eq!(pipes.sets_to_close(target, most), BTreeSet::new());
            for off in &found.without_cock {
                let at = (off.car, Place::Position(off.position.clone()));
                pipes.behaviours.insert(at, (Behaviour::Pass, PositionKind::Hose));
            }
        }
        prop_assert_eq!(distinct, pipes.sets_to_close(target, most));
        for (set, shut) in found.sets.iter().zip(&sets) {
            let drained = set.charged.iter().filter(|one| one.air == ChargedAir::ToBeDrained);
            let drained: BTreeSet<At> = drained
                .map(|one| (one.at.car, Place::Position(one.at.position.clone())))
                .filter(|at| at != target)
                .collect();
            prop_assert!(drained.is_subset(&pipes.stored_beside(target, shut)));
        }
    }
}
