//! Car types, gathered from the tables that describe them.

mod axle;
mod brake_group;
mod braked_weight;
mod cylinder_pressure;
mod head;
mod line;
mod position;

use super::Dated;
use super::draft::{self, Adding, Finished, JudgedBy};
use crate::columns::{self, Table};
use crate::input::calendar::design_begins;
use crate::input::cells::{Cells, Refused};
use crate::input::error::{InputError, Location};
use crate::input::source::Source;
use crate::input::{Item, Names, located, reason};
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::fault::CircuitFault;
use domain::circuit::{Circuit, Medium, Place};
use domain::configuration::brake_forces::{ActuatorGroup, BrakeForces};
use domain::configuration::car_type::{
    AssessedBrakedWeight, Bogie, BrakePosition, CarType, LoadState, Position, within_car,
};
use domain::identity::PositionCode;
use domain::ledger::fact::Fact;
use std::collections::{HashMap, HashSet};

/// A car type as far as it is read.
struct Draft {
    location: Location,
    /// Its row in `car_types`.
    head: Result<(CarType, String), Refused>,
    bogies: Vec<Bogie>,
    axles: HashSet<u8>,
    /// Whether those are all that the input lists.
    axles_whole: bool,
    positions: Vec<Position>,
    /// Whether the codes of all positions could be read.
    positions_whole: bool,
    circuit: Circuit,
    rows: Rows,
    lines: HashSet<(Place, Place, String, Medium)>,
    braked_weights: Vec<AssessedBrakedWeight>,
    assessed: HashSet<(PositionCode, BrakePosition, LoadState)>,
    groups: Vec<ActuatorGroup>,
    /// Whether those are all that the input lists.
    groups_whole: bool,
    grouped: HashSet<PositionCode>,
}

impl Draft {
    /// Whether a row of `positions` may have a code.
    fn may_have_position(&self, code: &PositionCode) -> bool {
        !self.positions_whole || self.rows.positions.contains_key(code)
    }

    /// Checks that a place lies within the car, where its length can be read.
    fn check_along(&self, cells: &mut Cells<'_>, along_mm: u32) {
        let length = self.head.as_ref().map(|(head, _)| head.length_mm);
        if let Ok(Err(expected)) = length.map(|length| within_car(along_mm, length)) {
            cells.refuse("along_mm", expected);
        }
    }
}

/// Where what the circuit is made of stands in the input.
#[derive(Default)]
struct Rows {
    positions: HashMap<PositionCode, Location>,
    /// In the order of the lines.
    lines: Vec<Location>,
    /// The last braked weight of each position.
    braked_weights: HashMap<PositionCode, Location>,
}

impl Rows {
    /// A fault of the circuit at its row; at that of the car type where it has none.
    fn error(&self, head: &Location, fault: &CircuitFault) -> InputError {
        let words = fault.to_string();
        let (row, words) = match (fault.line(), fault.node(), fault.braked_weight()) {
            (Some(line), ..) => {
                let ends = format!("{} to {}", line.from, line.to);
                let place = line.number.checked_sub(1);
                let row = place.and_then(|place| self.lines.get(place));
                (row, words.replacen(&line.to_string(), &ends, 1))
            }
            (_, Some(position), _) => (self.positions.get(position), words),
            (.., Some(position)) => (self.braked_weights.get(position), words),
            (None, None, None) => (None, words),
        };
        InputError::at(row.unwrap_or(head).clone(), "", words)
    }
}

/// The tables that add to `car_types`, in the order in which they build on one another.
const ADDING: [Adding<Draft>; 6] = [
    (&columns::AXLES, axle::add, JudgedBy::Others),
    (&columns::POSITIONS, position::add, JudgedBy::Others),
    (&columns::LINES, line::add, JudgedBy::NoOther),
    (
        &columns::BRAKED_WEIGHTS,
        braked_weight::add,
        JudgedBy::NoOther,
    ),
    (&columns::BRAKE_GROUPS, brake_group::add, JudgedBy::NoOther),
    (
        &columns::CYLINDER_PRESSURES,
        cylinder_pressure::add,
        JudgedBy::NoOther,
    ),
];

/// Reads all car types of an input, in the order of `car_types`.
pub(crate) fn gather(source: &mut Source, names: &mut Names) -> Vec<Item> {
    draft::gather((source, names), &columns::CAR_TYPES, &ADDING)
}

impl draft::Draft for Draft {
    const KEY: &'static [&'static str] = &["car_type", "revision"];
    const ONCE: &'static str = "each revision of a car type once";
    const LISTED: &'static str = "a car type and revision that car_types lists";

    fn begin(cells: &mut Cells<'_>) -> Self {
        let car_type = head::read(cells);
        let reason = reason(cells);
        Self {
            location: cells.location(),
            head: car_type.and_then(|car_type| Ok((car_type, reason?))),
            bogies: Vec::new(),
            axles: HashSet::new(),
            axles_whole: true,
            positions: Vec::new(),
            positions_whole: true,
            circuit: Circuit::default(),
            rows: Rows::default(),
            lines: HashSet::new(),
            braked_weights: Vec::new(),
            assessed: HashSet::new(),
            groups: Vec::new(),
            groups_whole: true,
            grouped: HashSet::new(),
        }
    }

    fn misses_rows_of(&mut self, table: &'static Table) {
        let name = table.name;
        self.axles_whole &= name != columns::AXLES.name;
        self.positions_whole &= name != columns::POSITIONS.name;
        self.groups_whole &= name != columns::BRAKE_GROUPS.name;
    }

    fn finish(self) -> Finished {
        let Ok((head, reason)) = self.head else {
            return Err(Vec::new());
        };
        let car_type = CarType {
            bogies: self.bogies,
            positions: self.positions,
            circuit: self.circuit,
            braked_weights: self.braked_weights,
            forces: BrakeForces {
                groups: self.groups,
                ..head.forces
            },
            ..head
        };
        if let Err(faults) = CompiledCircuit::new(&car_type) {
            let faults = faults.iter();
            let errors = faults.map(|fault| self.rows.error(&self.location, fault));
            return Err(errors.collect());
        }
        let fact = Fact::CarTypeDefined(Box::new(car_type));
        let at = design_begins();
        Ok(located(self.location, Dated { fact, at }, reason))
    }
}
