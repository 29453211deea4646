//! Counts, side by side: actuators, axles, bogies, cars. Rule sets count differently.

use super::effect::{ActuatorEffect, Availability};
use serde::Serialize;
use std::collections::BTreeMap;

/// Actuators available of those there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Tally {
    /// Those that do their work.
    pub available: u32,
    /// All of them.
    pub total: u32,
}

impl Tally {
    /// Whether there are actuators and each is available.
    pub fn is_operative(self) -> bool {
        self.total > 0 && self.available == self.total
    }

    /// Whether some are available and some not.
    pub fn is_partial(self) -> bool {
        0 < self.available && self.available < self.total
    }

    fn add(&mut self, actuator: &ActuatorEffect) {
        self.total += 1;
        self.available += u32::from(actuator.availability == Availability::Available);
    }
}

/// The actuators of one axle or bogie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct GroupTally {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The number of the axle or bogie on the car, from end 1.
    pub number: u8,
    /// Its actuators.
    #[serde(flatten)]
    pub tally: Tally,
}

/// How many axles, bogies or cars still brake. Those without an actuator that is counted in the
/// mode are in none of these figures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Share {
    /// All of their actuators are available.
    pub operative: u32,
    /// Some are and some are not.
    pub partial: u32,
    /// All that have an actuator.
    pub total: u32,
}

impl Share {
    fn of(tallies: impl Iterator<Item = Tally>) -> Self {
        let mut share = Self::default();
        for tally in tallies.filter(|tally| tally.total > 0) {
            share.operative += u32::from(tally.is_operative());
            share.partial += u32::from(tally.is_partial());
            share.total += 1;
        }
        share
    }
}

/// All counts of a train in one mode: of the air-applied actuators in service and emergency, of
/// the spring-applied ones in holding.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Counts {
    /// By actuator.
    pub actuators: Tally,
    /// By axle.
    pub axles: Share,
    /// By bogie.
    pub bogies: Share,
    /// By car.
    pub cars: Share,
    /// Each axle that has an actuator.
    pub each_axle: Vec<GroupTally>,
    /// Each bogie that has one.
    pub each_bogie: Vec<GroupTally>,
    /// Every car, in the order of the train, whether it has one or not.
    pub each_car: Vec<Tally>,
}

impl Counts {
    /// Counts actuators of a train of so many cars.
    pub(super) fn of<'a>(actuators: impl Iterator<Item = &'a ActuatorEffect>, cars: usize) -> Self {
        let mut counts = Self {
            each_car: vec![Tally::default(); cars],
            ..Self::default()
        };
        let (mut axles, mut bogies) = (BTreeMap::new(), BTreeMap::new());
        for actuator in actuators {
            counts.actuators.add(actuator);
            counts.each_car[actuator.car].add(actuator);
            add_to_group(&mut axles, actuator.axle, actuator);
            add_to_group(&mut bogies, actuator.bogie, actuator);
        }
        counts.axles = Share::of(axles.values().copied());
        counts.bogies = Share::of(bogies.values().copied());
        counts.cars = Share::of(counts.each_car.iter().copied());
        counts.each_axle = groups(axles);
        counts.each_bogie = groups(bogies);
        counts
    }
}

type Groups = BTreeMap<(usize, u8), Tally>;

fn add_to_group(groups: &mut Groups, number: Option<u8>, actuator: &ActuatorEffect) {
    if let Some(number) = number {
        let tally = groups.entry((actuator.car, number)).or_default();
        tally.add(actuator);
    }
}

fn groups(groups: Groups) -> Vec<GroupTally> {
    groups
        .into_iter()
        .map(|((car, number), tally)| GroupTally { car, number, tally })
        .collect()
}
