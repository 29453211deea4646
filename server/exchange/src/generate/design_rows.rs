//! A design as rows of the format: what its reader reads, written back.

use super::design::Design;
use super::sink::{Maybe, listed};
use super::{Generator, Result};
use crate::columns::{
    AXLES, BRAKE_GROUPS, BRAKED_WEIGHTS, CAR_TYPES, CYLINDER_PRESSURES, LINES, PART_POSITIONS,
    PARTS, POSITIONS, PROCEDURES, TASKS, Table,
};
use domain::circuit::{Behaviour, End, Mode};
use domain::configuration::brake_forces::{ActsOn, DemandSharing, WheelDiameters};
use domain::configuration::car_type::{
    AssumedLoad, BrakePosition, CarType, HandBrake, LoadState, Position, Side,
};
use domain::due::task::{AppliesTo, Interval, Limit, Task};
use domain::identity::{CarTypeName, PartNumber};
use domain::isolation::observed::During;
use domain::test_record::procedure::Procedure;
use domain::units::{Amount, Meter};
use std::fmt::Display;

type Values<'a> = Vec<(&'static str, &'a dyn Display)>;

impl Generator<'_> {
    /// Writes the tables of a design.
    pub(super) fn write_design(&mut self, design: &Design) -> Result<()> {
        for part in &design.parts {
            self.write(
                &PARTS,
                &[
                    ("part", &part.number),
                    ("title", &part.title),
                    ("kind", &part.kind.name()),
                    ("modification_states", &listed(&part.modification_states)),
                    ("replaces", &listed(&part.replaces)),
                ],
            )?;
            for position in &part.positions {
                self.write(
                    &PART_POSITIONS,
                    &[
                        ("part", &part.number),
                        ("position", &position.code),
                        ("title", &position.title),
                        ("kind", &position.kind.name()),
                        ("approved_parts", &listed(&position.approved)),
                        ("approved_states", &listed(&position.states)),
                        ("vacancy", &position.vacancy.name()),
                    ],
                )?;
            }
        }
        for car_type in &design.car_types {
            self.write_car_type(car_type)?;
            self.write_axles(car_type)?;
            for position in &car_type.positions {
                self.write_position(car_type, position)?;
            }
            self.write_lines(car_type)?;
            self.write_braked_weights(car_type)?;
            self.write_brake_groups(car_type)?;
        }
        design
            .tasks
            .iter()
            .try_for_each(|task| self.write_task(task))?;
        let mut procedures = design.procedures.iter();
        procedures.try_for_each(|procedure| self.write_procedure(procedure))?;
        let mut rule_sets = design.rule_sets.iter();
        rule_sets.try_for_each(|rule_set| self.write_rule_set(rule_set))
    }

    /// Writes a row of a table that belongs to a car type.
    fn write_of<'v>(
        &mut self,
        table: &'static Table,
        car_type: &'v CarType,
        mut values: Values<'v>,
    ) -> Result<()> {
        values.push(("car_type", &car_type.name));
        values.push(("revision", &car_type.revision));
        self.write(table, &values)
    }

    fn write_car_type(&mut self, car_type: &CarType) -> Result<()> {
        let hand_brake = Maybe(car_type.hand_brake.map(HandBrake::name));
        let load_signal_lost = Maybe(car_type.load_signal_lost.map(AssumedLoad::name));
        let usual_brake_position = car_type.usual_brake_position.map(BrakePosition::name);
        let mass = |load| Maybe(car_type.mass(load).map(|mass| mass.0));
        let forces = &car_type.forces;
        let sharing = forces.demand_sharing.map(DemandSharing::name);
        let wheel = |of: fn(&WheelDiameters) -> u16| Maybe(forces.wheels.as_ref().map(of));
        self.write_of(
            &CAR_TYPES,
            car_type,
            vec![
                ("fleet", &car_type.fleet),
                ("title", &car_type.title),
                ("vehicle_kind", &car_type.vehicle_kind.name()),
                ("hand_brake", &hand_brake),
                ("load_signal_lost", &load_signal_lost),
                ("usual_brake_position", &Maybe(usual_brake_position)),
                ("length_mm", &car_type.length_mm),
                ("speed_max_km_h", &car_type.speed_max_km_h),
                ("daily_km_max", &car_type.daily_km_max),
                ("mass_minimum_kg", &mass(LoadState::Minimum)),
                ("mass_normal_kg", &mass(LoadState::Normal)),
                ("mass_maximum_kg", &mass(LoadState::Maximum)),
                (
                    "rotating_mass_kg",
                    &Maybe(forces.rotating_mass.map(|mass| mass.0)),
                ),
                ("wheel_new_mm", &wheel(|wheels| wheels.new_mm)),
                ("wheel_worn_mm", &wheel(|wheels| wheels.worn_mm)),
                (
                    "adhesion_max_thousandths",
                    &Maybe(forces.adhesion_max.map(|most| most.0)),
                ),
                ("demand_sharing", &Maybe(sharing)),
                ("main_air_least_mbar", &Maybe(forces.main_air_least_mbar)),
            ],
        )
    }

    fn write_axles(&mut self, car_type: &CarType) -> Result<()> {
        for (bogie, axle) in car_type.axles() {
            let values: Values = vec![
                ("bogie", &bogie),
                ("axle", &axle.number),
                ("along_mm", &axle.along_mm),
            ];
            self.write_of(&AXLES, car_type, values)?;
        }
        Ok(())
    }

    fn write_position(&mut self, car_type: &CarType, position: &Position) -> Result<()> {
        let mut nodes = car_type.circuit.nodes.iter();
        let node = nodes.find(|node| node.position == position.code);
        let [behaviour, modes, venting, volume, force] = node
            .map(|node| behaviour_cells(&node.behaviour))
            .unwrap_or_default();
        let aliases = position.aliases.iter();
        let aliases = listed(aliases.map(|alias| format!("{}@{}", alias.name, alias.source)));
        self.write_of(
            &POSITIONS,
            car_type,
            vec![
                ("position", &position.code),
                ("title", &position.title),
                ("kind", &position.kind.name()),
                ("bogie", &Maybe(position.bogie)),
                ("axle", &Maybe(position.axle)),
                ("end", &Maybe(position.end.map(End::name))),
                ("side", &Maybe(position.side.map(Side::name))),
                ("along_mm", &position.along_mm),
                ("approved_parts", &listed(&position.approved)),
                ("approved_states", &listed(&position.states)),
                ("settings", &listed(&position.settings)),
                ("aliases", &aliases),
                ("behaviour", &behaviour),
                ("modes", &modes),
                ("venting", &venting),
                ("volume_l", &volume),
                ("holding_force_n", &force),
            ],
        )
    }

    fn write_lines(&mut self, car_type: &CarType) -> Result<()> {
        for line in &car_type.circuit.lines {
            let values: Values = vec![
                ("from", &line.from),
                ("to", &line.to),
                ("input", &line.input),
            ];
            let medium = line.medium.name();
            let modes = modes(&line.modes);
            let more: Values = vec![("medium", &medium), ("modes", &modes)];
            self.write_of(&LINES, car_type, [values, more].concat())?;
        }
        Ok(())
    }

    fn write_braked_weights(&mut self, car_type: &CarType) -> Result<()> {
        for weight in &car_type.braked_weights {
            self.write_of(
                &BRAKED_WEIGHTS,
                car_type,
                vec![
                    ("position", &weight.position),
                    ("brake_position", &weight.brake_position.name()),
                    ("load", &weight.load.name()),
                    ("braked_weight_kg", &weight.braked_weight.0),
                ],
            )?;
        }
        Ok(())
    }

    fn write_brake_groups(&mut self, car_type: &CarType) -> Result<()> {
        for group in &car_type.forces.groups {
            let radius = match group.acts_on {
                ActsOn::Disc { friction_radius_mm } => Some(friction_radius_mm),
                ActsOn::Tread => None,
            };
            let values: Values = vec![
                ("group", &group.name),
                ("piston_area_mm2", &group.piston_area_mm2),
                (
                    "cylinder_efficiency_thousandths",
                    &group.cylinder_efficiency.0,
                ),
                ("spring_n", &group.spring_n),
                ("ratio_thousandths", &group.ratio.0),
                ("adjuster_n", &group.adjuster_n),
                ("efficiency_thousandths", &group.efficiency.0),
                ("friction_thousandths", &group.friction.0),
            ];
            let (positions, acts_on) = (listed(&group.positions), group.acts_on.name());
            let (radius, energy) = (Maybe(radius), Maybe(group.stop_energy_max_kj));
            let volume = Maybe(group.cylinder_volume_ml);
            let more: Values = vec![
                ("positions", &positions),
                ("acts_on", &acts_on),
                ("friction_radius_mm", &radius),
                ("stop_energy_max_kj", &energy),
                ("cylinder_volume_ml", &volume),
            ];
            self.write_of(&BRAKE_GROUPS, car_type, [values, more].concat())?;
        }
        for group in &car_type.forces.groups {
            for pressure in &group.pressures {
                let values: Values = vec![
                    ("group", &group.name),
                    ("pressure_mbar", &pressure.pressure_mbar),
                    ("delay_ms", &pressure.delay_ms),
                    ("rise_ms", &pressure.rise_ms),
                ];
                let (position, load) = (pressure.brake_position.name(), pressure.load.name());
                let more: Values = vec![("brake_position", &position), ("load", &load)];
                self.write_of(&CYLINDER_PRESSURES, car_type, [values, more].concat())?;
            }
        }
        Ok(())
    }

    fn write_task(&mut self, task: &Task) -> Result<()> {
        let (part, car_type) = applies_to(&task.applies_to);
        let kind = task.kind.name();
        let longest_in_store = Maybe(task.longest_in_store_days);
        let (counts_from, clock_start) = (task.counts_from.name(), task.clock_start.name());
        let satisfies = listed(&task.satisfies);
        let obligations = listed(&task.obligations);
        let mut values: Values = vec![
            ("task", &task.code),
            ("revision", &task.revision),
            ("title", &task.title),
            ("kind", &kind),
            ("part", &part),
            ("car_type", &car_type),
            ("counts_from", &counts_from),
            ("clock_start", &clock_start),
            ("longest_in_store_days", &longest_in_store),
            ("satisfies", &satisfies),
            ("due_at_once_after", &obligations),
            ("source", &task.source),
        ];
        let limits: Vec<_> = task.limits.iter().flat_map(limit_cells).collect();
        values.extend(
            limits
                .iter()
                .map(|(column, cell)| (*column, cell as &dyn Display)),
        );
        self.write(&TASKS, &values)
    }

    fn write_procedure(&mut self, procedure: &Procedure) -> Result<()> {
        let (part, car_type) = applies_to(&procedure.applies_to);
        for measurand in procedure.measurands.iter() {
            self.write(
                &PROCEDURES,
                &[
                    ("procedure", &procedure.code),
                    ("revision", &procedure.revision),
                    ("title", &procedure.title),
                    ("part", &part),
                    ("car_type", &car_type),
                    ("task", &Maybe(procedure.task.as_ref())),
                    ("source", &procedure.source),
                    ("measurand", &measurand.name),
                    ("load", &Maybe(measurand.load.map(LoadState::name))),
                    ("role", &measurand.role.name()),
                    ("unit", &measurand.unit),
                    ("lower", &Maybe(measurand.bounds.lower())),
                    ("upper", &Maybe(measurand.bounds.upper())),
                    ("measured_at", &listed(&measurand.measured_at)),
                    ("during", &Maybe(measurand.during.map(During::name))),
                ],
            )?;
        }
        Ok(())
    }
}

/// The cells `part` and `car_type`.
fn applies_to(of: &AppliesTo) -> (Maybe<&PartNumber>, Maybe<&CarTypeName>) {
    match of {
        AppliesTo::Part(part) => (Maybe(Some(part)), Maybe(None)),
        AppliesTo::CarType(name) => (Maybe(None), Maybe(Some(name))),
    }
}

/// The cells `behaviour`, `modes`, `venting`, `volume_l` and `holding_force_n`.
fn behaviour_cells(behaviour: &Behaviour) -> [String; 5] {
    let mut cells = <[String; 5]>::default();
    let name = match behaviour {
        Behaviour::Source { modes: of } => {
            cells[1] = modes(of);
            "source"
        }
        Behaviour::Pass => "pass",
        Behaviour::Cock { venting } => {
            cells[2] = String::from(if *venting { "yes" } else { "no" });
            "cock"
        }
        Behaviour::Reservoir { volume_l } => {
            cells[3] = volume_l.to_string();
            "reservoir"
        }
        Behaviour::AllOf => "all_of",
        Behaviour::AnyOf => "any_of",
        Behaviour::AirApplied => "air_applied",
        Behaviour::SpringApplied { holding_force_n } => {
            cells[4] = holding_force_n.to_string();
            "spring_applied"
        }
    };
    name.clone_into(&mut cells[0]);
    cells
}

fn modes(modes: &[Mode]) -> String {
    listed(modes.iter().map(|mode| mode.name()))
}

/// The columns of a limit with their cells.
fn limit_cells(limit: &Limit) -> [(&'static str, String); 3] {
    let columns = match limit.interval {
        Interval::Days(_) => ["days", "days_early", "days_late"],
        Interval::Months(_) => ["months", "months_early", "months_late"],
        Interval::Usage(Meter::Odometer, _) => ["km", "km_early", "km_late"],
        Interval::Usage(Meter::RunningHours, _) => {
            ["running_hours", "running_hours_early", "running_hours_late"]
        }
        Interval::Usage(Meter::CompressorHours, _) => [
            "compressor_hours",
            "compressor_hours_early",
            "compressor_hours_late",
        ],
    };
    let cells = match limit.interval {
        Interval::Days(count) | Interval::Months(count) => [
            count.to_string(),
            limit.early.to_string(),
            limit.late.to_string(),
        ],
        Interval::Usage(_, amount) => {
            [amount, Amount(limit.early), Amount(limit.late)].map(|amount| amount.to_string())
        }
    };
    let [interval, early, late] = cells;
    [
        (columns[0], interval),
        (columns[1], early),
        (columns[2], late),
    ]
}
