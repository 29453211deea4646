//! The single faults that are tried.

use crate::circuit::Behaviour;
use crate::circuit::Mode;
use crate::circuit::compiled::Role;
use crate::circuit::sets::Modes;
use crate::circuit::state::{Impaired, Impairment, Marked};
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use crate::isolation::CutOutState;
use crate::isolation::closing::Spot;
use crate::isolation::leaks::{BrakePipe, Leak, brake_pipes, leaks};
use crate::words::word_list;
use serde::Serialize;

word_list! {
    /// What may be the matter at a position.
    Suspected, "suspected fault" {
        /// A cock that should be open stands closed, and what lies behind it is emptied.
        ClosedVented = "closed_vented",
        /// A cock that should be open stands closed, with air shut in behind it.
        ClosedTrapped = "closed_trapped",
        /// What is recorded as cut out, failed or missing is not so.
        NotAsRecorded = "not_as_recorded",
        /// It delivers nothing.
        Failed = "failed",
        /// A brake controller that commands nothing any more.
        StuckReleased = "stuck_released",
        /// It passes air though nothing commands it.
        StuckOpen = "stuck_open",
        /// It stays on.
        StuckOn = "stuck_on",
        /// It is missing, or burst: what lies behind it is emptied.
        OpenToOutside = "open_to_outside",
        /// It leaks, and its pipe has lost its air.
        Leaks = "leaks",
        /// A brake controller that commands the brake though nobody does.
        StuckApplied = "stuck_applied",
        /// An emergency valve that stands open.
        Opened = "opened",
        /// By it the brake pipe has lost its air, which applies brakes.
        PipeEmpty = "pipe_empty",
    }
}

impl Suspected {
    fn impairment(self) -> Option<Impairment> {
        let cut_out = Impairment::CutOut;
        match self {
            Self::ClosedVented => Some(cut_out(CutOutState::ClosedVented)),
            Self::ClosedTrapped | Self::StuckOn => Some(cut_out(CutOutState::ClosedTrapped)),
            Self::Failed | Self::StuckReleased => Some(cut_out(CutOutState::Failed)),
            Self::StuckOpen => Some(cut_out(CutOutState::Bypassed)),
            Self::OpenToOutside | Self::Leaks => Some(Impairment::Vacant),
            Self::NotAsRecorded | Self::StuckApplied | Self::Opened | Self::PipeEmpty => None,
        }
    }

    /// Whether it commands brakes, and takes nothing away.
    pub const fn commands(self) -> bool {
        matches!(self, Self::StuckApplied | Self::Opened | Self::PipeEmpty)
    }
}

/// A single fault that is tried.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Candidate {
    /// Where.
    #[serde(flatten)]
    pub at: Spot,
    /// What.
    pub suspected: Suspected,
    /// Where the same would show the same: the other hoses and valves of a pipe.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub likewise: Vec<Spot>,
    /// What else is open then.
    #[serde(skip)]
    opens: Vec<Impaired>,
    /// The place of command that is then at work, by its node, and in which mode.
    #[serde(skip)]
    pub(super) command: Option<(usize, Mode)>,
}

impl Candidate {
    fn new(at: Spot, suspected: Suspected) -> Self {
        Self {
            at,
            suspected,
            likewise: Vec::new(),
            opens: Vec::new(),
            command: None,
        }
    }

    /// What is impaired if this fault is there; of one that commands brakes, what is recorded.
    pub fn state(&self, standing: &[Impaired]) -> Vec<Impaired> {
        if self.suspected.commands() {
            return standing.to_vec();
        }
        let is_here = |one: &&Impaired| one.car == self.at.car && one.position == self.at.position;
        let elsewhere = standing.iter().filter(|one| !is_here(one)).cloned();
        let here = self.suspected.impairment().map(|by| Impaired {
            car: self.at.car,
            position: self.at.position.clone(),
            by,
        });
        let others = self.opens.iter().cloned();
        elsewhere.chain(here).chain(others).collect()
    }
}

/// Every single fault: cocks first, then what is not as recorded, then parts and pipes, and last what
/// commands brakes though nobody does.
pub(super) fn candidates(marked: &Marked<'_>, standing: &[Impaired]) -> Vec<Candidate> {
    let train = marked.train();
    let mut candidates = Vec::new();
    for (place, car) in train.cars().iter().enumerate() {
        let car_type = car.circuit.car_type();
        for node in &car_type.circuit.nodes {
            let at = Spot {
                car: place,
                car_number: car.number.clone(),
                position: node.position.clone(),
            };
            let stands = |one: &Impaired| {
                let recorded = one.by != Impairment::Emptied;
                recorded && one.car == place && one.position == node.position
            };
            let kind = car_type.position(&node.position).map(|known| known.kind);
            let suspected: &[Suspected] = if standing.iter().any(stands) {
                &[Suspected::NotAsRecorded]
            } else {
                suspected(&node.behaviour, kind)
            };
            let suspected = suspected.iter();
            candidates.extend(suspected.map(|suspected| Candidate::new(at.clone(), *suspected)));
        }
    }
    candidates.extend(leaks(marked).iter().filter_map(|leak| leaking(train, leak)));
    candidates.extend(commanding(marked));
    let pipes = brake_pipes(marked);
    candidates.extend(pipes.iter().filter_map(|pipe| emptied(marked, pipe)));
    candidates.sort_by_key(|candidate| candidate.suspected);
    candidates
}

/// The first of some nodes that are positions, and the others.
fn spots(train: &TrainCircuit, nodes: &[usize]) -> Option<(Spot, Vec<Spot>)> {
    let mut spots = nodes.iter().filter_map(|node| Spot::of(train, *node));
    let first = spots.next()?;
    Some((first, spots.collect()))
}

fn leaking(train: &TrainCircuit, leak: &Leak) -> Option<Candidate> {
    let (first, likewise) = spots(train, &leak.at)?;
    let nodes = leak.pipe.iter();
    let open = nodes.filter_map(|node| {
        let (car, position) = train.position_of(*node)?;
        Some(Impaired {
            car,
            position: position.clone(),
            by: Impairment::Vacant,
        })
    });
    let elsewhere = open.filter(|one| (one.car, &one.position) != (first.car, &first.position));
    Some(Candidate {
        opens: elsewhere.collect(),
        likewise,
        ..Candidate::new(first, Suspected::Leaks)
    })
}

/// The mode that a place of command commands: service, where it can.
fn commanded(train: &TrainCircuit, node: usize) -> Option<Mode> {
    let Role::Source(modes) = train.roles()[node] else {
        return None;
    };
    let mut braking = [Mode::Service, Mode::Emergency].into_iter();
    braking.find(|mode| modes.meets(Modes::of(*mode)))
}

/// The brake controllers and emergency valves that are at work though nobody commands.
fn commanding(marked: &Marked<'_>) -> impl Iterator<Item = Candidate> {
    let train = marked.train();
    let sound = train
        .commands()
        .filter(move |(node, _)| !marked.is_blocked(*node));
    sound.filter_map(move |(node, _)| {
        let mode = commanded(train, node)?;
        let suspected = match train.kind(node)? {
            PositionKind::EmergencyValve => Suspected::Opened,
            _ => Suspected::StuckApplied,
        };
        Some(Candidate {
            command: Some((node, mode)),
            ..Candidate::new(Spot::of(train, node)?, suspected)
        })
    })
}

/// A brake pipe without air commands as an emergency valve in it does; of one that no such valve
/// stands in, nothing is known.
fn emptied(marked: &Marked<'_>, pipe: &BrakePipe) -> Option<Candidate> {
    let train = marked.train();
    let in_emergency = |node: usize| match train.roles()[node] {
        Role::Source(modes) => modes.meets(Modes::of(Mode::Emergency)),
        _ => false,
    };
    let mut valves = train.commands().map(|(node, _)| node);
    let valve = valves.find(|node| {
        let mut lines = train.lines_from(*node).iter();
        let leads = lines.any(|line| pipe.pipe.contains(&line.to));
        leads && in_emergency(*node) && !marked.is_blocked(*node)
    })?;
    let (first, likewise) = spots(train, &pipe.at)?;
    Some(Candidate {
        likewise,
        command: Some((valve, Mode::Emergency)),
        ..Candidate::new(first, Suspected::PipeEmpty)
    })
}

/// What can be the matter with a position that is recorded as sound.
fn suspected(behaviour: &Behaviour, kind: Option<PositionKind>) -> &'static [Suspected] {
    use Suspected::{
        ClosedTrapped, ClosedVented, Failed, OpenToOutside, StuckOn, StuckOpen, StuckReleased,
    };
    match behaviour {
        // Shut with air behind it also where it should vent: the vent may be blocked.
        Behaviour::Cock { venting: true } => &[ClosedVented, ClosedTrapped, OpenToOutside],
        Behaviour::Cock { venting: false } => &[ClosedTrapped, OpenToOutside],
        Behaviour::AllOf => &[Failed, StuckOpen, OpenToOutside],
        Behaviour::AirApplied => &[Failed, StuckOn, OpenToOutside],
        Behaviour::Source { .. } if kind == Some(PositionKind::BrakeController) => {
            &[StuckReleased, OpenToOutside]
        }
        Behaviour::Source { .. }
        | Behaviour::Pass
        | Behaviour::Reservoir { .. }
        | Behaviour::AnyOf
        | Behaviour::SpringApplied { .. } => &[Failed, OpenToOutside],
    }
}
