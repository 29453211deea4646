//! Counts, side by side: actuators, axles, bogies, cars. Rule sets count differently.

use super::effect::{ActuatorEffect, Availability};
use serde::Serialize;

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
    /// Counts actuators, car by car, of a train of so many cars.
    pub(super) fn of<'a>(actuators: impl Iterator<Item = &'a ActuatorEffect>, cars: usize) -> Self {
        let mut counts = Self {
            each_car: vec![Tally::default(); cars],
            ..Self::default()
        };
        for actuator in actuators {
            counts.actuators.add(actuator);
            counts.each_car[actuator.car].add(actuator);
            add_to_group(&mut counts.each_axle, actuator.axle, actuator);
            add_to_group(&mut counts.each_bogie, actuator.bogie, actuator);
        }
        for groups in [&mut counts.each_axle, &mut counts.each_bogie] {
            groups.sort_unstable_by_key(|group| (group.car, group.number));
        }
        let share = |groups: &[GroupTally]| Share::of(groups.iter().map(|group| group.tally));
        counts.axles = share(&counts.each_axle);
        counts.bogies = share(&counts.each_bogie);
        counts.cars = Share::of(counts.each_car.iter().copied());
        counts
    }
}

/// Adds an actuator to its group. Actuators come car by car, so that it is among the last few.
fn add_to_group(groups: &mut Vec<GroupTally>, number: Option<u8>, actuator: &ActuatorEffect) {
    let Some(number) = number else {
        return;
    };
    let of_car = groups.iter().rev().take_while(|of| of.car == actuator.car);
    let first = groups.len() - of_car.count();
    let known = groups[first..].iter().position(|of| of.number == number);
    let place = known.map_or(groups.len(), |place| first + place);
    if place == groups.len() {
        groups.push(GroupTally {
            car: actuator.car,
            number,
            tally: Tally::default(),
        });
    }
    groups[place].tally.add(actuator);
}
