//! Invented fleets of any size, for the demo, for tests and for measuring. The same number gives
//! the same bytes on every machine.
//!
//! A fleet is built to a [`Design`]: the car types, parts and tasks of an input, and the
//! formations its units have. The register of the fleet begins some years before the day it is
//! seen at; components come with what is known of them, are exchanged when they fall due or
//! fail, and things go wrong in the proportions of `troubles.rs`: overdue and soon due work,
//! cars without readings or with a gap in them, a replaced odometer, components recorded at each
//! other's position, a component with a gap in its history, an empty position, unknown dates
//! and unknown use, components in stores, workshops and quarantine, cut-outs in force in
//! several states, isolations that ended, tests that failed, were left incomplete or were made with
//! an instrument whose calibration had lapsed, components that came off and were overhauled or
//! found good, a modification that is not embodied everywhere, substitutes under concessions, a check
//! of the fleet that some cars have answered, evidence that is held. Some units have a visit planned. Everything in it is invented.

mod assembly;
mod audit;
mod away;
mod campaign;
mod car;
mod chance;
mod component;
mod concession;
mod cut_out;
mod design;
mod design_rows;
mod disturbance;
mod fitment;
mod fleet;
mod isolation;
mod meters;
mod names;
mod plan;
mod procedure;
mod returned;
mod rule_rows;
mod setting;
mod sink;
mod span;
mod stock;
mod test_record;
mod train;
mod troubles;
mod visit;
mod wear;
mod wide;
mod work;

#[cfg(test)]
mod tests;

pub use design::Design;
pub use sink::{FolderSink, Sink};

use crate::columns::Table;
use audit::Asked;
use campaign::Campaign;
use concession::substitute;
use cut_out::{SCENES, Scene};
use disturbance::Travelling;
use domain::configuration::part::Part;
use domain::identity::PartNumber;
use domain::time::Day;
use fleet::Units;
use plan::Plan;
use sink::cells;
use span::Span;
use std::collections::{BTreeMap, HashMap, VecDeque};
use std::fmt::Display;
use std::io;
use stock::Stock;

/// What fleet to generate.
#[derive(Debug, Clone)]
pub struct Options {
    /// Another number gives another fleet of the same kind.
    pub seed: u64,
    /// How many cars it has.
    pub cars: u32,
    /// The day it is seen at. Nothing in it is later.
    pub as_at: Day,
    /// How far back its history goes.
    pub history: History,
    /// At least so many positions on every car: further plain ones are added to each car type,
    /// with their parts and tasks, where its design has fewer. For measuring.
    pub positions_per_car: Option<u32>,
}

/// How far back a history goes: 1 to 20 years.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum History {
    /// So many years, with readings every month, and every week in the last year.
    Years(u32),
    /// So many months, with readings every month.
    Months(u32),
}

/// What was generated.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Summary {
    /// The rows of each file, by the name of its table.
    pub rows: BTreeMap<&'static str, u64>,
    /// Components fitted on the last day, without what is inside them.
    pub fitted: u64,
    /// Tasks on those components and on the cars: each has a due date, or lacks a fact for it.
    pub tasks: u64,
}

type Result<T> = std::result::Result<T, io::Error>;

/// Generates a fleet with the design it is built to, as a complete input. Memory does not grow
/// with the number of cars.
pub fn generate(
    design: &Design,
    options: Options,
    sink: &mut dyn Sink,
) -> std::result::Result<Summary, io::Error> {
    let mut complete = design.with_procedures();
    if let Some(positions) = options.positions_per_car {
        complete = complete.widened(positions);
    }
    let design = &complete;
    let as_at = options.as_at;
    let span = Span::new(options.history, as_at);
    let mut generator = Generator {
        plan: Plan::new(design),
        options,
        span,
        sink,
        summary: Summary::default(),
        serials: HashMap::new(),
        travelling: Vec::new(),
        stock: Stock::default(),
        waiting: Vec::new(),
        scenes: SCENES.iter().collect(),
        campaign: Campaign::of(&design.parts, as_at),
        substitute: substitute(&design.parts, &design.car_types),
        concessions: 0,
        asked: Asked::default(),
        held: false,
        assemblies: 0,
        worn: 0,
        trains: 0,
        orders: 0,
        records: 0,
    };
    generator.write_design(design)?;
    generator.write_campaign()?;
    generator.write_shared_locations()?;
    for unit in Units::new(design, generator.options.cars) {
        generator.write_unit(&unit)?;
        generator.write_train(&unit)?;
        generator.write_isolations(&unit)?;
        generator.write_visit(&unit)?;
    }
    generator.write_stock()?;
    generator.write_check()?;
    generator.depart()?;
    Ok(generator.summary)
}

/// A fleet being generated.
struct Generator<'a> {
    plan: Plan<'a>,
    options: Options,
    span: Span,
    sink: &'a mut dyn Sink,
    summary: Summary,
    /// The last serial number of each part.
    serials: HashMap<PartNumber, u64>,
    travelling: Vec<Travelling>,
    stock: Stock,
    /// Units that will form the next train.
    waiting: Vec<String>,
    /// The kinds of cut-out in the order in which the next units meet them.
    scenes: VecDeque<&'static Scene>,
    campaign: Option<Campaign>,
    /// The part that is fitted under concessions.
    substitute: Option<Part>,
    /// How many concessions were granted.
    concessions: usize,
    asked: Asked,
    /// Whether something is held as evidence.
    held: bool,
    /// Assemblies that were filled.
    assemblies: u32,
    /// Worn components that wait.
    worn: u32,
    trains: u32,
    orders: u64,
    records: u64,
}

impl Generator<'_> {
    /// Writes a row from the values of some of its columns.
    fn write(&mut self, table: &'static Table, values: &[(&str, &dyn Display)]) -> Result<()> {
        *self.summary.rows.entry(table.name).or_insert(0) += 1;
        self.sink.row(table, &cells(table, values))
    }
}
