//! Cut-outs: what is isolated, in which state, and what that does to a train.

pub mod brake_percentage;
pub mod cause;
pub mod closing;
pub mod effect;
mod failure;
pub mod fault_finding;
pub mod flow;
mod held_on;
mod input;
pub mod isolable;
mod leaks;
mod line_end;
pub mod load_signal;
mod looked_at;
pub mod losses;
pub mod measured_behind;
pub mod observed;
pub(crate) mod open_ends;
pub mod part_state;
pub mod path;
pub mod reveal;
pub mod slide_protection;
mod spent;
pub mod suspension;
pub mod takes;
pub mod tally;
pub(crate) mod together;
pub mod weak_points;
pub(crate) mod weights;

use crate::circuit::Behaviour;
use crate::configuration::car_type::PositionKind;
use crate::words::word_list;

word_list! {
    /// The state of an isolating position. A cut-out is not one state, and each takes away
    /// something else.
    CutOutState, "cut-out state" {
        /// Closed, and what lies behind it emptied.
        ClosedVented = "closed_vented",
        /// Closed with air trapped behind it.
        ClosedTrapped = "closed_trapped",
        /// Its supply is cut while what lies behind is still charged.
        SupplyCut = "supply_cut",
        /// A brake released by hand: it neither brakes nor holds. Of a spring it is not known what it does
        /// when air returns: it may drag once air has come back to it and gone again.
        ReleasedByHand = "released_by_hand",
        /// Switched off electrically.
        ElectricallyOff = "electrically_off",
        /// Bypassed: what it should stop or command passes regardless.
        Bypassed = "bypassed",
        /// Failed: it delivers nothing.
        Failed = "failed",
        /// A cock that was cut out and is open again, with no test since: whether the brake behind it
        /// works is not known, and it counts as lost.
        ReopenedNotProven = "reopened_not_proven",
        /// A spring released by hand, which applies again by itself once air has returned: from then on it
        /// drags where that air goes.
        ReleasedUntilAirReturns = "released_until_air_returns",
        /// A spring released by hand, which stays dead until it is reset, also when air returns.
        ReleasedUntilReset = "released_until_reset",
    }
}

impl CutOutState {
    /// The state in which a position of that kind is most often found, to be offered first. A
    /// cock that does not vent leaves what lies behind it charged; at the end of a car, it traps
    /// the air of the pipe.
    pub const fn usual_of(kind: PositionKind, behaviour: &Behaviour) -> Self {
        match behaviour {
            Behaviour::Cock { venting: true } => Self::ClosedVented,
            Behaviour::Cock { venting: false } => match kind {
                PositionKind::EndCock => Self::ClosedTrapped,
                _ => Self::SupplyCut,
            },
            Behaviour::SpringApplied { .. } => Self::ReleasedByHand,
            _ => Self::Failed,
        }
    }
}

word_list! {
    /// Which air counts. A brake that works now need not work in half an hour.
    Supply, "supply" {
        /// At once: what reservoirs stored before the cut-out still applies brakes.
        Now = "now",
        /// Later: stored and trapped air is used up or has leaked away; only sources count.
        Exhausted = "exhausted",
    }
}
