//! What becomes of each axle of a train and of its parking brake, and how a cock stands: as
//! classes, marks and words of the drawing.

use domain::isolation::effect::{ActuatorEffect, AppliedBy, Availability, Effect};

/// What becomes of an axle or of its parking brake.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Wheel {
    /// Everything on it brakes.
    Operative,
    /// Some of it brakes.
    Partial,
    /// Nothing on it brakes.
    Lost,
    /// A spring presses while running, or a brake that is lost cannot be said to be off.
    Dragging,
    /// It never had a brake.
    Unbraked,
    /// There is no answer.
    Unknown,
}

impl Wheel {
    /// The class by which it is drawn.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Operative => "wheel-operative",
            Self::Partial => "wheel-partial",
            Self::Lost => "wheel-lost",
            Self::Dragging => "wheel-dragging",
            Self::Unbraked => "wheel-unbraked",
            Self::Unknown => "wheel-unknown",
        }
    }

    /// The mark in it.
    pub(crate) fn mark(self) -> &'static str {
        match self {
            Self::Operative => "✓",
            Self::Partial => "½",
            Self::Lost => "✕",
            Self::Dragging => "▲",
            Self::Unbraked => "–",
            Self::Unknown => "?",
        }
    }

    /// The same in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Operative => "brakes",
            Self::Partial => "brakes in part",
            Self::Lost => "does not brake",
            Self::Dragging => "drags, or may",
            Self::Unbraked => "has no brake",
            Self::Unknown => "no answer",
        }
    }

    /// All of them, for the legend.
    pub(crate) const ALL: [Self; 4] = [Self::Operative, Self::Partial, Self::Lost, Self::Dragging];
}

/// How a position stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CockState {
    /// As it should be.
    Open,
    /// Cut out in force.
    CutOut,
    /// Supposed to be cut out.
    Supposed,
    /// Cut out in force, and supposed not to be.
    SupposedOpen,
    /// No component is fitted there.
    Vacant,
    /// An assembly is fitted there in which something that it needs is missing.
    Incomplete,
}

impl CockState {
    /// The class by which it is drawn.
    pub(crate) fn class(self) -> &'static str {
        match self {
            Self::Open => "cock-open",
            Self::CutOut => "cock-cut-out",
            Self::Supposed => "cock-supposed",
            Self::SupposedOpen => "cock-supposed-open",
            Self::Vacant | Self::Incomplete => "cock-vacant",
        }
    }

    /// The mark at its corner.
    pub(crate) fn badge(self) -> &'static str {
        match self {
            Self::Open => "",
            Self::CutOut => "✕",
            Self::Supposed | Self::SupposedOpen => "?",
            Self::Vacant => "∅",
            Self::Incomplete => "!",
        }
    }

    /// The same in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::CutOut => "cut out",
            Self::Supposed => "supposed to be cut out",
            Self::SupposedOpen => "cut out, supposed to be open",
            Self::Vacant => "no component fitted",
            Self::Incomplete => "incomplete: something it needs is missing inside",
        }
    }

    /// All of them, for the legend.
    pub(crate) const ALL: [Self; 6] = [
        Self::Open,
        Self::CutOut,
        Self::Supposed,
        Self::SupposedOpen,
        Self::Vacant,
        Self::Incomplete,
    ];
}

/// The effects by which wheels are drawn: emergency braking now, and holding.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Effects<'a> {
    pub(crate) emergency: &'a Effect,
    pub(crate) holding: &'a Effect,
}

fn on_axle(effect: &Effect, place: usize, axle: u8) -> impl Iterator<Item = &ActuatorEffect> {
    let actuators = effect.actuators.iter();
    actuators.filter(move |actuator| actuator.car == place && actuator.axle == Some(axle))
}

/// An axle as it is drawn: that it drags matters more than that it brakes.
pub(super) fn wheel(place: usize, axle: u8, effects: Option<Effects<'_>>) -> Wheel {
    let drags = |actuator: &ActuatorEffect| {
        actuator.availability == Availability::Dragging || actuator.may_drag
    };
    match effects {
        Some(effects) if on_axle(effects.emergency, place, axle).any(drags) => Wheel::Dragging,
        _ => brake(place, axle, effects),
    }
}

/// What the air-applied brake of an axle does.
pub(super) fn brake(place: usize, axle: u8, effects: Option<Effects<'_>>) -> Wheel {
    let Some(Effects { emergency, .. }) = effects else {
        return Wheel::Unknown;
    };
    let by_air = on_axle(emergency, place, axle).filter(|a| a.applied_by == AppliedBy::Air);
    let brake: Vec<bool> = by_air
        .map(|actuator| actuator.availability == Availability::Available)
        .collect();
    match (brake.contains(&true), brake.contains(&false)) {
        (true, false) => Wheel::Operative,
        (true, true) => Wheel::Partial,
        (false, true) => Wheel::Lost,
        (false, false) => Wheel::Unbraked,
    }
}

/// Whether the parking brake of an axle holds, where it has one.
pub(super) fn parking(place: usize, axle: u8, effects: Effects<'_>) -> Option<Wheel> {
    let springs = on_axle(effects.holding, place, axle);
    let holds: Vec<bool> = springs
        .map(|actuator| actuator.availability == Availability::Available)
        .collect();
    match (holds.is_empty(), holds.contains(&false)) {
        (true, _) => None,
        (_, true) => Some(Wheel::Lost),
        (_, false) => Some(Wheel::Operative),
    }
}
