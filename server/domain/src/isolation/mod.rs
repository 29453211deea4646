//! Cut-outs: what is isolated, in which state, and what that does to a train.

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
