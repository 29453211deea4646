//! How often the work on a part or car of a design comes round in days, at the rates of a car.

use super::design::Design;
use domain::configuration::car_type::{CarType, PositionKind};
use domain::configuration::part::{InnerPosition, Part};
use domain::due::task::{AppliesTo, Interval, Task, TaskKind};
use domain::identity::{CarTypeName, PartNumber, TaskCode};
use domain::test_record::procedure::Procedure;
use domain::units::{Amount, Meter};
use std::collections::HashMap;

/// What a car's meters gain in a day.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rates {
    pub(super) odometer: Amount,
    pub(super) running_hours: Amount,
    pub(super) compressor_hours: Amount,
}

impl Rates {
    pub(super) fn of(&self, meter: Meter) -> Amount {
        match meter {
            Meter::Odometer => self.odometer,
            Meter::RunningHours => self.running_hours,
            Meter::CompressorHours => self.compressor_hours,
        }
    }

    /// The days until an interval has run.
    fn days(&self, interval: Interval) -> i64 {
        match interval {
            Interval::Days(days) => i64::from(days),
            Interval::Months(months) => i64::from(months) * 30_437 / 1_000,
            Interval::Usage(meter, amount) => amount.0 / self.of(meter).0.max(1),
        }
    }
}

/// What is done to a component when a task falls due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    /// It is exchanged and the work is done in the workshop, or its life has ended.
    Workshop,
    /// The work is done on the car.
    Car,
}

fn place(task: &Task) -> Place {
    match task.kind {
        TaskKind::Test | TaskKind::Inspection => Place::Car,
        TaskKind::IntermediateOverhaul | TaskKind::Overhaul | TaskKind::LifeLimit => {
            Place::Workshop
        }
    }
}

/// When a component is exchanged.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Exchange {
    /// After how many days of its life, or after its last overhaul.
    pub(super) days: i64,
    /// What it is that ends: an overhaul does not extend a life that ends.
    pub(super) from: CountsFromBirth,
}

/// What the life of a component is counted from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum CountsFromBirth {
    /// Its making only.
    Made,
    /// Its making or its last overhaul.
    MadeOrOverhauled,
}

/// The parts of a design, and its tasks by what they are done on; of each the last revision.
pub(super) struct Plan<'a> {
    of_parts: HashMap<&'a PartNumber, Vec<&'a Task>>,
    of_car_types: HashMap<&'a CarTypeName, Vec<&'a Task>>,
    procedures: HashMap<&'a AppliesTo, &'a Procedure>,
    parts: HashMap<&'a PartNumber, &'a Part>,
}

impl<'a> Plan<'a> {
    pub(super) fn new(design: &'a Design) -> Self {
        let mut plan = Self {
            of_parts: HashMap::new(),
            of_car_types: HashMap::new(),
            procedures: HashMap::new(),
            parts: design
                .parts
                .iter()
                .map(|part| (&part.number, part))
                .collect(),
        };
        for procedure in &design.procedures {
            plan.procedures.insert(&procedure.applies_to, procedure);
        }
        for task in &design.tasks {
            let tasks = match &task.applies_to {
                AppliesTo::Part(part) => plan.of_parts.entry(part).or_default(),
                AppliesTo::CarType(name) => plan.of_car_types.entry(name).or_default(),
            };
            tasks.retain(|other| other.code != task.code);
            tasks.push(task);
        }
        plan
    }

    /// The kind of position that a part is made for.
    pub(super) fn kind(&self, part: &PartNumber) -> Option<PositionKind> {
        self.parts.get(part).map(|part| part.kind)
    }

    /// The positions inside a part.
    pub(super) fn inside(&self, part: &PartNumber) -> &'a [InnerPosition] {
        self.parts.get(part).map_or(&[], |part| &part.positions)
    }

    /// The procedure that a part or car type is tested by; the last of several.
    pub(super) fn procedure(&self, tested: &AppliesTo) -> Option<&'a Procedure> {
        self.procedures.get(tested).copied()
    }

    /// The number of tasks on a component of a part.
    pub(super) fn count_of_part(&self, part: &PartNumber) -> u64 {
        self.of_part(part).len() as u64
    }

    fn of_part(&self, part: &PartNumber) -> &[&'a Task] {
        self.of_parts.get(part).map_or(&[], Vec::as_slice)
    }

    /// The tasks done on a component where it is fitted, with their intervals in days.
    pub(super) fn on_car(&self, part: &PartNumber, rates: &Rates) -> Vec<(&'a Task, i64)> {
        let tasks = self.of_part(part).iter();
        tasks
            .filter(|task| place(task) == Place::Car)
            .map(|task| (*task, days(task, rates)))
            .collect()
    }

    /// The tasks done on a car as a whole, with their intervals in days.
    pub(super) fn of_car(&self, car_type: &CarType, rates: &Rates) -> Vec<(&'a Task, i64)> {
        let tasks = self.of_car_type(&car_type.name).iter();
        tasks.map(|task| (*task, days(task, rates))).collect()
    }

    /// The task that the procedure of a car type belongs to: its first test.
    pub(super) fn brake_test(&self, car_type: &CarType) -> Option<&'a TaskCode> {
        let mut tasks = self.of_car_type(&car_type.name).iter();
        let test = tasks.find(|task| task.kind == TaskKind::Test);
        test.map(|task| &task.code)
    }

    fn of_car_type(&self, name: &CarTypeName) -> &[&'a Task] {
        self.of_car_types.get(name).map_or(&[], Vec::as_slice)
    }

    /// The task with which a component of a part is overhauled.
    pub(super) fn overhaul(&self, part: &PartNumber) -> Option<&'a TaskCode> {
        let mut tasks = self.of_part(part).iter();
        let overhaul = tasks.find(|task| task.kind == TaskKind::Overhaul);
        overhaul.map(|task| &task.code)
    }

    /// When a component of a part is exchanged, if it ever is.
    pub(super) fn exchange(&self, part: &PartNumber, rates: &Rates) -> Option<Exchange> {
        let tasks = self.of_part(part).iter();
        let tasks: Vec<_> = tasks
            .filter(|task| place(task) == Place::Workshop)
            .collect();
        let ends = tasks.iter().any(|task| task.kind == TaskKind::LifeLimit);
        let from = if ends {
            CountsFromBirth::Made
        } else {
            CountsFromBirth::MadeOrOverhauled
        };
        let days = tasks.iter().map(|task| days(task, rates)).min()?;
        Some(Exchange { days, from })
    }

    /// The meters that work on cars of a type is counted by; the odometer always.
    pub(super) fn meters(&self, car_type: &CarType) -> Vec<Meter> {
        let parts = car_type.positions.iter().flat_map(|p| &p.approved);
        let on_parts = parts.flat_map(|part| self.of_part(part));
        let on_cars = self.of_car_type(&car_type.name).iter();
        let mut meters = vec![Meter::Odometer];
        for limit in on_parts.chain(on_cars).flat_map(|task| task.limits.iter()) {
            if let Interval::Usage(meter, _) = limit.interval {
                meters.push(meter);
            }
        }
        meters.sort_unstable();
        meters.dedup();
        meters
    }
}

/// The days until a task is due by the first of its limits, at least one.
fn days(task: &Task, rates: &Rates) -> i64 {
    let days = task.limits.iter().map(|limit| rates.days(limit.interval));
    days.min().unwrap_or(i64::MAX).max(1)
}
