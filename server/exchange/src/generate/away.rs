//! Locations, and what is away: with a contractor or on its way back, some of it overdue.

use super::component::Component;
use super::fitment::End;
use super::names;
use super::sink::Maybe;
use super::span::Moment;
use super::troubles::{AT_CONTRACTOR, IN_TRANSIT};
use super::{Generator, Result};
use crate::columns::{LOCATIONS, RELOCATIONS};
use domain::configuration::component::Condition;
use domain::configuration::location::LocationKind;
use domain::time::Day;

/// How long a contractor says an overhaul takes.
const OVERHAUL_DAYS: i64 = 60;
/// How long the way from one depot to another takes.
const WAY_DAYS: i64 = 4;

impl Generator<'_> {
    /// Writes what the locations of everybody are.
    pub(super) fn write_shared_locations(&mut self) -> Result<()> {
        self.write_location(names::CONTRACTOR, LocationKind::Contractor)?;
        self.write_location(names::IN_TRANSIT, LocationKind::InTransit)
    }

    /// Writes what the locations of a depot are.
    pub(super) fn write_locations(&mut self, depot: &str) -> Result<()> {
        self.write_location(&names::store(depot), LocationKind::Store)?;
        self.write_location(&names::workshop(depot), LocationKind::Workshop)?;
        self.write_location(&names::quarantine(depot), LocationKind::Quarantine)
    }

    fn write_location(&mut self, name: &str, kind: LocationKind) -> Result<()> {
        let since = self.span.begins;
        self.write(
            &LOCATIONS,
            &[
                ("location", &name),
                ("kind", &kind.name()),
                ("since", &since),
            ],
        )
    }

    /// Sends some of the worn components that wait for work away, in turn.
    pub(super) fn send_away(
        &mut self,
        component: &Component,
        end: &End,
        depot: &str,
    ) -> Result<()> {
        let sent = end.at.day.plus_days(2);
        if end.condition != Condition::Unserviceable || self.span.ago(1) < sent {
            return Ok(());
        }
        self.worn += 1;
        if AT_CONTRACTOR.strikes(self.worn) {
            let expected = Some(sent.plus_days(OVERHAUL_DAYS));
            return self.send(component, (names::CONTRACTOR, None), (sent, expected));
        }
        if IN_TRANSIT.strikes(self.worn) {
            let sent = self.span.ago(WAY_DAYS + 2).max(sent);
            let to = Some(names::workshop(depot));
            let expected = Some(sent.plus_days(WAY_DAYS));
            return self.send(component, (names::IN_TRANSIT, to), (sent, expected));
        }
        Ok(())
    }

    fn send(
        &mut self,
        component: &Component,
        (to, bound_for): (&str, Option<String>),
        (sent, expected): (Day, Option<Day>),
    ) -> Result<()> {
        self.write(
            &RELOCATIONS,
            &[
                ("part", &component.part),
                ("serial", &component.serial),
                ("to", &to),
                ("bound_for", &Maybe(bound_for)),
                ("expected_on", &Maybe(expected)),
                ("at", &Moment::removal_on(sent)),
            ],
        )
    }
}
