//! Use of which no reading tells. What came off a car after the last reading of its meter ran from
//! then on what the car's daily rate says, until a later reading of that car tells it.

use crate::configuration::component::PositionRef;
use crate::identity::{CarNumber, TaskCode};
use crate::ledger::dossier::Fitment;
use crate::ledger::standing::ComponentHistory;
use crate::time::{Instant, Zone};
use crate::units::Meter;
use crate::usage::carried::KnownSince;

/// When a meter of a car was last read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastRead {
    /// The car.
    pub car: CarNumber,
    /// Which meter.
    pub meter: Meter,
    /// When.
    pub at: Instant,
}

/// A fitment that ended after the last reading of its car: its use is estimated from there on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Estimated {
    /// Where it was.
    pub at: PositionRef,
    /// When the car was last read.
    pub read: Instant,
    /// When it came off.
    pub until: Instant,
}

impl Estimated {
    /// What is estimated of a fitment by a meter, if that is. Linear in the meters.
    pub fn of(fitment: &Fitment, meter: Meter, last_read: &[LastRead]) -> Option<Self> {
        let end = fitment.end.as_ref()?;
        fitment.meters_until[meter]?;
        let car = &fitment.at.car;
        let mut of_car = last_read.iter().filter(|one| one.car == *car);
        let read = of_car.find(|one| one.meter == meter)?.at;
        (read < end.at).then(|| Self {
            at: fitment.at.clone(),
            read,
            until: end.at,
        })
    }

    /// In words, without what it is an estimate of.
    pub fn told(&self, zone: &Zone) -> String {
        format!(
            "car {} was last read on {}, and it came off on {}",
            self.at.car,
            zone.day_of(self.read),
            zone.day_of(self.until)
        )
    }
}

impl ComponentHistory<'_> {
    /// The estimates on which the limit of a task by a meter rests at a moment: since the last gap
    /// in its use, and since the task was last done. Linear in its fitments, times the meters of
    /// their cars, and in the work done.
    pub fn estimated_for(&self, task: &TaskCode, meter: Meter, at: Instant) -> Vec<Estimated> {
        let first = match self.known_since(at)[meter] {
            KnownSince::Receipt => 0,
            KnownSince::Within(place) => place,
            KnownSince::End(place) => place + 1,
        };
        let done = self.done.iter().filter(|done| done.task == *task);
        let done = done.map(|done| done.at).filter(|done| *done <= at).max();
        let counts = |one: &Estimated| one.until <= at && done.is_none_or(|done| done < one.until);
        let fitments = self.fitments.iter().skip(first);
        fitments
            .filter_map(|fitment| Estimated::of(fitment, meter, self.last_read))
            .filter(counts)
            .collect()
    }
}
