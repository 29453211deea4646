//! What is lost or drags on each bogie, in which modes, and why; and the counts of what is left,
//! mode by mode.

use domain::decision::{CommandedEffect, Decision, TrainCar};
use domain::identity::PositionCode;
use domain::isolation::Supply;
use domain::isolation::cause::{Cause, CauseKind};
use domain::isolation::effect::{ActuatorEffect, AppliedBy, Availability};
use domain::isolation::slide_protection::UnprotectedAxle;
use domain::isolation::tally::{Share, Tally};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// A column of the table of counts.
#[derive(Debug)]
pub(crate) struct ModeColumn {
    pub(crate) mode: String,
    pub(crate) supply: &'static str,
    pub(crate) from: String,
    pub(crate) actuators: Count,
    pub(crate) axles: Count,
    pub(crate) bogies: Count,
    pub(crate) cars: Count,
}

/// How many of how many work.
#[derive(Debug)]
pub(crate) struct Count {
    pub(crate) text: String,
    /// `complete` or `lost`.
    pub(crate) class: &'static str,
}

impl Count {
    fn of(works: u32, partial: u32, all: u32) -> Self {
        let part = match partial {
            0 => String::new(),
            partial => format!(", {partial} in part"),
        };
        Self {
            text: format!("{works} of {all}{part}"),
            class: if works == all { "complete" } else { "lost" },
        }
    }
}

impl From<Tally> for Count {
    fn from(tally: Tally) -> Self {
        Self::of(tally.available, 0, tally.total)
    }
}

impl From<Share> for Count {
    fn from(share: Share) -> Self {
        Self::of(share.operative, share.partial, share.total)
    }
}

/// A loss that takes no brake: a load signal, the air suspension, or protection against sliding.
#[derive(Debug)]
pub(crate) struct Besides {
    pub(crate) car: String,
    pub(crate) what: String,
    pub(crate) follows: String,
}

/// The load signals and the air suspension that are lost and the axles that may slide.
pub(crate) fn besides(decision: &Decision) -> Vec<Besides> {
    let signals = decision.load_signals.iter().map(|lost| {
        let signal = &lost.signal;
        let follows = match signal.assumed {
            Some(load) => format!("its brakes work as for {load} load"),
            None => "nobody entered which load its brakes then take".to_owned(),
        };
        Besides {
            car: signal.car_number.to_string(),
            what: match signal.bogie {
                Some(bogie) => format!("load signal of bogie {bogie}"),
                None => "load signal".to_owned(),
            },
            follows: if lost.at_once {
                follows
            } else {
                format!("{follows} once stored air is used up")
            },
        }
    });
    let levelling = decision.levelling.iter().map(|lost| Besides {
        car: lost.car_number.to_string(),
        what: format!("air of levelling valve {}", lost.position),
        follows: if lost.at_once {
            "the car sinks onto its emergency springs".to_owned()
        } else {
            "the car sinks onto its emergency springs once stored air is used up".to_owned()
        },
    });
    let all = signals.chain(levelling);
    all.chain(may_slide(&decision.unprotected)).collect()
}

/// The axles that may slide.
pub(crate) fn may_slide(axles: &[UnprotectedAxle]) -> impl Iterator<Item = Besides> {
    axles.iter().map(|axle| Besides {
        car: axle.car_number.to_string(),
        what: format!("slide protection of axle {}", axle.axle),
        follows: "it brakes, and on a slippery rail its wheels may slide".to_owned(),
    })
}

/// The counts of each effect.
pub(crate) fn columns(effects: &[CommandedEffect]) -> Vec<ModeColumn> {
    let column = |commanded: &CommandedEffect| {
        let counts = &commanded.effect.counts;
        ModeColumn {
            mode: commanded.effect.mode.to_string(),
            supply: supply(commanded),
            from: from(commanded),
            actuators: counts.actuators.into(),
            axles: counts.axles.into(),
            bogies: counts.bogies.into(),
            cars: counts.cars.into(),
        }
    };
    effects.iter().map(column).collect()
}

fn supply(commanded: &CommandedEffect) -> &'static str {
    match (&commanded.from, commanded.effect.supply) {
        (None, _) => "standing",
        (_, Supply::Now) => "now",
        (_, Supply::Exhausted) => "once stored air is used up",
    }
}

fn from(commanded: &CommandedEffect) -> String {
    let car = commanded.from.as_ref();
    car.map_or_else(|| "nobody".to_owned(), |car| format!("car {car}"))
}

/// What some actuators of a bogie no longer do.
#[derive(Debug)]
pub(crate) struct LossRow {
    pub(crate) car: String,
    pub(crate) bogie: String,
    pub(crate) actuators: Vec<String>,
    /// `lost` or `dragging`.
    pub(crate) class: &'static str,
    pub(crate) what: &'static str,
    pub(crate) when: Vec<String>,
    pub(crate) why: Vec<CauseRow>,
}

/// A cause in words. What is the matter at an end of a car has no code and no title.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CauseRow {
    pub(crate) car: String,
    pub(crate) code: String,
    pub(crate) title: String,
    pub(crate) matter: String,
}

impl fmt::Display for CauseRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            car,
            code,
            title,
            matter,
        } = self;
        if code.is_empty() {
            return write!(f, "car {car}, {matter}");
        }
        write!(f, "car {car} {code}, {title}: {matter}")
    }
}

#[derive(PartialEq, Eq, PartialOrd, Ord)]
struct Key<'a> {
    car: usize,
    bogie: Option<u8>,
    what: &'static str,
    class: &'static str,
    why: &'a [Cause],
}

/// The losses by car and bogie; what is the same in several modes stands once.
pub(crate) fn rows(cars: &[TrainCar], effects: &[CommandedEffect]) -> Vec<LossRow> {
    let mut groups: BTreeMap<Key<'_>, BTreeMap<&PositionCode, Vec<usize>>> = BTreeMap::new();
    for (place, commanded) in effects.iter().enumerate() {
        for actuator in &commanded.effect.actuators {
            let amiss = lost(actuator).filter(|_| actuator.is_amiss_in(commanded.effect.mode));
            let Some((class, what)) = amiss else {
                continue;
            };
            let key = Key {
                car: actuator.car,
                bogie: actuator.bogie,
                what,
                class,
                why: &actuator.why,
            };
            let group = groups.entry(key).or_default();
            group.entry(&actuator.position).or_default().push(place);
        }
    }
    let mut rows = Vec::new();
    for (key, by_actuator) in groups {
        let mut by_modes: BTreeMap<Vec<usize>, BTreeSet<&PositionCode>> = BTreeMap::new();
        for (actuator, modes) in by_actuator {
            by_modes.entry(modes).or_default().insert(actuator);
        }
        let row = |(modes, actuators): (Vec<usize>, BTreeSet<&PositionCode>)| LossRow {
            car: cars
                .get(key.car)
                .map_or(String::new(), |car| car.number.to_string()),
            bogie: key
                .bogie
                .map_or("whole car".into(), |bogie| format!("bogie {bogie}")),
            actuators: actuators.iter().map(ToString::to_string).collect(),
            class: key.class,
            what: key.what,
            when: when(effects, &modes),
            why: key.why.iter().map(|cause| cause_row(cars, cause)).collect(),
        };
        rows.extend(by_modes.into_iter().map(row));
    }
    rows
}

fn lost(actuator: &ActuatorEffect) -> Option<(&'static str, &'static str)> {
    match (
        actuator.availability,
        actuator.applied_by,
        actuator.may_drag,
    ) {
        (Availability::Available, ..) => None,
        (Availability::Dragging, ..) => Some(("dragging", "drags")),
        (Availability::Lost, AppliedBy::Spring, _) => Some(("lost", "does not hold")),
        (Availability::Lost, AppliedBy::Air, true) => Some((
            "lost",
            "does not brake, and may drag: it cannot be said to be off",
        )),
        (Availability::Lost, AppliedBy::Air, false) => Some(("lost", "does not brake")),
    }
}

/// "service, now and once stored air is used up".
fn when(effects: &[CommandedEffect], places: &[usize]) -> Vec<String> {
    let mut by_mode: Vec<(String, Vec<&'static str>)> = Vec::new();
    for commanded in places.iter().filter_map(|place| effects.get(*place)) {
        let mode = commanded.effect.mode.to_string();
        match by_mode.iter_mut().find(|(known, _)| *known == mode) {
            Some((_, supplies)) => supplies.push(supply(commanded)),
            None => by_mode.push((mode, vec![supply(commanded)])),
        }
    }
    let words = |(mode, supplies): (String, Vec<&str>)| match supplies.as_slice() {
        ["standing"] => mode,
        [one] => format!("{mode}, {one}"),
        _ => format!("{mode}, now and later"),
    };
    by_mode.into_iter().map(words).collect()
}

/// A cause in words, with the title of its position.
pub(crate) fn cause_row(cars: &[TrainCar], cause: &Cause) -> CauseRow {
    if let CauseKind::NothingComesInBy(_) = cause.kind {
        return CauseRow {
            car: cause.car_number.to_string(),
            code: String::new(),
            title: String::new(),
            matter: cause.kind.to_string(),
        };
    }
    let car = cars.get(cause.car);
    let position = car.and_then(|car| car.circuit.car_type().position(&cause.position));
    CauseRow {
        car: cause.car_number.to_string(),
        code: cause.position.to_string(),
        title: position.map_or(String::new(), |position| position.title.clone()),
        matter: cause.kind.to_string(),
    }
}

/// What another place of command reaches, where it is not what the leading one reaches.
#[derive(Debug)]
pub(crate) struct Elsewhere {
    pub(crate) column: ModeColumn,
    pub(crate) losses: Vec<LossRow>,
}

/// The effects from other places of command.
pub(crate) fn elsewhere(cars: &[TrainCar], effects: &[CommandedEffect]) -> Vec<Elsewhere> {
    let one = |commanded: &CommandedEffect| {
        let of_it = std::slice::from_ref(commanded);
        let column = columns(of_it).pop()?;
        let losses = rows(cars, of_it);
        Some(Elsewhere { column, losses })
    };
    effects.iter().filter_map(one).collect()
}
