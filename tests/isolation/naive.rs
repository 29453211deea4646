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
/// The number of a place.
type Number = usize;
/// What each place delivers.
pub(super) type Delivering = BTreeSet<(Number, Medium)>;

const STORED: &[Medium] = &[
    Medium::MainAir,
    Medium::BrakePipeAir,
    Medium::SuspensionAir,
    Medium::ParkingAir,
];
const DEMANDS: &[Medium] = &[Medium::BrakePipeDemand, Medium::ElectricalDemand];

struct Edge {
    from: Number,
    input: String,
    media: Vec<Medium>,
    modes: Vec<Mode>,
}

/// A place, with what leads to it.
#[derive(Default)]
struct Spot {
    behaviour: Option<(Behaviour, PositionKind)>,
    by: Vec<Impairment>,
    into: Vec<Edge>,
}

#[derive(Default)]
pub(super) struct Naive {
    numbers: BTreeMap<At, Number>,
    spots: Vec<Spot>,
}

impl Naive {
    pub(super) fn new(train: &RandomTrain) -> Self {
        let mut naive = Self::default();
        for (car, (car_type, _)) in train.cars.iter().enumerate() {
            for node in &car_type.circuit.nodes {
                let kind = car_type.position(&node.position).unwrap().kind;
                let at = naive.number((car, Place::Position(node.position.clone())));
                naive.spots[at].behaviour = Some((node.behaviour.clone(), kind));
            }
            for line in &car_type.circuit.lines {
                let from = naive.number((car, line.from.clone()));
                let to = naive.number((car, line.to.clone()));
                naive.spots[to].into.push(Edge {
                    from,
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
            let at = naive.number((one.car, Place::Position(one.position.clone())));
            let spot = &mut naive.spots[at];
            // Without current a dump valve passes air as if sound.
            let kind = spot.behaviour.as_ref().map(|(_, kind)| *kind);
            let by = match (one.by, kind) {
                (CutOut(ElectricallyOff), Some(PositionKind::DumpValve)) => CutOut(Bypassed),
                (by, _) => by,
            };
            spot.by.push(by);
        }
        naive
    }

    /// The number of a place, a new one where it has none.
    fn number(&mut self, at: At) -> Number {
        let next = self.spots.len();
        let number = *self.numbers.entry(at).or_insert(next);
        if number == next {
            self.spots.push(Spot::default());
        }
        number
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
                let one = self.number((
                    car - 1,
                    Place::Port {
                        end: rear,
                        pipe: pipe.clone(),
                    },
                ));
                let other = self.number((car, Place::Port { end: front, pipe }));
                for (from, to) in [(one, other), (other, one)] {
                    self.spots[to].into.push(Edge {
                        from,
                        input: "in".into(),
                        media: Medium::ALL.to_vec(),
                        modes: Mode::ALL.to_vec(),
                    });
                }
            }
        }
    }

    fn has(&self, at: Number, impairment: Impairment) -> bool {
        self.spots[at].by.contains(&impairment)
    }

    fn is_vented(&self, at: Number) -> bool {
        self.has(at, CutOut(ClosedVented)) || self.has(at, Vacant)
    }

    /// Whether anything but a bypass is the matter.
    fn is_stopped(&self, at: Number) -> bool {
        let mut by = self.spots[at].by.iter();
        by.any(|impairment| *impairment != CutOut(Bypassed))
    }

    fn commands(&self, at: Number) -> bool {
        let behaviour = self.spots[at].behaviour.as_ref().map(|(b, _)| b);
        matches!(behaviour, Some(Behaviour::Source { .. } | Behaviour::AllOf))
    }

    fn is_blocked(&self, at: Number) -> bool {
        self.is_stopped(at) || self.commands(at) && self.has(at, CutOut(Bypassed))
    }

    /// Whether a line that leads to a place is open.
    fn is_open(&self, edge: &Edge, to: Number, modes: &[Mode], counted: Counted) -> bool {
        let bypassed = |at| self.has(at, CutOut(Bypassed));
        edge.modes.iter().any(|mode| modes.contains(mode))
            || counted == Counted::HeldBack && (bypassed(edge.from) || bypassed(to))
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
            for at in 0..self.spots.len() {
                for medium in Medium::ALL {
                    if self.delivers((at, *medium), modes, counted, &delivering) {
                        next.insert((at, *medium));
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
        (at, medium): (Number, Medium),
        modes: &[Mode],
        counted: Counted,
        before: &Delivering,
    ) -> bool {
        let into = &self.spots[at].into;
        let brings = |edge: &Edge, medium: Medium| {
            self.is_open(edge, at, modes, counted)
                && edge.media.contains(&medium)
                && before.contains(&(edge.from, medium))
        };
        let brings_any = |edge: &Edge| Medium::ALL.iter().any(|m| brings(edge, *m));
        let brought = into.iter().any(|edge| brings(edge, medium));
        let anything = into.iter().any(brings_any);
        let stored = STORED.contains(&medium);
        let held_back = counted == Counted::HeldBack && !self.is_vented(at);
        let air = !DEMANDS.contains(&medium);
        let Some((behaviour, kind)) = &self.spots[at].behaviour else {
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
        let lets_out: Vec<Number> = (0..self.spots.len())
            .filter(|at| self.lets_out(*at, counted))
            .collect();
        let mut emptied = Delivering::new();
        loop {
            let before = emptied.len();
            for at in &lets_out {
                for edge in &self.spots[*at].into {
                    for medium in edge.media.iter().filter(|m| !DEMANDS.contains(m)) {
                        let slot = (*at, *medium);
                        let open =
                            self.is_vented(edge.from) || emptied.contains(&(edge.from, *medium));
                        if open && !fed.contains(&slot) {
                            emptied.insert(slot);
                        }
                    }
                }
            }
            if emptied.len() == before {
                return emptied;
            }
        }
    }

    /// Whether a place lets out what it has, to where its lines come from. A sound dead end has
    /// what is brought to it.
    fn lets_out(&self, at: Number, counted: Counted) -> bool {
        let surely = counted == Counted::HeldBack;
        match &self.spots[at].behaviour {
            None => true,
            Some((Behaviour::Pass, PositionKind::CheckValve)) => !surely && !self.is_sound(at),
            Some((Behaviour::Pass | Behaviour::Cock { .. }, _)) => {
                (!surely || !self.is_blocked(at)) && (self.leads_on(at) || !self.is_sound(at))
            }
            Some((Behaviour::Reservoir { .. }, _)) => !surely || !self.is_blocked(at),
            Some(_) => false,
        }
    }

    fn leads_on(&self, at: Number) -> bool {
        let mut edges = self.spots.iter().flat_map(|spot| &spot.into);
        edges.any(|edge| edge.from == at)
    }

    /// Whether anything reaches a place.
    pub(super) fn reaches(&self, delivering: &Delivering, at: &At) -> bool {
        let at = self.numbers[at];
        Medium::ALL.iter().any(|m| delivering.contains(&(at, *m)))
    }

    /// Whether a place of the train has no impairment of its own.
    pub(super) fn is_sound_at(&self, at: &At) -> bool {
        self.is_sound(self.numbers[at])
    }

    fn is_sound(&self, at: Number) -> bool {
        self.spots[at].by.is_empty()
    }
}
