//! How the train brakes with nothing cut out, beside what Regulation (EU) 1302/2014 asks of a new
//! unit in fixed formation: for the brake engineer, who sees by it which margin a cut-out takes.
//! It is no judgement of the train: whether the regulation holds for it, the register does not
//! know. Only pages ask for it.

use super::{Decision, TrainCar};
use crate::braking::adhesion::{
    AdhesionCase, FrictionBrake, SlideProtectionTest, UnitKind, limit, slide_protection_required,
};
use crate::braking::forces::{equivalent_response, force_at_rail};
use crate::braking::requirements::{AtMost, DECELERATION, DELAY, response, stops};
use crate::braking::stopping_distance::Stop;
use crate::configuration::brake_forces::{ActsOn, ActuatorGroup, CylinderPressure};
use crate::configuration::car_type::{BrakePosition, CarType, LoadState, PositionKind};
use crate::units::{Deceleration, Distance, Gradient, Seconds, Speed};
use crate::worked::Missing;
use std::fmt::Display;

/// A figure beside what is asked of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// What it is.
    pub what: String,
    /// What was found.
    pub found: String,
    /// What is asked.
    pub asked: String,
    /// Whether it is as asked.
    pub kept: bool,
    /// The clause of the annex.
    pub clause: &'static str,
}

impl Compared {
    fn new<T>(what: &str, found: T, asked: AtMost<T>, clause: &'static str) -> Self
    where
        T: Display + PartialOrd + Copy,
    {
        Self {
            what: what.to_owned(),
            found: format!("{found:.2}"),
            asked: format!("{asked:.1}"),
            kept: asked.allows(found),
            clause,
        }
    }
}

/// A group that brakes, with its pressure in the case asked.
struct Braking<'a> {
    car_type: &'a CarType,
    group: &'a ActuatorGroup,
    pressure: &'a CylinderPressure,
}

/// The figures of a decision about these cars, asked about in this brake position and load. No
/// answer where there are no forces, or no greatest speed. Linear in groups of brakes, and in
/// axles.
pub fn performance(
    cars: &[TrainCar],
    (position, load): (BrakePosition, LoadState),
    decision: &Decision,
) -> Result<Vec<Compared>, Missing> {
    let (retarding, _) = match &decision.forces {
        Ok(forces) => &forces.before,
        Err(missing) => return Err(missing.clone()),
    };
    let lacking = || Missing::one("greatest speed of its cars", "the train");
    let design = decision.speed_max.ok_or_else(lacking)?;
    let braking: Vec<Braking<'_>> = cars
        .iter()
        .flat_map(|car| of_car(car, position, load))
        .collect();
    let slowest = |of: fn(&CylinderPressure) -> f64| {
        let all = braking.iter().map(|one| of(one.pressure));
        Seconds(all.fold(0.0, f64::max))
    };
    let rise = slowest(|pressure| equivalent_response(pressure).0);
    let delay = slowest(|pressure| f64::from(pressure.delay_ms) / 1000.0);
    let force: f64 = braking.iter().filter_map(on_worn_wheels).sum();
    let deceleration = Deceleration(force / retarding.dynamic_mass().tonnes());
    let mut found = vec![
        Compared::new(
            "equivalent response time of the slowest brakes",
            rise,
            response(design),
            "4.2.4.5.2(1)",
        ),
        Compared::new(
            "delay time of the slowest brakes",
            delay,
            DELAY,
            "4.2.4.5.2(1)",
        ),
        Compared::new(
            "mean deceleration with all friction brakes, wheels worn",
            deceleration,
            DECELERATION,
            "4.2.4.5.1",
        ),
    ];
    if load == LoadState::Normal {
        let stop = |from| match retarding.stop(Gradient(0.0), from) {
            Stop::After(distance) => distance,
            Stop::Never => Distance(f64::INFINITY),
        };
        found.extend(stops(design).map(|(from, within)| {
            let what = format!("stop from {from:.0} on the level");
            Compared::new(&what, stop(from), within, "4.2.4.5.2(9)")
        }));
    }
    found.extend(adhesion(cars, load, design, decision));
    found.extend(slide_protection(&braking, cars, design, decision));
    Ok(found)
}

fn of_car(
    car: &TrainCar,
    position: BrakePosition,
    load: LoadState,
) -> impl Iterator<Item = Braking<'_>> {
    let car_type = car.circuit.car_type();
    car_type.forces.groups.iter().filter_map(move |group| {
        let pressure = group.pressure(position, load)?;
        Some(Braking {
            car_type,
            group,
            pressure,
        })
    })
}

/// The force of a group on worn wheels, where discs brake most, in kilonewtons.
fn on_worn_wheels(one: &Braking<'_>) -> Option<f64> {
    let wheels = one.car_type.forces.wheels?;
    let each = force_at_rail(one.group, one.pressure, wheels.worn_mm);
    let actuators = u32::try_from(one.group.positions.len()).ok()?;
    Some(f64::from(actuators) * each.0)
}

/// The adhesion with nothing cut out, of the axle that uses most of those that still brake.
fn most_adhesion(decision: &Decision) -> Option<f64> {
    let limits = decision.forces.as_ref().ok()?.limits.as_ref().ok()?;
    let used = limits.value.axles.iter().map(|axle| axle.used.before);
    used.max_by(f64::total_cmp)
}

fn adhesion(
    cars: &[TrainCar],
    load: LoadState,
    design: Speed,
    decision: &Decision,
) -> Option<Compared> {
    let axles = cars
        .iter()
        .map(|car| car.circuit.car_type().axles().count());
    let case = AdhesionCase {
        unit: UnitKind::FixedFormation,
        axles: u32::try_from(axles.sum::<usize>()).ok()?,
        load,
        slide_protection_test: SlideProtectionTest::NotMade,
    };
    let asked = AtMost::UpTo(limit(case, design)?);
    // The clause compares values rounded to two decimals.
    let found = (100.0 * most_adhesion(decision)?).round() / 100.0;
    let what = "adhesion of the axle that uses most, wheels worn";
    Some(Compared {
        asked: format!("{asked:.2}"),
        ..Compared::new(what, found, asked, "4.2.4.6.1")
    })
}

/// Whether every axle has protection against sliding, where it is required.
fn slide_protection(
    braking: &[Braking<'_>],
    cars: &[TrainCar],
    design: Speed,
    decision: &Decision,
) -> Option<Compared> {
    let used = most_adhesion(decision)?;
    let tread = |one: &Braking<'_>| one.group.acts_on == ActsOn::Tread;
    let brake = if braking.iter().all(tread) {
        FrictionBrake::Tread
    } else {
        FrictionBrake::Disc
    };
    let required = slide_protection_required(design, brake, used);
    let axles = || {
        cars.iter().flat_map(|car| {
            let car_type = car.circuit.car_type();
            car_type
                .axles()
                .map(move |(_, axle)| (car_type, axle.number))
        })
    };
    let has_dump_valve = |(car_type, axle): &(&CarType, u8)| {
        let mut positions = car_type.positions.iter();
        positions.any(|of| of.kind == PositionKind::DumpValve && of.axle == Some(*axle))
    };
    let (protected, all) = (axles().filter(has_dump_valve).count(), axles().count());
    let by = format!("{design:.0}, adhesion {used:.3}, {brake} brake");
    Some(Compared {
        what: "axles with protection against sliding".to_owned(),
        found: format!("{protected} of {all}"),
        asked: if required {
            format!("all, by {by}")
        } else {
            format!("not required by {by}")
        },
        kept: !required || protected == all,
        clause: "4.2.4.6.2",
    })
}
