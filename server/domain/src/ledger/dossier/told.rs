//! What was told of cars, units and trains, by the times from which it holds. Of each the latest
//! stands, whichever was recorded last; what lies before it is history.

use super::Dossier;
use crate::configuration::car::{Car, Train, Unit};
use crate::identity::{CarNumber, TrainId, UnitNumber};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::ledger::subjects::{EntrySubject, SubjectKind};
use crate::time::Instant;
use std::collections::{BTreeMap, HashMap};

/// From when something holds, and the entry that says so.
type When = (Instant, Seq);

/// What was told of one thing, in the order of time.
type Times<T> = BTreeMap<When, T>;

/// What the dossier holds of what was told, beside what stands: all that lies between, where
/// something is told late, and all that was folded.
#[derive(Debug, Default)]
pub(super) struct Told {
    cars: HashMap<CarNumber, Times<Car>>,
    units: HashMap<UnitNumber, Times<Unit>>,
    trains: HashMap<TrainId, Times<Train>>,
}

impl Dossier {
    /// Notes what an entry tells of a car, unit or train, which is no change.
    pub fn load_told(&mut self, entry: &Entry) {
        let when = (entry.effective_at, entry.seq);
        let told = &mut self.told;
        match &entry.fact {
            Fact::CarRegistered(car) => {
                let times = told.cars.entry(car.number.clone()).or_default();
                times.insert(when, car.clone());
            }
            Fact::UnitFormed(unit) => {
                let times = told.units.entry(unit.number.clone()).or_default();
                times.insert(when, unit.clone());
            }
            Fact::TrainFormed(train) => {
                let times = told.trains.entry(train.id.clone()).or_default();
                times.insert(when, train.clone());
            }
            _ => {}
        }
    }

    /// Those of some cars, units and trains, each with the earliest time that matters, of which
    /// what stands holds from later on: what was told of them between is to be loaded.
    pub fn told_late(&self, wanted: &BTreeMap<EntrySubject, Instant>) -> Vec<EntrySubject> {
        if wanted.is_empty() {
            return Vec::new();
        }
        let cars = self.cars.values().map(|known| {
            let name = known.car.number.to_string();
            (SubjectKind::Car, name, known.registered_at)
        });
        let units = self.units.values().map(|known| {
            let name = known.formation.number.to_string();
            (SubjectKind::Unit, name, known.formed_at)
        });
        let trains = self.trains.values().map(|known| {
            let name = known.formation.id.to_string();
            (SubjectKind::Train, name, known.formed_at)
        });
        let late = cars.chain(units).chain(trains);
        let late = late.filter_map(|(kind, name, since)| {
            let subject = EntrySubject { kind, name };
            let is_late = wanted.get(&subject).is_some_and(|at| *at < since);
            is_late.then_some(subject)
        });
        late.collect()
    }

    /// The entry that tells something else of the same car, unit or train from the same moment on.
    pub(crate) fn told_otherwise(&self, fact: &Fact, at: Instant) -> Option<Seq> {
        match fact {
            Fact::CarRegistered(car) => {
                let stands = self.cars.get(&car.number);
                let stands =
                    stands.map(|known| ((known.registered_at, known.registered_by), &known.car));
                otherwise(self.told.cars.get(&car.number), stands, (car, at))
            }
            Fact::UnitFormed(unit) => {
                let stands = self.units.get(&unit.number);
                let stands = stands.map(|known| ((known.formed_at, known.by), &known.formation));
                otherwise(self.told.units.get(&unit.number), stands, (unit, at))
            }
            Fact::TrainFormed(train) => {
                let stands = self.trains.get(&train.id);
                let stands = stands.map(|known| ((known.formed_at, known.by), &known.formation));
                otherwise(self.told.trains.get(&train.id), stands, (train, at))
            }
            _ => None,
        }
    }

    /// A unit as it was formed at a time; none where it was not formed yet.
    pub(crate) fn unit_at(&self, number: &UnitNumber, at: Instant) -> Option<&Unit> {
        let stands = self.units.get(number).filter(|known| known.formed_at <= at);
        if let Some(known) = stands {
            return Some(&known.formation);
        }
        let times = self.told.units.get(number)?;
        let last = times.range(..=(at, Seq(i64::MAX))).next_back();
        last.map(|(_, unit)| unit)
    }

    /// From when a unit was formed first, as far as the dossier holds that.
    pub(crate) fn unit_first_formed(&self, number: &UnitNumber) -> Option<When> {
        let told = self.told.units.get(number);
        let told = told.and_then(|times| times.keys().next().copied());
        let stands = self
            .units
            .get(number)
            .map(|known| (known.formed_at, known.by));
        told.into_iter().chain(stands).min()
    }

    /// How a unit was formed last, but for what one entry says.
    pub(crate) fn unit_without(&self, number: &UnitNumber, by: Seq) -> Option<(When, &Unit)> {
        without(self.told.units.get(number)?, by)
    }

    /// How a train was formed last, but for what one entry says.
    pub(crate) fn train_without(&self, id: &TrainId, by: Seq) -> Option<(When, &Train)> {
        without(self.told.trains.get(id)?, by)
    }

    /// Forgets how an entry that is taken back formed a unit or train.
    pub(crate) fn drop_told(&mut self, entry: &Entry) {
        let when = (entry.effective_at, entry.seq);
        match &entry.fact {
            Fact::UnitFormed(unit) => {
                if let Some(times) = self.told.units.get_mut(&unit.number) {
                    times.remove(&when);
                }
            }
            Fact::TrainFormed(train) => {
                if let Some(times) = self.told.trains.get_mut(&train.id) {
                    times.remove(&when);
                }
            }
            _ => {}
        }
    }

    /// The cars that a unit was ever told to be of, as far as the dossier holds that.
    pub(crate) fn cars_told_of(&self, number: &UnitNumber) -> impl Iterator<Item = &CarNumber> {
        let told = self.told.units.get(number).into_iter().flatten();
        let stands = self.units.get(number).map(|known| &known.formation);
        let all = told.map(|(_, unit)| unit).chain(stands);
        all.flat_map(|unit| unit.cars.iter().map(|place| &place.car))
    }
}

fn without<T>(times: &Times<T>, entry: Seq) -> Option<(When, &T)> {
    let mut others = times.iter().filter(|((_, by), _)| *by != entry);
    others.next_back().map(|(when, told)| (*when, told))
}

fn otherwise<T: PartialEq>(
    told: Option<&Times<T>>,
    stands: Option<(When, &T)>,
    (says, at): (&T, Instant),
) -> Option<Seq> {
    let told = told.into_iter().flatten();
    let all = told.map(|(when, told)| (*when, told)).chain(stands);
    let mut then = all.filter(|((since, _), _)| *since == at);
    then.find(|(_, told)| *told != says).map(|((_, by), _)| by)
}
