//! Car types, gathered from the five tables that describe them. They are few and are held in
//! memory until the last of the five is read.

mod axle;
mod braked_weight;
mod head;
mod line;
mod position;

use super::Dated;
use crate::columns::{self, Table};
use crate::input::calendar::design_begins;
use crate::input::cells::{Cells, Refused};
use crate::input::error::{InputError, Location};
use crate::input::limits::DESIGN_ROWS_MAX;
use crate::input::record::Record;
use crate::input::source::Source;
use crate::input::table_rows::TableRows;
use crate::input::{Item, located, reason};
use domain::circuit::Circuit;
use domain::configuration::car_type::{
    AssessedBrakedWeight, Bogie, BrakePosition, CarType, LoadState, Position,
};
use domain::identity::PositionCode;
use domain::ledger::fact::Fact;
use std::collections::{HashMap, HashSet};

/// A car type as far as it is read.
struct Draft {
    location: Location,
    /// Its row in `car_types`. If that cannot be read, its other rows are checked all the same.
    head: Result<(CarType, String), Refused>,
    bogies: Vec<Bogie>,
    axles: HashSet<u8>,
    positions: Vec<Position>,
    codes: HashSet<PositionCode>,
    circuit: Circuit,
    braked_weights: Vec<AssessedBrakedWeight>,
    assessed: HashSet<(PositionCode, BrakePosition, LoadState)>,
    errors: Vec<InputError>,
}

/// Adds a row to the draft of its car type.
type AddRow = fn(&mut Cells<'_>, &mut Draft) -> Result<(), Refused>;

/// The tables that add to `car_types`, in the order in which they build on one another.
const ADDING: [(&Table, AddRow); 4] = [
    (&columns::AXLES, axle::add),
    (&columns::POSITIONS, position::add),
    (&columns::LINES, line::add),
    (&columns::BRAKED_WEIGHTS, braked_weight::add),
];

/// Reads all car types of an input, in the order of `car_types`. All errors of one car type
/// stand together.
pub(crate) fn gather(source: &mut Source) -> Vec<Item> {
    let mut drafts = Drafts::default();
    let heads = drafts.each_row(source, &columns::CAR_TYPES, Drafts::begin);
    for (table, add) in ADDING {
        let _ = drafts.each_row(source, table, |drafts, cells| drafts.add(cells, add, heads));
    }
    drafts.finish()
}

/// Whether all rows of a table could be looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Seen {
    All,
    Some,
}

/// The car types of an input, found by the texts of their name and revision.
#[derive(Default)]
struct Drafts {
    all: Vec<Draft>,
    places: HashMap<(String, String), usize>,
    /// Errors that belong to no car type.
    strays: Vec<InputError>,
}

impl Drafts {
    /// Shows each row of a table to a reader.
    fn each_row(
        &mut self,
        source: &mut Source,
        table: &'static Table,
        mut read: impl FnMut(&mut Self, Cells<'_>),
    ) -> Seen {
        let mut rows = match source.open(table) {
            None => return Seen::All,
            Some(Ok(rows)) => rows,
            Some(Err(errors)) => {
                self.strays.extend(errors);
                return Seen::Some;
            }
        };
        let mut record = Record::default();
        let mut seen = Seen::All;
        let mut count = 0;
        while let Some(row) = rows.next(&mut record) {
            count += 1;
            if DESIGN_ROWS_MAX < count {
                self.strays.push(too_many(&rows, &record));
                return Seen::Some;
            }
            match row {
                Ok(()) => read(self, Cells::new(&rows, &record)),
                Err(error) => {
                    self.strays.push(error);
                    seen = Seen::Some;
                }
            }
        }
        seen
    }

    /// Begins a car type with its row in `car_types`.
    fn begin(&mut self, mut cells: Cells<'_>) {
        let key = key(&cells);
        let car_type = head::read(&mut cells);
        let reason = reason(&mut cells);
        if self.places.contains_key(&key) {
            cells.refuse("revision", "each revision of a car type once");
            return self.strays.extend(cells.into_errors());
        }
        self.places.insert(key, self.all.len());
        let head = car_type.and_then(|car_type| Ok((car_type, reason?)));
        self.all.push(Draft::new(cells, head));
    }

    /// Adds a row of one of the other tables.
    fn add(&mut self, mut cells: Cells<'_>, add: AddRow, heads: Seen) {
        let place = self.places.get(&key(&cells));
        if let Some(draft) = place.and_then(|&place| self.all.get_mut(place)) {
            // Whatever was wrong is noted in the cells.
            let _ = add(&mut cells, draft);
            let _ = reason(&mut cells);
            return draft.errors.extend(cells.into_errors());
        }
        let absent = ["car_type", "revision"]
            .into_iter()
            .find(|column| !cells.is_filled(column));
        match absent {
            Some(column) => drop(cells.refuse_other(column)),
            None if heads == Seen::All => {
                cells.refuse("car_type", "a car type and revision that car_types lists");
            }
            None => {}
        }
        self.strays.extend(cells.into_errors());
    }

    fn finish(self) -> Vec<Item> {
        let strays = (!self.strays.is_empty()).then_some(Err(self.strays));
        let drafts = self.all.into_iter().map(Draft::finish);
        strays.into_iter().chain(drafts).collect()
    }
}

impl Draft {
    fn new(cells: Cells<'_>, head: Result<(CarType, String), Refused>) -> Self {
        Self {
            location: cells.location(),
            head,
            bogies: Vec::new(),
            axles: HashSet::new(),
            positions: Vec::new(),
            codes: HashSet::new(),
            circuit: Circuit::default(),
            braked_weights: Vec::new(),
            assessed: HashSet::new(),
            errors: cells.into_errors(),
        }
    }

    fn finish(self) -> Item {
        let (Ok((head, reason)), true) = (self.head, self.errors.is_empty()) else {
            return Err(self.errors);
        };
        let car_type = CarType {
            bogies: self.bogies,
            positions: self.positions,
            circuit: self.circuit,
            braked_weights: self.braked_weights,
            ..head
        };
        let fact = Fact::CarTypeDefined(Box::new(car_type));
        let at = design_begins();
        Ok(located(self.location, Dated { fact, at }, reason))
    }
}

fn key(cells: &Cells<'_>) -> (String, String) {
    let text = |column| cells.text(column).to_owned();
    (text("car_type"), text("revision"))
}

fn too_many(rows: &TableRows, record: &Record) -> InputError {
    let expected = format!("at most {DESIGN_ROWS_MAX} rows in {}", rows.file);
    InputError::at(rows.location(record), "", expected)
}
