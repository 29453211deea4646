//! Made-up fitments for unit tests.

use super::dossier::{FitmentEnd, FitmentId, OwnFitment, Which};
use super::entry::Seq;
use crate::configuration::component::{ComponentRef, RemovalReason};
use crate::configuration::host::{Host, HostPosition};
use crate::time::Instant;

/// A day since 1970 as a moment.
pub(super) fn moment(day: i64) -> Instant {
    Instant::from_microseconds(day * 86_400_000_000).expect("a moment")
}

/// A fitment by an entry on a day, ended by the next entry on another day, if for a reason.
pub(super) fn own(by: i64, (from, until): (i64, i64), reason: Option<RemovalReason>) -> OwnFitment {
    OwnFitment {
        id: FitmentId::of(Seq(by), Which::First),
        component: ComponentRef {
            part: "V".parse().expect("a part"),
            serial: "1".parse().expect("a serial"),
        },
        at: HostPosition {
            host: Host::Car("4101".parse().expect("a car")),
            position: "=B1".parse().expect("a code"),
        },
        from: moment(from),
        fitted_by: Seq(by),
        from_location: None,
        end: reason.map(|reason| FitmentEnd {
            at: moment(until),
            by: Seq(by + 1),
            reason: Some(reason),
            to: None,
        }),
    }
}
