//! The facts that forces are computed from, car type by car type, none of them lacking.

use crate::braking::forces::retarding::{Joining, Retarding};
use crate::braking::forces::{SOURCE, equivalent_response, force_at_rail, force_working};
use crate::circuit::train::TrainCircuit;
use crate::configuration::brake_forces::{ActuatorGroup, CylinderPressure, WheelDiameters};
use crate::configuration::car_type::CarType;
use crate::decision::{Question, TrainCar};
use crate::identity::PositionCode;
use crate::isolation::brake_percentage::Braked;
use crate::units::{Kilograms, Kilonewtons, Seconds};
use crate::worked::{Missing, MissingFact, Step};
use std::collections::BTreeMap;

/// How worn the wheels are taken to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Wheels {
    /// New: for distances, since discs then brake least.
    New,
    /// Worn: for adhesion, since discs then ask most of it.
    Worn,
}

/// A group of a car type in the case asked.
pub(super) struct GroupForce<'q> {
    pub(super) group: &'q ActuatorGroup,
    pressure: &'q CylinderPressure,
    new_mm: u16,
    /// Of each actuator, new wheels.
    new: Kilonewtons,
    /// Of each actuator, worn wheels.
    worn: Kilonewtons,
    response: Seconds,
}

impl<'q> GroupForce<'q> {
    /// A group in the case asked; none where its pressure is not known.
    fn of(group: &'q ActuatorGroup, wheels: WheelDiameters, question: &Question) -> Option<Self> {
        let pressure = group.pressure(question.brake_position, question.load)?;
        Some(Self {
            group,
            pressure,
            new_mm: wheels.new_mm,
            new: force_at_rail(group, pressure, wheels.new_mm),
            worn: force_at_rail(group, pressure, wheels.worn_mm),
            response: equivalent_response(pressure),
        })
    }

    /// The force of each actuator.
    pub(super) fn each(&self, wheels: Wheels) -> Kilonewtons {
        match wheels {
            Wheels::New => self.new,
            Wheels::Worn => self.worn,
        }
    }

    /// The working of the force of each actuator on new wheels.
    fn working(&self) -> String {
        force_working(self.group, self.pressure, self.new_mm)
    }
}

/// A car type in the case asked.
pub(super) struct TypeForces<'q> {
    pub(super) car_type: &'q CarType,
    pub(super) rotating: Kilograms,
    pub(super) groups: Vec<GroupForce<'q>>,
    /// The group of each actuator, by place in `groups`.
    group_of: BTreeMap<&'q PositionCode, usize>,
}

/// All car types of a train.
pub(super) struct Gathered<'q> {
    mass: Kilograms,
    pub(super) types: Vec<TypeForces<'q>>,
    /// The type of each car, by place in `types`.
    pub(super) type_of: Vec<usize>,
}

/// An air-applied actuator that works.
#[derive(Debug, Clone, Copy)]
pub(super) struct Working {
    /// The car's place in the train.
    pub(super) car: usize,
    /// Its axle, where the circuit says so.
    pub(super) axle: Option<u8>,
    /// The car's type and the actuator's group, by their places.
    pub(super) of: (usize, usize),
}

impl<'q> Gathered<'q> {
    /// Gathers the facts of a question, or says which are lacking.
    pub(super) fn of(question: &'q Question) -> Result<Self, Missing> {
        let mass = question.mass()?;
        let (mut types, mut type_of) = (Vec::new(), Vec::new());
        let mut missing = Vec::new();
        let mut seen: Vec<&CarType> = Vec::new();
        for car in &question.cars {
            let car_type = car.circuit.car_type();
            let same = |other: &&CarType| {
                (&other.name, &other.revision) == (&car_type.name, &car_type.revision)
            };
            let place = seen.iter().position(same).unwrap_or_else(|| {
                seen.push(car_type);
                types.push(TypeForces::of(car, question, &mut missing));
                seen.len() - 1
            });
            type_of.push(place);
        }
        if missing.is_empty() {
            Ok(Self {
                mass,
                types,
                type_of,
            })
        } else {
            Err(Missing(missing))
        }
    }

    /// The air-applied actuators that press.
    pub(super) fn working(&self, circuit: &TrainCircuit, braked: &Braked) -> Vec<Working> {
        let working = braked.pressing.iter().filter_map(|node| {
            let (car, position) = circuit.position_of(*node)?;
            let (_, compiled) = circuit.of_node(*node);
            let of_type = *self.type_of.get(car)?;
            let group_of = &self.types[of_type].group_of;
            Some(Working {
                car,
                axle: compiled.axle,
                of: (of_type, *group_of.get(position)?),
            })
        });
        working.collect()
    }

    /// The group of an actuator.
    pub(super) fn group(&self, (of_type, group): (usize, usize)) -> &GroupForce<'q> {
        &self.types[of_type].groups[group]
    }

    fn rotating(&self) -> Kilograms {
        let of = |place: &usize| self.types[*place].rotating;
        self.type_of.iter().map(of).sum()
    }

    /// The static and the rotating mass of the train.
    pub(super) fn masses(&self) -> (Kilograms, Kilograms) {
        (self.mass, self.rotating())
    }

    /// What retards the train, and the steps that lead to it, on new wheels.
    pub(super) fn retarding(&self, working: &[Working]) -> Result<(Retarding, Vec<Step>), Missing> {
        let mut counts: BTreeMap<(usize, usize), u32> = BTreeMap::new();
        for actuator in working {
            *counts.entry(actuator.of).or_default() += 1;
        }
        let joining = counts.iter().map(|(of, count)| {
            let group = self.group(*of);
            Joining {
                after: group.response,
                force: Kilonewtons(f64::from(*count) * group.each(Wheels::New).0),
            }
        });
        let retarding = Retarding::new(self.mass, self.rotating(), joining)?;
        let steps = counts.iter();
        let steps = steps.map(|(of, count)| self.group_step(*of, *count));
        Ok((retarding, steps.collect()))
    }

    fn group_step(&self, of: (usize, usize), count: u32) -> Step {
        let car_type = self.types[of.0].car_type;
        let group = self.group(of);
        let (name, revision) = (&car_type.name, &car_type.revision);
        let what = format!("{} of {name} revision {revision}", group.group.name);
        let each = group.each(Wheels::New);
        let working = format!(
            "{}; {count} · {each:.3} = {:.1}, from {:.2} after the command",
            group.working(),
            Kilonewtons(f64::from(count) * each.0),
            group.response
        );
        let source = format!("{SOURCE}; figures entered with the car type");
        Step::published(what, working, &source)
    }
}

impl<'q> TypeForces<'q> {
    /// Everything of a car type; what is lacking is added to the list.
    fn of(car: &'q TrainCar, question: &Question, missing: &mut Vec<MissingFact>) -> Self {
        let car_type = car.circuit.car_type();
        let forces = &car_type.forces;
        if forces.rotating_mass.is_none() {
            missing.push(lacking(car_type, "rotating mass", ""));
        }
        if forces.wheels.is_none() && car.circuit.air_applied().next().is_some() {
            missing.push(lacking(car_type, "wheel diameters, new and worn", ""));
        }
        let groups = forces.groups.iter();
        let groups = groups.filter_map(|group| {
            let wheels = forces.wheels.filter(|wheels| 0 < wheels.worn_mm)?;
            let found = GroupForce::of(group, wheels, question);
            if found.is_none() {
                let (position, load) = (question.brake_position.name(), question.load);
                let case = format!(", {}, brake position {position}, {load} load", group.name);
                missing.push(lacking(car_type, "cylinder pressure", &case));
            }
            found
        });
        let groups = groups.collect();
        let mut group_of = BTreeMap::new();
        for (place, group) in forces.groups.iter().enumerate() {
            group_of.extend(group.positions.iter().map(|position| (position, place)));
        }
        let actuators = car.circuit.air_applied();
        let without = actuators.filter(|actuator| !group_of.contains_key(actuator));
        missing
            .extend(without.map(|one| lacking(car_type, "forces", &format!(", actuator {one}"))));
        Self {
            car_type,
            rotating: forces.rotating_mass.unwrap_or_default(),
            groups,
            group_of,
        }
    }
}

fn lacking(car_type: &CarType, what: &str, case: &str) -> MissingFact {
    MissingFact {
        what: what.to_owned(),
        of: format!(
            "car type {} revision {}{case}",
            car_type.name, car_type.revision
        ),
    }
}
