//! Cut-outs: what is isolated, in which state, and what that does to a train.

pub mod brake_percentage;
pub mod cause;
pub mod effect;
pub mod percentage;
pub mod tally;

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
        /// A spring-applied brake released by hand: it neither drags nor holds.
        ReleasedByHand = "released_by_hand",
        /// Switched off electrically.
        ElectricallyOff = "electrically_off",
        /// Bypassed: what it should stop or command passes regardless.
        Bypassed = "bypassed",
        /// Failed: it delivers nothing.
        Failed = "failed",
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
