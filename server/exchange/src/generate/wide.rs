//! A design with more positions, for measuring with as many components as wanted.

use super::design::Design;
use domain::configuration::car_type::{CarType, Position, PositionKind};
use domain::configuration::part::Part;
use domain::due::task::{AppliesTo, ClockStart, CountsFrom, Interval, Limit, Task, TaskKind};
use domain::identity::PartNumber;

/// The kinds of the added parts, in turn.
const KINDS: [PositionKind; 4] = [
    PositionKind::Hose,
    PositionKind::Filter,
    PositionKind::TestPoint,
    PositionKind::PressureSwitch,
];
const PARTS: usize = 12;

impl Design {
    /// The same design with at least so many positions on every car type. Those added are in
    /// no circuit; half of their parts have two tasks and half have three.
    pub(super) fn widened(&self, positions: u32) -> Design {
        let mut wide = self.clone();
        let parts: Vec<Part> = (1..=PARTS).filter_map(part).collect();
        for (place, part) in parts.iter().enumerate() {
            wide.tasks.extend(tasks(place, &part.number));
        }
        let positions = usize::try_from(positions).unwrap_or(usize::MAX);
        for car_type in &mut wide.car_types {
            widen(car_type, positions, &parts);
        }
        wide.parts.extend(parts);
        wide
    }
}

fn part(number: usize) -> Option<Part> {
    let kind = KINDS[number % KINDS.len()];
    Some(Part {
        number: format!("WIDE-{number:02}").parse().ok()?,
        title: format!("{kind} of series {number}"),
        kind,
        positions: Vec::new(),
        modification_states: Vec::new(),
        replaces: Vec::new(),
    })
}

fn tasks(place: usize, part: &PartNumber) -> Vec<Task> {
    let task = |name: &str, title: &str, kind, months| {
        Some(Task {
            code: format!("{part}-{name}").parse().ok()?,
            revision: "A".parse().ok()?,
            title: title.to_owned(),
            kind,
            applies_to: AppliesTo::Part(part.clone()),
            limits: vec![Limit {
                interval: Interval::Months(months),
                early: 60,
                late: if kind == TaskKind::LifeLimit { 0 } else { 30 },
            }]
            .try_into()
            .ok()?,
            counts_from: CountsFrom::Done,
            clock_start: ClockStart::Overhaul,
            longest_in_store_days: None,
            satisfies: Vec::new(),
            obligations: Vec::new(),
            source: "invented for measuring".to_owned(),
        })
    };
    let life = (place % 2 == 1).then(|| task("LIFE", "end of life", TaskKind::LifeLimit, 180));
    let inspection = task("INSP", "inspection", TaskKind::Inspection, 60);
    let overhaul = task("OVHL", "overhaul", TaskKind::Overhaul, 96);
    [inspection, overhaul]
        .into_iter()
        .chain(life)
        .flatten()
        .collect()
}

fn widen(car_type: &mut CarType, positions: usize, parts: &[Part]) {
    let length_mm = car_type.length_mm;
    let missing = positions.saturating_sub(car_type.positions.len());
    let codes = (1_u32..).filter_map(|number| format!("=WIDE{number}").parse().ok());
    let free = codes.filter(|code| car_type.position(code).is_none());
    let added: Vec<Position> = free
        .take(missing)
        .zip(parts.iter().cycle())
        .map(|(code, part)| Position {
            code,
            title: part.title.clone(),
            kind: part.kind,
            bogie: None,
            axle: None,
            end: None,
            side: None,
            along_mm: length_mm / 2,
            approved: vec![part.number.clone()],
            states: Vec::new(),
            settings: Vec::new(),
            aliases: Vec::new(),
        })
        .collect();
    car_type.positions.extend(added);
}
