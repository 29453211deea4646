//! What closed positions take, in words.

use super::{Actuator, Closed, Sound, Takes, TakesOtherwise};
use crate::configuration::car_type::CarType;
use crate::identity::{CarNumber, PositionCode};
use crate::isolation::CutOutState;
use crate::isolation::effect::Availability;
use std::collections::{BTreeMap, BTreeSet};

/// A position and what it takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakesRow {
    /// Its code.
    pub code: String,
    /// What is there.
    pub title: String,
    /// How it is closed or fails.
    pub state: String,
    /// What that takes, line by line.
    pub takes: Vec<String>,
}

/// A position and what it took and takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherwiseRow {
    /// Its code.
    pub code: String,
    /// What is there.
    pub title: String,
    /// How it is closed or fails.
    pub state: String,
    /// What that took, line by line.
    pub before: Vec<String>,
    /// What it takes, line by line.
    pub after: Vec<String>,
}

/// What works with everything open in one mode.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SoundRow {
    /// The mode.
    pub mode: String,
    /// What worked before; none where nothing is compared.
    pub before: Option<Vec<String>>,
    /// What works.
    pub after: Vec<String>,
    /// Whether brakes worked that do not any more.
    pub worse: bool,
}

/// What works with everything open, mode by mode.
pub(super) fn sound_rows(now: &[Sound], before: Option<&[Sound]>) -> Vec<SoundRow> {
    let row = |now: &Sound| {
        let mut before = before.into_iter().flatten();
        let before = before.find(|before| before.mode == now.mode);
        SoundRow {
            mode: now.mode.to_string(),
            before: before.map(works),
            after: works(now),
            worse: before.is_some_and(|before| !now.idle.is_subset(&before.idle)),
        }
    };
    now.iter().map(row).collect()
}

/// “8 of 8 brakes of the car; 48 of 48 of the train, on 24 of 24 axles”, and which do not work.
fn works(sound: &Sound) -> Vec<String> {
    let (here, of) = sound.car;
    let (brakes, axles) = (&sound.train.actuators, &sound.train.axles);
    let mut words = vec![
        format!("{here} of {of} of the car"),
        format!(
            "{} of {} of the train, on {} of {} axles",
            brakes.available, brakes.total, axles.operative, axles.total
        ),
    ];
    if !sound.idle.is_empty() {
        words.push(format!("not: {}", of_cars(&sound.idle)));
    }
    words
}

/// The positions that take something, by code.
pub(super) fn rows(design: &CarType, takes: &BTreeMap<Closed, Takes>) -> Vec<TakesRow> {
    let taking = takes.iter().filter(|(_, takes)| !takes.is_empty());
    taking
        .map(|((position, state), takes)| TakesRow {
            code: position.to_string(),
            title: title(design, position),
            state: state.to_string(),
            takes: words(takes),
        })
        .collect()
}

/// The positions that take something else than before.
pub(super) fn otherwise(
    (design, old): (&CarType, &CarType),
    changed: &[TakesOtherwise],
) -> Vec<OtherwiseRow> {
    let row = |one: &TakesOtherwise| {
        let title = [design, old]
            .iter()
            .map(|design| title(design, &one.position))
            .find(|title| !title.is_empty());
        let (before, after) = (all(one.before.as_ref()), all(one.after.as_ref()));
        OtherwiseRow {
            code: one.position.to_string(),
            title: title.unwrap_or_default(),
            state: how(one),
            after: if before == after {
                vec!["the same".to_owned()]
            } else {
                after
            },
            before,
        }
    };
    changed.iter().map(row).collect()
}

/// What a position takes in full, also where that is nothing.
fn all(takes: Option<&(CutOutState, Takes)>) -> Vec<String> {
    match takes {
        None => vec!["not in the circuit".to_owned()],
        Some((_, takes)) if takes.is_empty() => vec!["nothing".to_owned()],
        Some((_, takes)) => words(takes),
    }
}

/// How a position is closed or fails, before and after.
fn how(one: &TakesOtherwise) -> String {
    let state = |takes: &Option<(CutOutState, Takes)>| takes.as_ref().map(|(state, _)| *state);
    match (state(&one.before), state(&one.after)) {
        (Some(before), Some(after)) if before != after => format!("was {before}, now {after}"),
        (before, after) => after
            .or(before)
            .map_or_else(String::new, |it| it.to_string()),
    }
}

fn title(design: &CarType, position: &PositionCode) -> String {
    let position = design.position(position);
    position.map_or_else(String::new, |position| position.title.clone())
}

/// One line for the modes in which it takes the same: “service, emergency: 4 brakes on axles 1, 2 of 4101”.
fn words(takes: &Takes) -> Vec<String> {
    let mut lines: Vec<(String, String)> = Vec::new();
    for (mode, actuators) in &takes.brakes {
        let what = of_cars(actuators);
        match lines.iter_mut().find(|(_, other)| *other == what) {
            Some((modes, _)) => *modes = format!("{modes}, {mode}"),
            None => lines.push((mode.to_string(), what)),
        }
    }
    let lines = lines.into_iter();
    let mut words: Vec<String> = lines
        .map(|(modes, what)| format!("{modes}: {what}"))
        .collect();
    let mut signals: BTreeMap<&CarNumber, Vec<&str>> = BTreeMap::new();
    for (car, position) in &takes.load_signals {
        signals.entry(car).or_default().push(position.as_str());
    }
    let lost = signals
        .iter()
        .map(|(car, codes)| format!("load signal of {} of {car}", codes.join(", ")));
    words.extend(lost);
    words
}

fn of_cars(actuators: &BTreeSet<Actuator>) -> String {
    let mut cars: BTreeMap<(usize, Availability, bool), Vec<&Actuator>> = BTreeMap::new();
    for actuator in actuators {
        let key = (actuator.car, actuator.does, actuator.may_drag);
        cars.entry(key).or_default().push(actuator);
    }
    let words = cars.values().map(|actuators| {
        let first = actuators.first();
        let car = first.map(|one| one.car_number.to_string());
        format!(
            "{} of {}{}",
            brakes(actuators),
            car.unwrap_or_default(),
            first.map_or("", |one| dragging(one))
        )
    });
    words.collect::<Vec<String>>().join("; ")
}

fn dragging(actuator: &Actuator) -> &'static str {
    match actuator.does {
        Availability::Dragging => " dragging",
        Availability::Lost if actuator.may_drag => ", which may stay on",
        Availability::Lost | Availability::Available => "",
    }
}

/// How many brakes, with their axles, and by their codes those that act on no one axle.
fn brakes(actuators: &[&Actuator]) -> String {
    let axles: BTreeSet<u8> = actuators.iter().filter_map(|one| one.axle).collect();
    let axles: Vec<String> = axles.iter().map(u8::to_string).collect();
    let on_axles = actuators.iter().filter(|one| one.axle.is_some()).count();
    let others = actuators.iter().filter(|one| one.axle.is_none());
    let mut words: Vec<String> = others.map(|one| one.position.to_string()).collect();
    let count = match on_axles {
        1 => "1 brake".to_owned(),
        several => format!("{several} brakes"),
    };
    match axles.as_slice() {
        [] => {}
        [one] => words.insert(0, format!("{count} on axle {one}")),
        several => words.insert(0, format!("{count} on axles {}", several.join(", "))),
    }
    words.join(", ")
}
