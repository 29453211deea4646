//! What a stop asks of adhesion and of discs and wheels, before and after the cut-outs, with the
//! demand shared out anew over the brakes that are left and without, against the limits of the
//! car types. Both cases are always computed; which of them holds, the car types say.

use super::gathered::{Gathered, Wheels, Working};
use crate::braking::disc_brake::adhesion_used;
use crate::braking::forces::SOURCE;
use crate::braking::forces::retarding::Retarding;
use crate::braking::heat::braking_energy;
use crate::braking::stopping_distance::Stop;
use crate::configuration::brake_forces::{ActsOn, DemandSharing};
use crate::decision::Question;
use crate::identity::{ActuatorGroupName, CarNumber};
use crate::units::{Kilograms, Kilonewtons, Megajoules, Thousandths};
use crate::worked::{Missing, MissingFact, Step, Worked};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

const ADHESION_SOURCE: &str = "EN 14531-1, τ = F/(m·g), from memory; limit entered with the car \
     type; compare Regulation (EU) 1302/2014, 4.2.4.6.1";

/// One figure in three cases.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Asked<T> {
    /// With everything as it should be.
    pub before: T,
    /// As it is, each brake doing what it did.
    pub not_shared: T,
    /// As it is, the brakes that are left doing the work of all.
    pub shared: T,
}

impl<T: Copy> Asked<T> {
    /// The figure in the case that a car type says holds.
    pub fn after(&self, sharing: DemandSharing) -> T {
        match sharing {
            DemandSharing::NotShared => self.not_shared,
            DemandSharing::OverTheTrain => self.shared,
        }
    }
}

/// The adhesion that one braked axle uses.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AxleAdhesion {
    /// The car.
    pub car: CarNumber,
    /// The axle.
    pub axle: u8,
    /// The adhesion used.
    pub used: Asked<f64>,
    /// The most that its car type allows; none where that is not known.
    pub limit: Option<Thousandths>,
}

/// The energy that one stop puts into each disc or wheel of a group.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupHeat {
    /// The car.
    pub car: CarNumber,
    /// The group.
    pub group: ActuatorGroupName,
    /// What each of its actuators acts on.
    pub acts_on: ActsOn,
    /// The energy into each.
    pub each: Asked<Megajoules>,
    /// The most that its car type allows; none where that is not known.
    pub limit: Option<Megajoules>,
}

/// What a stop asks of axles and discs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limits {
    /// What the car types say of the brakes that are left; none where they do not agree or one
    /// of them says nothing.
    pub sharing: Option<DemandSharing>,
    /// Every axle that still brakes, in the order of the train.
    pub axles: Vec<AxleAdhesion>,
    /// Every group of every car that still brakes, in the order of the train.
    pub heat: Vec<GroupHeat>,
}

/// Computes both. No answer without a speed and a gradient, or where the train does not stop.
/// Near linear in actuators.
pub(super) fn limits(
    gathered: &Gathered<'_>,
    question: &Question,
    (before, after): (&[Working], &[Working]),
    retarding: (&Retarding, &Retarding),
) -> Result<Worked<Limits>, Missing> {
    let counted = |working: &[Working]| sum(working, |one| gathered.counted(one, Wheels::Worn));
    let forces = (counted(before), counted(after));
    let factor = if forces.1 > 0.0 {
        forces.0 / forces.1
    } else {
        1.0
    };
    let energies = energies(gathered, question, retarding)?;
    let mut steps = vec![sharing_step(forces, factor)];
    let axles = axles(gathered, question, (before, after), factor);
    steps.extend(worst_axle(&axles));
    steps.push(energy_step(&energies));
    let heat = heat(gathered, question, (before, after), &energies);
    let hottest = heat.iter().max_by(|one, other| {
        let (one, other) = (one.each.not_shared.0, other.each.not_shared.0);
        one.total_cmp(&other)
    });
    steps.extend(hottest.map(heat_step));
    let value = Limits {
        sharing: sharing(gathered),
        axles,
        heat,
    };
    Ok(Worked { value, steps })
}

/// A force of each, together.
fn sum(working: &[Working], force: impl Fn(&Working) -> Kilonewtons) -> f64 {
    working.iter().map(|one| force(one).0).sum()
}

/// What all car types that brake say, where they agree.
fn sharing(gathered: &Gathered<'_>) -> Option<DemandSharing> {
    let braked = gathered.types.iter().filter(|of| !of.groups.is_empty());
    let said: BTreeSet<_> = braked.map(|of| of.car_type.forces.demand_sharing).collect();
    match said.into_iter().collect::<Vec<_>>().as_slice() {
        [one] => *one,
        _ => None,
    }
}

/// The energy of the whole stop in each case.
fn energies(
    gathered: &Gathered<'_>,
    question: &Question,
    (sound, left): (&Retarding, &Retarding),
) -> Result<Asked<Megajoules>, Missing> {
    let lacking = |what: &str| MissingFact {
        what: what.to_owned(),
        of: "the question".to_owned(),
    };
    let (Some(speed), Some(gradient)) = (question.way.speed, question.way.gradient) else {
        let speed = question.way.speed.is_none();
        let gradient = question.way.gradient.is_none();
        let speed = speed.then(|| lacking("speed to stop from"));
        let gradient = gradient.then(|| lacking("gradient"));
        return Err(Missing(speed.into_iter().chain(gradient).collect()));
    };
    let energy = |retarding: &Retarding| match retarding.stop(gradient, speed) {
        Stop::After(distance) => Ok(braking_energy(
            gathered.masses(),
            speed,
            (gradient, distance),
        )),
        Stop::Never => {
            let of = "heat of a stop: the train does not stop on this gradient";
            Err(Missing::one("a stop", of))
        }
    };
    let shared = left.scaled_to(sound.force());
    Ok(Asked {
        before: energy(sound)?,
        not_shared: energy(left)?,
        shared: energy(&shared)?,
    })
}

/// The force of each axle, by car and axle.
fn by_axle(gathered: &Gathered<'_>, working: &[Working]) -> BTreeMap<(usize, u8), f64> {
    let mut forces = BTreeMap::new();
    for one in working {
        if let Some(axle) = one.axle {
            let force = gathered.asks(one, Wheels::Worn).0;
            *forces.entry((one.car, axle)).or_insert(0.0) += force;
        }
    }
    forces
}

fn axles(
    gathered: &Gathered<'_>,
    question: &Question,
    (before, after): (&[Working], &[Working]),
    factor: f64,
) -> Vec<AxleAdhesion> {
    let sound = by_axle(gathered, before);
    let left = by_axle(gathered, after);
    let of_axle = |(&(place, axle), &force): (&(usize, u8), &f64)| {
        let car = question.cars.get(place)?;
        let car_type = car.circuit.car_type();
        let axles = i64::try_from(car_type.axles().count()).ok()?;
        let load = Kilograms(car_type.mass(question.load)?.0.checked_div(axles)?);
        let used = |force: f64| adhesion_used(Kilonewtons(force), load);
        Some(AxleAdhesion {
            car: car.number.clone(),
            axle,
            used: Asked {
                before: used(sound.get(&(place, axle)).copied().unwrap_or(0.0)),
                not_shared: used(force),
                shared: used(force * factor),
            },
            limit: car_type.forces.adhesion_max,
        })
    };
    left.iter().filter_map(of_axle).collect()
}

fn heat(
    gathered: &Gathered<'_>,
    question: &Question,
    (before, after): (&[Working], &[Working]),
    energies: &Asked<Megajoules>,
) -> Vec<GroupHeat> {
    let asked = |one: &Working| gathered.asks(one, Wheels::New);
    let (all, left) = (sum(before, asked), sum(after, asked));
    // The most that one of a group does, since a load signal may be lost on part of it.
    let mut most: BTreeMap<(usize, usize), f64> = BTreeMap::new();
    for one in after {
        let most = most.entry((one.car, one.of.1)).or_default();
        *most = most.max(asked(one).0);
    }
    let of_group = |((place, group), most): ((usize, usize), f64)| {
        let car = question.cars.get(place)?;
        let found = gathered.group((*gathered.type_of.get(place)?, group));
        let sound = found.each(Wheels::New).0;
        let into = |energy: Megajoules, (each, of): (f64, f64)| Megajoules(energy.0 * each / of);
        let limit = found.group.stop_energy_max_kj;
        Some(GroupHeat {
            car: car.number.clone(),
            group: found.group.name.clone(),
            acts_on: found.group.acts_on,
            each: Asked {
                before: into(energies.before, (sound, all)),
                not_shared: into(energies.not_shared, (most, left)),
                shared: into(energies.shared, (most, left)),
            },
            limit: limit.map(|kilojoules| Megajoules(f64::from(kilojoules) / 1000.0)),
        })
    };
    let braking = most.into_iter().filter(|_| all > 0.0 && left > 0.0);
    braking.filter_map(of_group).collect()
}

fn sharing_step((before, after): (f64, f64), factor: f64) -> Step {
    let (before, after) = (Kilonewtons(before), Kilonewtons(after));
    let working = format!(
        "all brakes on worn wheels {before}, those left {after}: shared out anew each does \
         {factor:.4} of what it did; whether cylinder pressures allow it is not asked"
    );
    Step::published("demand shared out anew", working, SOURCE)
}

fn worst_axle(axles: &[AxleAdhesion]) -> Option<Step> {
    let most = |one: &&AxleAdhesion, other: &&AxleAdhesion| {
        one.used.not_shared.total_cmp(&other.used.not_shared)
    };
    let axle = axles.iter().max_by(most)?;
    let Asked {
        before,
        not_shared,
        shared,
    } = axle.used;
    let working = format!(
        "car {} axle {}, its share of the car's mass equal to that of the others, on worn wheels: \
         {before:.4} before, {not_shared:.4} as it is, {shared:.4} shared out anew",
        axle.car, axle.axle
    );
    let what = "adhesion of the axle that uses most";
    Some(Step::published(what, working, ADHESION_SOURCE))
}

fn energy_step(energies: &Asked<Megajoules>) -> Step {
    let working = format!(
        "½·m·v² of static and rotating mass, and m·g·h of the gradient: {} before, {} as it is, {} \
         shared out anew; each brake takes the share of its force",
        energies.before, energies.not_shared, energies.shared
    );
    Step::published("energy of the stop", working, "physics")
}

fn heat_step(heat: &GroupHeat) -> Step {
    let Asked {
        before,
        not_shared,
        shared,
    } = heat.each;
    let working = format!(
        "car {}, {}: {before:.3} before, {not_shared:.3} as it is, {shared:.3} shared out anew",
        heat.car, heat.group
    );
    Step::published("energy into what takes most", working, "physics")
}
