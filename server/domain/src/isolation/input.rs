//! What an actuator does by what reaches it and by what is the matter with it.

use super::effect::Availability;
use crate::circuit::Mode;
use crate::circuit::delivers::{Air, Delivering};
use crate::circuit::sets::Impairments;

/// What reaches an actuator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Input {
    Fed,
    Dead,
}

impl Input {
    pub(super) fn of(delivery: &impl Delivering, node: usize) -> Self {
        if delivery.delivers(node) {
            Self::Fed
        } else {
            Self::Dead
        }
    }
}

/// An air-applied actuator with any impairment of its own is lost.
pub(super) fn air_applied(own: Impairments, input: Input) -> Availability {
    match input {
        Input::Fed if own == Impairments::NONE => Availability::Available,
        _ => Availability::Lost,
    }
}

/// The air that holds the spring back. A cylinder that is itself shut off keeps its air until it
/// has leaked away; one that is vented has none.
pub(super) fn input_of_spring(own: Impairments, input: Input, air: Air) -> Input {
    if own.meets(Impairments::VENTS) {
        Input::Dead
    } else if own.meets(Impairments::STOPS) {
        if air == Air::Retained {
            Input::Fed
        } else {
            Input::Dead
        }
    } else {
        input
    }
}

pub(super) fn spring_applied(own: Impairments, input: Input, mode: Mode) -> Availability {
    if own.meets(Impairments::DISABLES) {
        return Availability::Lost;
    }
    match (mode, input) {
        (Mode::Holding, Input::Fed) => Availability::Lost,
        (Mode::Holding, Input::Dead) | (_, Input::Fed) => Availability::Available,
        (_, Input::Dead) => Availability::Dragging,
    }
}
