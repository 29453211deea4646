//! The state of each brake that can be controlled or isolated by itself, for the main and the
//! parking brake: Regulation (EU) 1302/2014 (LOC&PAS TSI), annex, 4.2.4.9.
//!
//! It is what an indicator must show with nothing commanded and the parking brake released, as it
//! follows from what is recorded. Nobody has seen it.

use super::CutOutState;
use super::cause::{Cause, CauseKind};
use super::effect::{ActuatorEffect, AppliedBy, Availability, Effect};
use crate::identity::{CarNumber, PositionCode};
use crate::words::word_list;
use std::collections::BTreeMap;

word_list! {
    /// What a brake does while nothing commands it.
    PartState, "state of a brake" {
        /// It is on.
        Applied = "applied",
        /// It is off, and ready to act.
        Released = "released",
        /// It is cut out, or not there, and off.
        Isolated = "isolated",
        /// What is recorded does not tell. It counts as not released.
        Unknown = "unknown",
    }
}

word_list! {
    /// What a brake is for.
    BrakeFunction, "function of a brake" {
        /// To slow and stop the train.
        Main = "main_brake",
        /// To hold it standing.
        Parking = "parking_brake",
    }
}

/// One brake and its state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartReport {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The bogie it acts on.
    pub bogie: Option<u8>,
    /// Its position.
    pub position: PositionCode,
    /// What it is for.
    pub function: BrakeFunction,
    /// Its state.
    pub state: PartState,
}

/// The state of every brake of a train, by car and position, from what cut-outs do to it now in
/// service and in emergency braking. Linear in actuators.
pub fn part_states(service: &Effect, emergency: &Effect) -> Vec<PartReport> {
    let both = service.actuators.iter().zip(&emergency.actuators);
    let report = |(service, emergency): (&ActuatorEffect, &ActuatorEffect)| PartReport {
        car: service.car,
        car_number: service.car_number.clone(),
        bogie: service.bogie,
        position: service.position.clone(),
        function: match service.applied_by {
            AppliedBy::Air => BrakeFunction::Main,
            AppliedBy::Spring => BrakeFunction::Parking,
        },
        state: state_of([service, emergency]),
    };
    both.map(report).collect()
}

/// Brakes of one bogie that are for the same, must show the same, and not that they are released.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotReleased {
    /// The car's number.
    pub car_number: CarNumber,
    /// The bogie they act on.
    pub bogie: Option<u8>,
    /// What they are for.
    pub function: BrakeFunction,
    /// Their state.
    pub state: PartState,
    /// Their positions.
    pub positions: Vec<PositionCode>,
}

/// Every brake that is not released, by car, bogie, function and state. Linear in brakes, but for
/// a logarithm.
pub fn not_released(parts: &[PartReport]) -> Vec<NotReleased> {
    let mut groups: BTreeMap<_, Vec<&PartReport>> = BTreeMap::new();
    for part in parts
        .iter()
        .filter(|part| part.state != PartState::Released)
    {
        let key = (part.car, part.bogie, part.function, part.state);
        groups.entry(key).or_default().push(part);
    }
    let group = |((_, bogie, function, state), parts): (_, Vec<&PartReport>)| NotReleased {
        car_number: parts[0].car_number.clone(),
        bogie,
        function,
        state,
        positions: parts.iter().map(|part| part.position.clone()).collect(),
    };
    groups.into_iter().map(group).collect()
}

impl PartState {
    /// Whether it is on, or cannot be said to be off.
    pub const fn may_be_on(self) -> bool {
        matches!(self, Self::Applied | Self::Unknown)
    }
}

/// By what becomes of it in service and in emergency braking. A main brake that acts in one of
/// them is not isolated.
pub(crate) fn state_of(of: [&ActuatorEffect; 2]) -> PartState {
    let is = |what| move |one: &ActuatorEffect| one.availability == what;
    if of.iter().any(|one| one.may_drag) {
        PartState::Unknown
    } else if of.into_iter().any(is(Availability::Dragging)) {
        PartState::Applied
    } else if of.into_iter().any(is(Availability::Available)) {
        PartState::Released
    } else if of
        .iter()
        .all(|one| one.known_off || one.why.iter().any(isolates(one)))
    {
        PartState::Isolated
    } else {
        PartState::Unknown
    }
}

/// Whether somebody cut it out on purpose, or it is itself missing. What has failed, is missing on
/// the way or is bypassed may leave a brake on.
fn isolates(brake: &ActuatorEffect) -> impl Fn(&Cause) -> bool {
    let is_itself = |cause: &Cause| cause.car == brake.car && cause.position == brake.position;
    move |cause| match cause.kind {
        CauseKind::Vacant | CauseKind::Incomplete => is_itself(cause),
        // Its air has gone, as it has where a cock vents it.
        CauseKind::OpenEnd | CauseKind::NotCounted => true,
        CauseKind::NothingFeedsIt
        | CauseKind::NothingComesInBy(_)
        | CauseKind::AirKeepsItReleased => false,
        CauseKind::CutOut(state) => match state {
            CutOutState::ClosedVented
            | CutOutState::ClosedTrapped
            | CutOutState::SupplyCut
            | CutOutState::ReleasedByHand
            | CutOutState::ReleasedUntilAirReturns
            | CutOutState::ReleasedUntilReset
            | CutOutState::ElectricallyOff => true,
            CutOutState::Bypassed | CutOutState::Failed | CutOutState::ReopenedNotProven => false,
        },
    }
}
