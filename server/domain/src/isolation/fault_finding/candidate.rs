//! The single faults that are tried.

use crate::circuit::Behaviour;
use crate::circuit::state::{Impaired, Impairment};
use crate::circuit::train::TrainCircuit;
use crate::isolation::CutOutState;
use crate::isolation::closing::Spot;
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
        /// It passes air though nothing commands it.
        StuckOpen = "stuck_open",
        /// It stays on.
        StuckOn = "stuck_on",
        /// It is missing, or burst: what lies behind it is emptied.
        OpenToOutside = "open_to_outside",
    }
}

impl Suspected {
    fn impairment(self) -> Option<Impairment> {
        let cut_out = Impairment::CutOut;
        match self {
            Self::ClosedVented => Some(cut_out(CutOutState::ClosedVented)),
            Self::ClosedTrapped | Self::StuckOn => Some(cut_out(CutOutState::ClosedTrapped)),
            Self::NotAsRecorded => None,
            Self::Failed => Some(cut_out(CutOutState::Failed)),
            Self::StuckOpen => Some(cut_out(CutOutState::Bypassed)),
            Self::OpenToOutside => Some(Impairment::Vacant),
        }
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
}

impl Candidate {
    /// What is impaired if this fault is there.
    pub fn state(&self, standing: &[Impaired]) -> Vec<Impaired> {
        let is_here = |one: &&Impaired| one.car == self.at.car && one.position == self.at.position;
        let elsewhere = standing.iter().filter(|one| !is_here(one)).cloned();
        let here = self.suspected.impairment().map(|by| Impaired {
            car: self.at.car,
            position: self.at.position.clone(),
            by,
        });
        elsewhere.chain(here).collect()
    }
}

/// Every single fault: cocks first, then what is not as recorded, then parts.
pub(super) fn candidates(train: &TrainCircuit, standing: &[Impaired]) -> Vec<Candidate> {
    let mut candidates = Vec::new();
    for (place, car) in train.cars().iter().enumerate() {
        for node in &car.circuit.car_type().circuit.nodes {
            let at = Spot {
                car: place,
                car_number: car.number.clone(),
                position: node.position.clone(),
            };
            let stands = |one: &Impaired| one.car == place && one.position == node.position;
            let suspected: &[Suspected] = if standing.iter().any(stands) {
                &[Suspected::NotAsRecorded]
            } else {
                suspected(&node.behaviour)
            };
            candidates.extend(suspected.iter().map(|suspected| Candidate {
                at: at.clone(),
                suspected: *suspected,
            }));
        }
    }
    candidates.sort_by_key(|candidate| candidate.suspected);
    candidates
}

/// What can be the matter with a position that is recorded as sound.
fn suspected(behaviour: &Behaviour) -> &'static [Suspected] {
    use Suspected::{ClosedTrapped, ClosedVented, Failed, OpenToOutside, StuckOn, StuckOpen};
    match behaviour {
        // Shut with air behind it also where it should vent: the vent may be blocked.
        Behaviour::Cock { venting: true } => &[ClosedVented, ClosedTrapped, OpenToOutside],
        Behaviour::Cock { venting: false } => &[ClosedTrapped, OpenToOutside],
        Behaviour::AllOf => &[Failed, StuckOpen, OpenToOutside],
        Behaviour::AirApplied => &[Failed, StuckOn, OpenToOutside],
        Behaviour::Source { .. }
        | Behaviour::Pass
        | Behaviour::Reservoir { .. }
        | Behaviour::AnyOf
        | Behaviour::SpringApplied { .. } => &[Failed, OpenToOutside],
    }
}
