//! Figures of a rule set to the last digit, so that no difference is rounded away.

use crate::units::{Distance, Gradient, Speed};

pub(super) fn km_h(speed: Speed) -> String {
    format!("{} km/h", speed.0)
}

pub(super) fn metres(distance: Distance) -> String {
    format!("{} m", distance.0)
}

pub(super) fn per_mille(gradient: Gradient) -> String {
    format!("{} ‰", gradient.0)
}
