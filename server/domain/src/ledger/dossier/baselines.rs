//! Which revision of its car type is in force for a car on a day.

use super::{Documents, InForce};
use crate::circuit::compiled::CompiledCircuit;
use crate::configuration::car::Car;
use crate::configuration::car_type::{CarType, Position};
use crate::configuration::effectivity::{Effectivity, RevisionPeriod, in_force, periods};
use crate::identity::{CarTypeName, Revision, SettingName};
use crate::ledger::departures::Departing;
use crate::ledger::entry::Seq;
use crate::time::Day;
use std::sync::Arc;

impl Documents {
    /// What was said of cars of a type, in the order in which it was recorded.
    pub fn effectivities(&self, car_type: &CarTypeName) -> &[(Seq, Effectivity)] {
        self.effectivities.get(car_type).map_or(&[], Vec::as_slice)
    }

    /// Adds what an entry says of cars of a type.
    pub fn put_effectivity(&mut self, by: Seq, effectivity: Effectivity) {
        let of_type = self.effectivities.entry(effectivity.car_type.clone());
        of_type.or_default().push((by, effectivity));
    }

    /// The revision in force for a car on a day; see [`in_force`].
    pub fn revision<'a>(&'a self, car: &'a Car, on: Day) -> &'a Revision {
        let said = self.effectivities(&car.car_type);
        in_force(said, (&car.number, &car.revision), on)
    }

    /// Gives a car the revision that is in force for it on a day in place of the one it is
    /// registered with, for showing; said twice for one day, it changes nothing more.
    pub fn as_on(&self, car: &mut Car, on: Day) {
        car.revision = self.revision(car, on).clone();
    }

    /// The revisions of a car one after another; see [`periods`].
    pub fn revision_periods<'a>(&'a self, car: &'a Car) -> Vec<RevisionPeriod<'a>> {
        let said = self.effectivities(&car.car_type);
        periods(said, (&car.number, &car.revision))
    }

    /// The places of a car that ask for settings on a day, as its baseline has them; none where
    /// the revision is not in the register. Linear in the positions of the revision.
    pub fn places_with_settings(&self, car: &Car, on: Day) -> Vec<Position> {
        let design = self.car_type(car, on).into_iter();
        design.flat_map(|design| self.settable(design)).collect()
    }

    /// The places of a revision that ask for a setting. Linear in its positions.
    pub fn places_set_by<'a>(
        &'a self,
        design: &'a CarType,
        name: &'a SettingName,
    ) -> impl Iterator<Item = Position> + 'a {
        let places = self.settable(design);
        places.filter(|place| place.setting(name).is_some())
    }

    fn settable<'a>(&'a self, design: &'a CarType) -> impl Iterator<Item = Position> + 'a {
        let set = design.positions.iter();
        let set = set.filter(|position| !position.settings.is_empty());
        set.filter_map(|position| Some(self.place(design, &position.code)?.position))
    }

    /// Whether a revision that is ever in force for a car asks for a setting at one of some
    /// places. Linear in the positions of its revisions.
    pub fn asks_for_settings(&self, car: &Car, places: &Departing) -> bool {
        let periods = self.revision_periods(car).into_iter();
        let mut designs = periods.filter_map(|period| self.design(&car.car_type, period.revision));
        designs.any(|design| {
            let mut set = design.document.positions.iter();
            set.any(|position| !position.settings.is_empty() && places.covers(&position.code))
        })
    }

    /// A revision of a car type.
    pub fn design(
        &self,
        name: &CarTypeName,
        revision: &Revision,
    ) -> Option<&InForce<Arc<CarType>>> {
        self.car_types.get(&(name.clone(), revision.clone()))
    }

    /// The baseline in force for a car on a day.
    pub fn car_type(&self, car: &Car, on: Day) -> Option<&Arc<CarType>> {
        let found = self.design(&car.car_type, self.revision(car, on))?;
        Some(&found.document)
    }

    /// The circuit in force for a car on a day.
    pub fn circuit(&self, car: &Car, on: Day) -> Option<&Arc<CompiledCircuit>> {
        let revision = self.revision(car, on).clone();
        self.circuits.get(&(car.car_type.clone(), revision))
    }
}
