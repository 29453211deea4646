//! Each brake of a train in service and in emergency braking, now and once stored air is used up.
//! Whether it is on, or cannot be said to be off, is told here once: warnings, rules, checks and
//! instructions must not say different things of one brake.

use super::CommandedEffect;
use crate::circuit::Mode;
use crate::isolation::Supply;
use crate::isolation::cause::Cause;
use crate::isolation::effect::{ActuatorEffect, AppliedBy, Availability, Effect};
use crate::isolation::part_state::state_of;

/// Where the effect in service braking now stands among the effects.
pub(super) const SERVICE_NOW: usize = 0;
/// Where the effect in emergency braking now stands among the effects.
pub(super) const EMERGENCY_NOW: usize = 2;

/// What becomes of one brake in service and in emergency braking.
pub(super) type InBoth<'e> = [&'e ActuatorEffect; 2];

/// One brake.
#[derive(Debug, Clone, Copy)]
pub(super) struct Brake<'e> {
    pub(super) now: InBoth<'e>,
    /// Once stored air is used up.
    pub(super) later: InBoth<'e>,
}

/// Every brake of a train, by car and position, from its effects. Linear in actuators.
pub(super) fn brakes(effects: &[CommandedEffect]) -> impl Iterator<Item = Brake<'_>> {
    let actuators = |which: usize| {
        let effect: Option<&Effect> = effects.get(which).map(|one| &one.effect);
        effect.map_or(&[][..], |effect| &effect.actuators).iter()
    };
    let both = |later: usize| {
        let service = actuators(SERVICE_NOW + later);
        service.zip(actuators(EMERGENCY_NOW + later))
    };
    both(0).zip(both(1)).map(|(now, later)| Brake {
        now: now.into(),
        later: later.into(),
    })
}

/// The brakes that are on with nothing commanded, or cannot be said to be off.
pub(super) fn on(effects: &[CommandedEffect], supply: Supply) -> impl Iterator<Item = Brake<'_>> {
    brakes(effects).filter(move |brake| match supply {
        Supply::Now => brake.is_on(),
        Supply::Exhausted => brake.is_on_later(),
    })
}

/// Tells each effect which of its lost air-applied brakes cannot be said to be off: one answer in
/// all modes, so that no reader of an effect has a rule of its own. Linear in actuators.
pub(super) fn tell_which_are_on(
    effects: &mut [CommandedEffect],
    elsewhere: &mut [CommandedEffect],
) {
    let on = brakes(effects).map(|brake| (brake.is_on(), brake.is_on_later()));
    let on: Vec<(bool, bool)> = on.collect();
    let tell = |commanded: &mut CommandedEffect, known: bool| {
        let Effect {
            mode,
            supply,
            actuators,
            ..
        } = &mut commanded.effect;
        let braking = (*mode != Mode::Holding).then_some(&on);
        for (one, (now, later)) in actuators.iter_mut().zip(braking.into_iter().flatten()) {
            let on = match supply {
                Supply::Now => *now,
                Supply::Exhausted => *later,
            };
            let lost = one.applied_by == AppliedBy::Air && one.availability == Availability::Lost;
            one.may_drag = lost && (on || known && one.may_drag);
        }
    };
    for one in effects {
        tell(one, false);
    }
    for one in elsewhere {
        tell(one, true);
    }
}

impl<'e> Brake<'e> {
    /// The brake itself.
    pub(super) fn of(&self) -> &'e ActuatorEffect {
        self.now[0]
    }

    /// Whether it is on now with nothing commanded, or cannot be said to be off.
    pub(super) fn is_on(&self) -> bool {
        state_of(self.now).may_be_on()
    }

    /// The same once stored air is used up. What works until then has released by itself, and
    /// without air nothing but a spring brings it on; what was on may still be.
    pub(super) fn is_on_later(&self) -> bool {
        let drags = |one: &ActuatorEffect| one.availability == Availability::Dragging;
        self.is_on() || self.later.into_iter().any(drags)
    }

    /// Whether it comes on once stored air is used up.
    pub(super) fn comes_on(&self) -> bool {
        !self.is_on() && self.is_on_later()
    }

    /// Whether it is lost now, or drags, in service or in emergency braking.
    pub(super) fn is_amiss(&self) -> bool {
        amiss(self.now).contains(&true)
    }

    /// Whether it works now, in service or in emergency braking, and no longer once stored air is
    /// used up.
    pub(super) fn fades(&self) -> bool {
        let [now, later] = [amiss(self.now), amiss(self.later)];
        now.into_iter().zip(later).any(|(now, later)| later && !now)
    }
}

/// Whether it is lost or drags in service, and in emergency braking.
pub(super) fn amiss([service, emergency]: InBoth<'_>) -> [bool; 2] {
    [
        service.is_amiss_in(Mode::Service),
        emergency.is_amiss_in(Mode::Emergency),
    ]
}

/// Why it is not as it should be.
pub(super) fn causes(both: InBoth<'_>) -> impl Iterator<Item = &Cause> {
    both.into_iter().flat_map(|one| &one.why)
}
