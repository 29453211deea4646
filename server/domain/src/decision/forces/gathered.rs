//! The facts that forces are computed from, car type by car type, none of them lacking.

use crate::braking::forces::retarding::{Joining, Retarding};
use crate::braking::forces::{SOURCE, equivalent_response, force_at_rail, force_working};
use crate::circuit::train::TrainCircuit;
use crate::configuration::brake_forces::{ActuatorGroup, CylinderPressure, WheelDiameters};
use crate::configuration::car_type::{BrakePosition, CarType, LoadState};
use crate::decision::{Question, TrainCar};
use crate::identity::PositionCode;
use crate::isolation::Supply;
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

/// Whether the load signal that governs a brake reaches the brake control.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum LoadSignal {
    /// It does, or none governs the brake.
    Reaches,
    /// It does not: the pressure is that for the load which is then taken.
    Lost,
}

/// What each actuator of a group gives at a pressure.
#[derive(Debug, Clone, Copy)]
struct GroupForce<'q> {
    pressure: &'q CylinderPressure,
    /// On new wheels.
    new: Kilonewtons,
    /// On worn wheels.
    worn: Kilonewtons,
    response: Seconds,
}

impl<'q> GroupForce<'q> {
    fn of(group: &ActuatorGroup, pressure: &'q CylinderPressure, wheels: WheelDiameters) -> Self {
        Self {
            pressure,
            new: force_at_rail(group, pressure, wheels.new_mm),
            worn: force_at_rail(group, pressure, wheels.worn_mm),
            response: equivalent_response(pressure),
        }
    }

    fn each(&self, wheels: Wheels) -> Kilonewtons {
        match wheels {
            Wheels::New => self.new,
            Wheels::Worn => self.worn,
        }
    }
}

/// A group of a car type in the case asked.
pub(super) struct GroupInCase<'q> {
    pub(super) group: &'q ActuatorGroup,
    new_mm: u16,
    with_signal: GroupForce<'q>,
    /// Without its load signal; the fact that is lacking where that is not known.
    without: Result<GroupForce<'q>, MissingFact>,
}

impl<'q> GroupInCase<'q> {
    /// A group in the case asked; none where its pressure is not known.
    fn of(
        group: &'q ActuatorGroup,
        car_type: &CarType,
        wheels: WheelDiameters,
        question: &Question,
    ) -> Option<Self> {
        let pressure = |load| group.pressure(question.brake_position, load);
        let force = |pressure| GroupForce::of(group, pressure, wheels);
        let without = || {
            let assumed = car_type.load_signal_lost.ok_or_else(|| {
                let what = "load that the brake control takes when its load signal is lost";
                lacking(car_type, what, "")
            })?;
            let load = assumed.counted(question.load, Supply::Now);
            let case = || case(group, question.brake_position, load);
            pressure(load)
                .map(force)
                .ok_or_else(|| lacking(car_type, "cylinder pressure", &case()))
        };
        Some(Self {
            group,
            new_mm: wheels.new_mm,
            with_signal: force(pressure(question.load)?),
            without: without(),
        })
    }

    /// The force of each actuator with its load signal.
    pub(super) fn each(&self, wheels: Wheels) -> Kilonewtons {
        self.with_signal.each(wheels)
    }

    /// What each actuator is counted with to retard the train: without its load signal no more
    /// than with it, since what a brake presses beyond the load that is there may only make
    /// wheels slide.
    fn counted(&self, signal: LoadSignal) -> &GroupForce<'q> {
        match (signal, &self.without) {
            (LoadSignal::Lost, Ok(force)) if force.new.0 <= self.with_signal.new.0 => force,
            _ => &self.with_signal,
        }
    }
}

/// A car type in the case asked.
pub(super) struct TypeForces<'q> {
    pub(super) car_type: &'q CarType,
    pub(super) rotating: Kilograms,
    pub(super) groups: Vec<GroupInCase<'q>>,
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
    /// Whether its load signal reaches the brake control.
    pub(super) signal: LoadSignal,
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

    /// The air-applied actuators that press. No answer where one of them has lost its load signal
    /// and what it does then is not known.
    pub(super) fn working(
        &self,
        circuit: &TrainCircuit,
        braked: &Braked,
    ) -> Result<Vec<Working>, Missing> {
        let mut missing = Vec::new();
        let mut working = Vec::with_capacity(braked.pressing.len());
        for node in &braked.pressing {
            let (car, compiled) = circuit.of_node(*node);
            let position = circuit.position_of(*node).map(|(_, position)| position);
            let of_type = self.type_of.get(car).copied();
            let (Some(position), Some(of_type)) = (position, of_type) else {
                continue;
            };
            let Some(group) = self.types[of_type].group_of.get(position) else {
                continue;
            };
            let signal = if braked.lacks_signal(circuit, *node) {
                LoadSignal::Lost
            } else {
                LoadSignal::Reaches
            };
            let of = (of_type, *group);
            if let (LoadSignal::Lost, Err(fact)) = (signal, &self.group(of).without) {
                missing.push(fact.clone());
            }
            working.push(Working {
                car,
                axle: compiled.axle,
                of,
                signal,
            });
        }
        Missing::unless_none(missing)?;
        Ok(working)
    }

    /// What an actuator asks of its wheels and discs: without its load signal that may be more
    /// than with it.
    pub(super) fn asks(&self, one: &Working, wheels: Wheels) -> Kilonewtons {
        let group = self.group(one.of);
        match (one.signal, &group.without) {
            (LoadSignal::Lost, Ok(force)) => force.each(wheels),
            _ => group.each(wheels),
        }
    }

    /// What an actuator is counted with to retard the train.
    pub(super) fn counted(&self, one: &Working, wheels: Wheels) -> Kilonewtons {
        self.group(one.of).counted(one.signal).each(wheels)
    }

    /// The group of an actuator.
    pub(super) fn group(&self, (of_type, group): (usize, usize)) -> &GroupInCase<'q> {
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
        let mut counts: BTreeMap<((usize, usize), LoadSignal), u32> = BTreeMap::new();
        for actuator in working {
            *counts.entry((actuator.of, actuator.signal)).or_default() += 1;
        }
        let joining = counts.iter().map(|((of, signal), count)| {
            let force = self.group(*of).counted(*signal);
            Joining {
                after: force.response,
                force: Kilonewtons(f64::from(*count) * force.new.0),
            }
        });
        let retarding = Retarding::new(self.mass, self.rotating(), joining)?;
        let steps = counts
            .iter()
            .map(|((of, signal), count)| self.group_step(*of, *signal, *count));
        Ok((retarding, steps.collect()))
    }

    fn group_step(&self, of: (usize, usize), signal: LoadSignal, count: u32) -> Step {
        let car_type = self.types[of.0].car_type;
        let group = self.group(of);
        let (name, revision) = (&car_type.name, &car_type.revision);
        let without = match signal {
            LoadSignal::Reaches => "",
            LoadSignal::Lost => ", load signal lost",
        };
        let what = format!(
            "{} of {name} revision {revision}{without}",
            group.group.name
        );
        let force = group.counted(signal);
        let each = force.new;
        let working = format!(
            "{}; {count} · {each:.3} = {:.1}, from {:.2} after the command",
            force_working(group.group, force.pressure, group.new_mm),
            Kilonewtons(f64::from(count) * each.0),
            force.response
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
            let found = GroupInCase::of(group, car_type, wheels, question);
            if found.is_none() {
                let case = case(group, question.brake_position, question.load);
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

fn case(group: &ActuatorGroup, position: BrakePosition, load: LoadState) -> String {
    let position = position.name();
    format!(", {}, brake position {position}, {load} load", group.name)
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
