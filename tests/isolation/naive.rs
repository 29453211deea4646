//! The rules of circuits once more, slow and obvious: every place is looked at in rounds until
//! nothing changes. It shares nothing with the evaluation it checks.

use super::random_trains::RandomTrain;
use domain::circuit::state::Impairment::{self, CutOut, Vacant};
use domain::circuit::{Behaviour, End, Medium, Mode, Place};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::PositionKind;
use domain::isolation::CutOutState::{Bypassed, ClosedVented, ElectricallyOff};
use std::collections::{BTreeMap, BTreeSet};

/// Which air counts: what sources deliver, also stored, also held back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
pub(super) enum Counted {
    Sources,
    Stored,
    HeldBack,
}

/// A place of a car of the train.
type At = (usize, Place);
/// What each place delivers.
pub(super) type Delivering = BTreeSet<(At, Medium)>;

const STORED: &[Medium] = &[
    Medium::MainAir,
    Medium::BrakePipeAir,
    Medium::SuspensionAir,
    Medium::ParkingAir,
];
const DEMANDS: &[Medium] = &[Medium::BrakePipeDemand, Medium::ElectricalDemand];

struct Edge {
    from: At,
    to: At,
    input: String,
    media: Vec<Medium>,
    modes: Vec<Mode>,
}

pub(super) struct Naive {
    edges: Vec<Edge>,
    behaviours: BTreeMap<At, (Behaviour, PositionKind)>,
    by: BTreeMap<At, Vec<Impairment>>,
}

impl Naive {
    pub(super) fn new(train: &RandomTrain) -> Self {
        let mut naive = Self {
            edges: Vec::new(),
            behaviours: BTreeMap::new(),
            by: BTreeMap::new(),
        };
        for (car, (car_type, _)) in train.cars.iter().enumerate() {
            for node in &car_type.circuit.nodes {
                let kind = car_type.position(&node.position).unwrap().kind;
                let at = (car, Place::Position(node.position.clone()));
                naive.behaviours.insert(at, (node.behaviour.clone(), kind));
            }
            for line in &car_type.circuit.lines {
                naive.edges.push(Edge {
                    from: (car, line.from.clone()),
                    to: (car, line.to.clone()),
                    input: line.input.clone(),
                    media: vec![line.medium],
                    modes: if line.modes.is_empty() {
                        Mode::ALL.to_vec()
                    } else {
                        line.modes.clone()
                    },
                });
            }
        }
        naive.couple(train);
        for one in &train.impaired {
            let at = (one.car, Place::Position(one.position.clone()));
            // Without current a dump valve passes air as if sound.
            let kind = naive.behaviours.get(&at).map(|(_, kind)| *kind);
            let by = match (one.by, kind) {
                (CutOut(ElectricallyOff), Some(PositionKind::DumpValve)) => CutOut(Bypassed),
                (by, _) => by,
            };
            naive.by.entry(at).or_default().push(by);
        }
        naive
    }

    fn couple(&mut self, train: &RandomTrain) {
        for car in 1..train.cars.len() {
            let rear = match train.cars[car - 1].1 {
                Orientation::Forward => End::End2,
                Orientation::Reversed => End::End1,
            };
            let front = match train.cars[car].1 {
                Orientation::Forward => End::End1,
                Orientation::Reversed => End::End2,
            };
            for pipe in ["a", "b"].map(str::to_owned) {
                let one = (
                    car - 1,
                    Place::Port {
                        end: rear,
                        pipe: pipe.clone(),
                    },
                );
                let other = (car, Place::Port { end: front, pipe });
                for (from, to) in [(&one, &other), (&other, &one)] {
                    self.edges.push(Edge {
                        from: from.clone(),
                        to: to.clone(),
                        input: "in".into(),
                        media: Medium::ALL.to_vec(),
                        modes: Mode::ALL.to_vec(),
                    });
                }
            }
        }
    }

    fn places(&self) -> BTreeSet<At> {
        let ends = self
            .edges
            .iter()
            .flat_map(|e| [e.from.clone(), e.to.clone()]);
        self.behaviours.keys().cloned().chain(ends).collect()
    }

    fn has(&self, at: &At, impairment: Impairment) -> bool {
        self.by.get(at).is_some_and(|by| by.contains(&impairment))
    }

    fn is_vented(&self, at: &At) -> bool {
        self.has(at, CutOut(ClosedVented)) || self.has(at, Vacant)
    }

    /// Whether anything but a bypass is the matter.
    fn is_stopped(&self, at: &At) -> bool {
        let by = self.by.get(at);
        by.is_some_and(|by| by.iter().any(|i| *i != CutOut(Bypassed)))
    }

    fn commands(&self, at: &At) -> bool {
        let behaviour = self.behaviours.get(at).map(|(b, _)| b);
        matches!(behaviour, Some(Behaviour::Source { .. } | Behaviour::AllOf))
    }

    fn is_blocked(&self, at: &At) -> bool {
        self.is_stopped(at) || self.commands(at) && self.has(at, CutOut(Bypassed))
    }

    fn is_open(&self, edge: &Edge, modes: &[Mode], counted: Counted) -> bool {
        let bypassed = |at| self.has(at, CutOut(Bypassed));
        edge.modes.iter().any(|mode| modes.contains(mode))
            || counted == Counted::HeldBack && (bypassed(&edge.from) || bypassed(&edge.to))
    }

    /// What delivers in a mode.
    pub(super) fn delivering(&self, mode: Mode, counted: Counted) -> Delivering {
        let emptied = self.emptied(counted);
        self.rounds(&[mode], counted, &emptied)
    }

    fn rounds(&self, modes: &[Mode], counted: Counted, emptied: &Delivering) -> Delivering {
        let mut delivering = Delivering::new();
        loop {
            let mut next = Delivering::new();
            for at in self.places() {
                for medium in Medium::ALL {
                    if self.delivers((&at, *medium), modes, counted, &delivering) {
                        next.insert((at.clone(), *medium));
                    }
                }
            }
            next.retain(|slot| !emptied.contains(slot));
            if next == delivering {
                return delivering;
            }
            delivering = next;
        }
    }

    fn delivers(
        &self,
        (at, medium): (&At, Medium),
        modes: &[Mode],
        counted: Counted,
        before: &Delivering,
    ) -> bool {
        let into: Vec<&Edge> = self.edges.iter().filter(|e| e.to == *at).collect();
        let brings = |edge: &Edge, medium: Medium| {
            self.is_open(edge, modes, counted)
                && edge.media.contains(&medium)
                && before.contains(&(edge.from.clone(), medium))
        };
        let brings_any = |edge: &Edge| Medium::ALL.iter().any(|m| brings(edge, *m));
        let brought = into.iter().any(|edge| brings(edge, medium));
        let anything = into.iter().any(|edge| brings_any(edge));
        let stored = STORED.contains(&medium);
        let held_back = counted == Counted::HeldBack && !self.is_vented(at);
        let air = !DEMANDS.contains(&medium);
        let Some((behaviour, kind)) = self.behaviours.get(at) else {
            return brought;
        };
        if behaviour.is_actuator() {
            return anything;
        }
        let only_bypassed = self.has(at, CutOut(Bypassed)) && !self.is_stopped(at);
        if self.is_blocked(at) {
            return held_back
                && match behaviour {
                    Behaviour::AllOf if only_bypassed => anything,
                    Behaviour::Source { .. } if self.has(at, CutOut(Bypassed)) => true,
                    _ => air,
                };
        }
        match behaviour {
            Behaviour::Source { modes: active } => active.iter().any(|m| modes.contains(m)),
            Behaviour::Pass if *kind == PositionKind::CheckValve => brought || held_back && air,
            Behaviour::Pass | Behaviour::Cock { .. } => brought,
            Behaviour::Reservoir { .. } => brought || counted >= Counted::Stored && stored,
            Behaviour::AllOf => {
                let filled = |name: &str| into.iter().any(|e| e.input == name && brings_any(e));
                into.iter().all(|edge| filled(&edge.input))
            }
            Behaviour::AnyOf | Behaviour::AirApplied | Behaviour::SpringApplied { .. } => anything,
        }
    }

    /// What vented places empty.
    fn emptied(&self, counted: Counted) -> Delivering {
        let fed = self.rounds(Mode::ALL, Counted::Sources, &Delivering::new());
        let mut emptied = Delivering::new();
        loop {
            let before = emptied.len();
            for edge in self.edges.iter().filter(|e| self.lets_out(&e.to, counted)) {
                for medium in edge.media.iter().filter(|m| !DEMANDS.contains(m)) {
                    let slot = (edge.to.clone(), *medium);
                    let open = self.is_vented(&edge.from)
                        || emptied.contains(&(edge.from.clone(), *medium));
                    if open && !fed.contains(&slot) {
                        emptied.insert(slot);
                    }
                }
            }
            if emptied.len() == before {
                return emptied;
            }
        }
    }

    fn lets_out(&self, at: &At, counted: Counted) -> bool {
        let surely = counted == Counted::HeldBack;
        match self.behaviours.get(at) {
            None => true,
            Some((Behaviour::Pass, PositionKind::CheckValve)) => {
                !surely && self.by.contains_key(at)
            }
            Some((Behaviour::Pass | Behaviour::Cock { .. } | Behaviour::Reservoir { .. }, _)) => {
                !surely || !self.is_blocked(at)
            }
            Some(_) => false,
        }
    }

    /// Whether anything reaches a place.
    pub(super) fn reaches(delivering: &Delivering, at: &At) -> bool {
        Medium::ALL
            .iter()
            .any(|m| delivering.contains(&(at.clone(), *m)))
    }

    /// Whether the place has no impairment of its own.
    pub(super) fn is_sound(&self, at: &At) -> bool {
        !self.by.contains_key(at)
    }
}
