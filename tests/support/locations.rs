//! Facts about locations and what is sent to them.

use domain::configuration::component::ComponentRef;
use domain::configuration::location::{Location, LocationKind, Sent};
use domain::ledger::fact::{Fact, Relocation};

/// A component in store moved to another location, bound for one, and expected on a day.
pub fn sent_to(
    component: &ComponentRef,
    to: &str,
    (bound_for, expected_on): (Option<&str>, Option<&str>),
) -> Fact {
    Fact::Relocated(Relocation {
        component: component.clone(),
        to: to.parse().expect("a location"),
        sent: Sent {
            bound_for: bound_for.map(|name| name.parse().expect("a location")),
            expected_on: expected_on.map(|day| day.parse().expect("a day")),
        },
    })
}

/// A location was named.
pub fn location(name: &str, kind: LocationKind) -> Fact {
    Fact::LocationDefined(Location {
        name: name.parse().expect("a location"),
        kind,
    })
}
