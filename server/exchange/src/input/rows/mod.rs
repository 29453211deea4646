//! What the rows of each table say, as facts. One file for each subject.

mod audit;
mod car;
mod car_type;
mod change;
mod component;
mod condition;
mod done;
mod draft;
mod fitment;
mod formation;
mod isolation;
mod location;
mod meter;
mod order;
mod part;
mod plate;
mod procedure;
mod relocation;
mod rule_set;
mod setting;
mod task;
mod test_record;
mod train;
mod unit;
mod visit;

use super::Item;
use super::calendar::Options;
use super::cells::{Cells, Refused};
use super::groups::Together;
use super::limits::GROUP_MAX_ROWS;
use super::names::Names;
use super::source::Source;
use crate::columns::{self, Table};
use domain::configuration::fleet_check::CARS_MAX;
use domain::ledger::fact::Fact;
use domain::time::Instant;

pub(crate) use formation::{Formation, read_all as read_formations};

/// A fact with the time it became true.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Dated {
    pub(crate) fact: Fact,
    pub(crate) at: Instant,
}

/// Reads the facts of a row, or notes in its cells why there are none.
pub(crate) type ReadRow = fn(&mut Cells<'_>, &Options) -> Result<Vec<Dated>, Refused>;

/// Reads the fact of rows that belong together, of which there is at least one.
pub(crate) type ReadGroup = fn(&mut [Cells<'_>], &Options) -> Result<Dated, Refused>;

/// How the rows of a table make facts.
#[derive(Clone, Copy)]
pub(crate) enum Step {
    /// Each row by itself.
    Rows(&'static Table, ReadRow),
    /// Rows one after the other that belong together make one fact.
    Groups(&'static Table, Together, ReadGroup),
    /// Several small tables together make one fact for each name and revision.
    Gathered(fn(&mut Source, &mut Names) -> Vec<Item>),
}

/// Rows with the same text in the key columns, of which there are few.
const fn few(keys: &'static [&'static str]) -> Together {
    Together {
        keys,
        rows_max: GROUP_MAX_ROWS,
    }
}

/// All steps in the order in which later ones build on earlier ones.
pub(crate) const STEPS: [Step; 27] = [
    Step::Gathered(part::gather),
    Step::Gathered(car_type::gather),
    Step::Rows(&columns::TASKS, task::read),
    Step::Groups(
        &columns::PROCEDURES,
        few(&["procedure", "revision"]),
        procedure::read,
    ),
    Step::Gathered(rule_set::gather),
    Step::Rows(&columns::MODIFICATIONS, change::read_modification),
    Step::Rows(&columns::CONCESSIONS, change::read_concession),
    Step::Rows(&columns::CARS, car::read),
    Step::Groups(&columns::UNITS, few(&["unit", "since"]), unit::read),
    Step::Rows(&columns::METER_REPLACEMENTS, meter::read_replacement),
    Step::Rows(&columns::READINGS, meter::read_reading),
    Step::Rows(&columns::LOCATIONS, location::read),
    Step::Rows(&columns::COMPONENTS, component::read),
    Step::Rows(&columns::CONDITIONS, condition::read),
    Step::Rows(&columns::PLATES, plate::read),
    Step::Rows(&columns::INNER_FITMENTS, fitment::read_inner),
    Step::Rows(&columns::FITMENTS, fitment::read),
    Step::Rows(&columns::RELOCATIONS, relocation::read),
    Step::Rows(&columns::SETTINGS, setting::read),
    Step::Rows(&columns::EMBODIED, change::read_embodied),
    Step::Rows(&columns::TASKS_DONE, done::read),
    Step::Groups(
        &columns::TEST_RECORDS,
        few(&["test_record"]),
        test_record::read,
    ),
    Step::Groups(&columns::TRAINS, few(&["train", "since"]), train::read),
    Step::Rows(&columns::ISOLATIONS, isolation::read),
    Step::Rows(&columns::VISITS, visit::read),
    Step::Groups(
        &columns::FLEET_CHECKS,
        Together {
            keys: &["title", "since"],
            rows_max: CARS_MAX,
        },
        audit::read_check,
    ),
    Step::Rows(&columns::HOLDS, audit::read_hold),
];
