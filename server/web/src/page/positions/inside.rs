//! The assembly that a place on a car is inside.

use domain::configuration::component::{ComponentRef, PositionRef};
use domain::configuration::host::{Host, HostPosition};
use domain::identity::PositionCode;
use domain::ledger::dossier::{CarRecord, Fitment};

/// The assembly that a place is inside.
pub(super) struct Inside {
    pub(super) place: PositionRef,
    /// The code of the place within the assembly.
    code: PositionCode,
    pub(super) assembly: Option<ComponentRef>,
}

impl Inside {
    /// By what was ever at its place.
    pub(super) fn of(
        car: &CarRecord,
        (position, code): (PositionCode, PositionCode),
        there: &[Fitment],
    ) -> Self {
        let mut there = there.iter();
        let now = there.find(|fitment| fitment.end.is_none());
        let car = car.car.number.clone();
        Self {
            place: PositionRef { car, position },
            code,
            assembly: now.map(|fitment| fitment.component.clone()),
        }
    }

    pub(super) fn position(&self) -> Option<HostPosition> {
        Some(HostPosition {
            host: Host::Assembly(self.assembly.clone()?),
            position: self.code.clone(),
        })
    }
}
