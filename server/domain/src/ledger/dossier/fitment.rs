//! Fitments in two layers: where entries put a component, on a car or in an assembly; and where
//! that was on cars, through all the assemblies it was inside.

use super::MeterValues;
use crate::configuration::component::{ComponentRef, PositionRef, RemovalReason};
use crate::configuration::host::HostPosition;
use crate::identity::LocationName;
use crate::ledger::entry::Seq;
use crate::time::Instant;

/// The identity of a fitment. Those that an entry begins are numbered by it, two an entry at
/// most; where an inner component was on a car through its assembly, by its own fitment and that
/// of the two, its own or an assembly's, which began later.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FitmentId(pub i64);

/// The bits of a number that an entry gives: enough for a thousand million entries.
const OWN_BITS: u32 = 31;

impl FitmentId {
    /// The first or second fitment that an entry begins.
    pub fn of(entry: Seq, which: Which) -> Self {
        Self(entry.0 * 2 + i64::from(which == Which::Second))
    }

    /// A component's place on a car through assemblies: it has a fitment of its own, and the
    /// place on the car began with `begun`.
    fn through(own: FitmentId, begun: FitmentId) -> Self {
        Self(begun.0 << OWN_BITS | own.0)
    }

    /// Whether an entry began it, rather than a place inside an assembly.
    pub fn is_own(self) -> bool {
        self.0 >> OWN_BITS == 0
    }

    /// The fitment, its own or an assembly's, with which it began.
    fn begun(self) -> Self {
        if self.is_own() {
            self
        } else {
            Self(self.0 >> OWN_BITS)
        }
    }

    /// Whether it can have been there before an entry.
    pub fn is_before(self, entry: Seq) -> bool {
        let first = FitmentId::of(entry, Which::First).0;
        let own = self.0 & ((1 << OWN_BITS) - 1);
        own < first && self.begun().0 < first
    }
}

/// The first or second of two.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// The first.
    First,
    /// The second, of a swap.
    Second,
}

/// A time, closed at the start and open at the end; without an end it lasts for ever.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Period {
    /// From when.
    pub from: Instant,
    /// Until when.
    pub until: Option<Instant>,
}

impl Period {
    /// From a moment for ever.
    pub fn since(from: Instant) -> Self {
        Self { from, until: None }
    }

    /// Whether a moment lies in it.
    pub fn holds(self, at: Instant) -> bool {
        self.from <= at && self.until.is_none_or(|until| at < until)
    }

    /// What two periods share.
    pub fn meet(self, other: Self) -> Option<Self> {
        let from = self.from.max(other.from);
        let until = match (self.until, other.until) {
            (Some(one), Some(two)) => Some(one.min(two)),
            (one, two) => one.or(two),
        };
        until
            .is_none_or(|until| from < until)
            .then_some(Self { from, until })
    }
}

/// A component at a position of a car or of an assembly over a period, as entries say.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnFitment {
    /// Its identity.
    pub id: FitmentId,
    /// The component.
    pub component: ComponentRef,
    /// The position.
    pub at: HostPosition,
    /// From when.
    pub from: Instant,
    /// The entry that began it.
    pub fitted_by: Seq,
    /// Where the component came from, unless from another position.
    pub from_location: Option<LocationName>,
    /// How it ended.
    pub end: Option<FitmentEnd>,
}

/// A component at a position of a car over a period, be it through the assemblies it is inside.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitment {
    /// Its identity.
    pub id: FitmentId,
    /// The component.
    pub component: ComponentRef,
    /// The position, by the codes of all levels.
    pub at: PositionRef,
    /// From when.
    pub from: Instant,
    /// The entry that began it, for an inner component perhaps that of its assembly.
    pub fitted_by: Seq,
    /// Where the component came from, unless from another position.
    pub from_location: Option<LocationName>,
    /// How it ended.
    pub end: Option<FitmentEnd>,
    /// What the car's meters showed at its beginning.
    pub meters_from: MeterValues,
    /// What the car's meters showed at its end.
    pub meters_until: MeterValues,
}

/// The end of a fitment.
#[derive(Debug, Clone, PartialEq)]
pub struct FitmentEnd {
    /// When.
    pub at: Instant,
    /// The entry that ended it.
    pub by: Seq,
    /// Why the component was taken off; none where it went with the assembly it is inside.
    pub reason: Option<RemovalReason>,
    /// Where the component went, unless to another position.
    pub to: Option<LocationName>,
}

impl FitmentEnd {
    /// Why it ended, in words.
    pub fn why(&self) -> String {
        match self.reason {
            Some(reason) => reason.to_string(),
            None => "went with its assembly".to_owned(),
        }
    }
}

impl OwnFitment {
    /// How long it lasts.
    pub fn period(&self) -> Period {
        Period {
            from: self.from,
            until: self.end.as_ref().map(|end| end.at),
        }
    }

    /// The same as a place on a car, if it is one.
    pub(super) fn on_car(&self) -> Option<Fitment> {
        Some(Fitment {
            id: self.id,
            component: self.component.clone(),
            at: self.at.on_car()?,
            from: self.from,
            fitted_by: self.fitted_by,
            from_location: self.from_location.clone(),
            end: self.end.clone(),
            meters_from: MeterValues::default(),
            meters_until: MeterValues::default(),
        })
    }

    /// Where it was on a car while its assembly was there: from when the later of the two began
    /// until the earlier ended. None where they share no moment.
    pub(super) fn through(&self, assembly: &Fitment) -> Option<Fitment> {
        let shared = self.period().meet(assembly.period())?;
        let position = assembly.at.position.followed_by(&self.at.position)?;
        let own_begins = assembly.from <= self.from;
        let (begun, fitted_by, from_location) = if own_begins {
            (self.id, self.fitted_by, &self.from_location)
        } else {
            let begun = assembly.id.begun();
            (begun, assembly.fitted_by, &assembly.from_location)
        };
        let own_ends = self.end.as_ref().filter(|end| Some(end.at) == shared.until);
        let with_assembly = || {
            let end = assembly.end.clone()?;
            Some(FitmentEnd {
                reason: None,
                ..end
            })
        };
        Some(Fitment {
            id: FitmentId::through(self.id, begun),
            component: self.component.clone(),
            at: PositionRef {
                car: assembly.at.car.clone(),
                position,
            },
            from: shared.from,
            fitted_by,
            from_location: from_location.clone(),
            end: own_ends.cloned().or_else(with_assembly),
            meters_from: MeterValues::default(),
            meters_until: MeterValues::default(),
        })
    }
}

impl From<&Fitment> for OwnFitment {
    /// A fitment that an entry began on a car.
    fn from(fitment: &Fitment) -> Self {
        Self {
            id: fitment.id,
            component: fitment.component.clone(),
            at: fitment.at.clone().into(),
            from: fitment.from,
            fitted_by: fitment.fitted_by,
            from_location: fitment.from_location.clone(),
            end: fitment.end.clone(),
        }
    }
}

impl Fitment {
    /// How long it lasts.
    pub fn period(&self) -> Period {
        Period {
            from: self.from,
            until: self.end.as_ref().map(|end| end.at),
        }
    }

    /// Whether both say the same, but for what the meters showed.
    pub(super) fn says_the_same(&self, other: &Fitment) -> bool {
        let marked = Fitment {
            meters_from: self.meters_from,
            meters_until: self.meters_until,
            ..other.clone()
        };
        *self == marked
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::host::Host;

    fn moment(day: i64) -> Instant {
        Instant::from_microseconds(day * 86_400_000_000).expect("a moment")
    }

    fn component(part: &str) -> ComponentRef {
        ComponentRef {
            part: part.parse().expect("a part"),
            serial: "1".parse().expect("a serial"),
        }
    }

    fn own(
        entry: i64,
        (part, host, code): (&str, Host, &str),
        days: (i64, Option<i64>),
    ) -> OwnFitment {
        OwnFitment {
            id: FitmentId::of(Seq(entry), Which::First),
            component: component(part),
            at: HostPosition {
                host,
                position: code.parse().expect("a code"),
            },
            from: moment(days.0),
            fitted_by: Seq(entry),
            from_location: None,
            end: days.1.map(|until| FitmentEnd {
                at: moment(until),
                by: Seq(entry + 1),
                reason: Some(RemovalReason::Failed),
                to: None,
            }),
        }
    }

    fn valve(days: (i64, Option<i64>)) -> OwnFitment {
        own(10, ("V", Host::Assembly(component("P")), "-V2"), days)
    }

    fn panel(days: (i64, Option<i64>)) -> Fitment {
        let car = Host::Car("4101".parse().expect("a car"));
        let panel = own(20, ("P", car, "=B1-K1"), days);
        panel.on_car().expect("on a car")
    }

    #[test]
    fn an_inner_component_is_on_the_car_while_both_it_and_its_assembly_are_in_place() {
        let shared = valve((1, Some(9)))
            .through(&panel((3, Some(7))))
            .expect("days 3 to 7");
        assert_eq!(shared.at.to_string(), "=B1-K1-V2 of car 4101");
        assert_eq!((shared.from, shared.fitted_by), (moment(3), Seq(20)));
        let end = shared.end.expect("the panel came off");
        assert_eq!((end.at, end.by, end.reason), (moment(7), Seq(21), None));
        let taken_out = valve((4, Some(6)))
            .through(&panel((3, None)))
            .expect("days 4 to 6");
        let end = taken_out.end.expect("it was taken out");
        assert_eq!((end.by, end.reason), (Seq(11), Some(RemovalReason::Failed)));
        assert!(valve((1, Some(3))).through(&panel((3, None))).is_none());
    }

    #[test]
    fn its_identity_says_whether_it_can_have_been_there_before_an_entry() {
        let through = valve((1, None))
            .through(&panel((3, None)))
            .expect("from day 3");
        assert!(!through.id.is_own());
        assert!(through.id.is_before(Seq(21)));
        assert!(!through.id.is_before(Seq(20)));
        let own_begins = valve((5, None))
            .through(&panel((3, None)))
            .expect("from day 5");
        assert!(own_begins.id.is_before(Seq(11)));
        assert!(!own_begins.id.is_before(Seq(10)));
        assert_ne!(through.id, own_begins.id);
    }
}
