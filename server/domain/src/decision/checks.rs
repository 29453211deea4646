//! What must be checked by a person after a cut-out before any verdict on it is acted on. The
//! register knows what was recorded; only these checks know what was closed.

use super::stored::StoredIn;
use super::{Question, Supposed};
use crate::circuit::state::{Impaired, Impairment};
use crate::configuration::car_type::{CarType, Position, PositionKind};
use crate::configuration::component::PositionRef;
use crate::identity::CarNumber;
use crate::isolation::CutOutState;
use crate::isolation::closing::Spot;
use crate::words::word_list;
use crate::worked::Source;
use serde::Serialize;
use std::collections::BTreeMap;
use std::collections::btree_map::Entry;

/// The state of the brakes, and of each part that can be isolated by itself, can be found out at
/// standstill.
const STATE_INDICATION: &str = "Regulation (EU) 1302/2014, annex, 4.2.4.9";
const TELL_AT_ONCE: &str = "Regulation (EU) 2019/773, annex, 4.2.2.6 and 4.2.2.7";

word_list! {
    /// What is checked after a cut-out, in the order in which it is done.
    CheckKind, "check" {
        /// The right cock of the right car is in the right state.
        RightPlace = "right_place",
        /// The pressure of a reservoir whose supply is cut was read.
        PressureRead = "pressure_read",
        /// Pads or blocks are free.
        PadsFree = "pads_free",
        /// The remaining brakes apply and release.
        OthersWork = "others_work",
        /// The brake is continuous to the last vehicle.
        Continuous = "continuous",
        /// The brakes that work were counted again.
        CountedAgain = "counted_again",
        /// Everybody was told who must be.
        EveryoneTold = "everyone_told",
    }
}

/// One thing to check, and after whom.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Check {
    /// What is checked.
    pub kind: CheckKind,
    /// The cut-outs that it proves, in the order of the train; none for what is checked once for
    /// the train.
    pub of: Vec<PositionRef>,
    /// What to do or to see, in one sentence that can be read over a radio.
    pub text: String,
    /// Where the check comes from.
    pub source: Source,
}

/// The checks after the cut-outs of a question, in the order in which they are done: none where
/// nothing is cut out. Linear in the cut-outs.
pub fn checks(question: &Question) -> Vec<Check> {
    let places = cut_outs(question);
    if places.is_empty() {
        return Vec::new();
    }
    let mut checks: Vec<Check> = places.iter().map(right_place).collect();
    checks.extend(pressures_read(question, &places));
    checks.extend(pads_free(&places));
    checks.extend(afterwards(question));
    checks
}

/// A position of the train that is cut out, in force or supposed.
pub(super) struct Place<'a> {
    /// The car's place in the train, from 0.
    pub(super) index: usize,
    pub(super) car: &'a CarNumber,
    pub(super) position: &'a Position,
    pub(super) state: CutOutState,
    /// Whether it is in force as recorded, and not supposed.
    pub(super) in_force: bool,
}

impl Place<'_> {
    fn check(&self, kind: CheckKind, text: String, source: Source) -> Check {
        let at = PositionRef {
            car: self.car.clone(),
            position: self.position.code.clone(),
        };
        Check {
            kind,
            of: vec![at],
            text,
            source,
        }
    }
}

/// The cut-outs in force that are supposed to be put back, in the order of the train.
pub(super) fn put_back(question: &Question) -> Vec<Place<'_>> {
    let cars = question.cars.iter().enumerate();
    let places = cars.flat_map(|(index, car)| {
        let cut_outs = car.cut_outs.iter().filter(|cut_out| {
            let mut supposed = question.supposed.iter();
            let open = |one: &Supposed| one.state.is_none() && one.at.car == car.number;
            supposed.any(|one| open(one) && one.at.position == cut_out.position)
        });
        cut_outs.filter_map(move |cut_out| {
            Some(Place {
                index,
                car: &car.number,
                position: car.circuit.car_type().position(&cut_out.position)?,
                state: cut_out.state,
                in_force: true,
            })
        })
    });
    places.collect()
}

/// The cut-outs of a question, in the order of the train.
pub(super) fn cut_outs(question: &Question) -> Vec<Place<'_>> {
    let place = |one: Impaired| {
        let Impairment::CutOut(state) = one.by else {
            return None;
        };
        let car = question.cars.get(one.car)?;
        let car_type: &CarType = car.circuit.car_type();
        let position = car_type.position(&one.position)?;
        Some(Place {
            index: one.car,
            car: &car.number,
            position,
            state,
            in_force: !question.supposes(&car.number, &one.position),
        })
    };
    question.cut_outs().filter_map(place).collect()
}

fn of_train(kind: CheckKind, text: String) -> Check {
    Check {
        kind,
        of: Vec::new(),
        text,
        source: Source::CommonPractice,
    }
}

/// "car 4101, left side seen from end 1, =BS1-QM1, B1 on the car label".
fn spoken(place: &Place<'_>) -> String {
    let Position {
        code,
        side,
        aliases,
        ..
    } = place.position;
    let side = side.map_or(String::new(), |side| {
        format!(", {side} side seen from end 1")
    });
    let label = aliases.first().map_or(String::new(), |alias| {
        format!(", {} on the {}", alias.name, alias.source)
    });
    format!("car {}{side}, {code}{label}", place.car)
}

fn right_place(place: &Place<'_>) -> Check {
    let seen = match place.position.kind {
        PositionKind::IsolatingCock | PositionKind::EndCock => "the handle and the indicator",
        _ => "its state",
    };
    let text = format!(
        "Right car, right side, right place: {}. Read back car and code; see {seen}: {}.",
        spoken(place),
        place.state
    );
    let source = Source::Published(STATE_INDICATION.to_owned());
    place.check(CheckKind::RightPlace, text, source)
}

/// One check for each reservoir whose supply is cut: what it is counted on for rests on air that
/// nobody has measured since. Nothing where no supply is cut or no circuit is known.
fn pressures_read(question: &Question, places: &[Place<'_>]) -> Vec<Check> {
    let mut states = places.iter().map(|place| place.state);
    if !states.any(|state| state == CutOutState::SupplyCut) {
        return Vec::new();
    }
    let stored = question.stored_air().unwrap_or_default().into_iter();
    stored
        .filter(|one| !one.supply_cut.is_empty())
        .map(|one| pressure_read(question, &one))
        .collect()
}

fn pressure_read(question: &Question, stored: &StoredIn) -> Check {
    let at = |spot: &Spot| PositionRef {
        car: spot.car_number.clone(),
        position: spot.position.clone(),
    };
    let named = |spot: &Spot| {
        let car_type = question.cars.get(spot.car);
        let car_type = car_type.map(|car| car.circuit.car_type());
        let position = car_type.and_then(|car_type| car_type.position(&spot.position));
        let label = position.and_then(|position| position.aliases.first());
        label.map_or(spot.position.to_string(), |label| {
            format!("{}, {} on the {}", spot.position, label.name, label.source)
        })
    };
    let read = match stored.read_at.as_slice() {
        [] => "No test point and no gauge is on it: read its pressure another way, or count it as \
               empty"
            .to_owned(),
        spots => {
            let spots: Vec<String> = spots.iter().map(named).collect();
            format!("Read its pressure at {}: … bar", spots.join(" or "))
        }
    };
    let counts = match &stored.charged {
        Ok(least) => format!("What is counted on it holds from {least:.2} upward only"),
        Err(_) => "From which pressure it counts as full is not known".to_owned(),
    };
    let Spot {
        car_number,
        position,
        ..
    } = &stored.at;
    Check {
        kind: CheckKind::PressureRead,
        of: stored.supply_cut.iter().map(at).collect(),
        text: format!(
            "Car {car_number}, reservoir {position}, whose supply is cut. {read}. {counts}; it \
             leaks, so read it again before each start."
        ),
        source: Source::CommonPractice,
    }
}

/// One check for each bogie with a cut-out: it is looked at once, whatever is cut out there.
fn pads_free(places: &[Place<'_>]) -> Vec<Check> {
    let mut by_bogie: BTreeMap<(usize, u8), Check> = BTreeMap::new();
    for place in places {
        // What protects from sliding presses nothing.
        let presses = !place.position.kind.is_slide_electronics();
        let Some(bogie) = place.position.bogie.filter(|_| presses) else {
            continue;
        };
        let car = place.car;
        let text = format!(
            "Car {car}, bogie {bogie}: pads or blocks are free on both sides of each axle."
        );
        let check = place.check(CheckKind::PadsFree, text, Source::CommonPractice);
        match by_bogie.entry((place.index, bogie)) {
            Entry::Vacant(first) => drop(first.insert(check)),
            Entry::Occupied(mut same) => same.get_mut().of.extend(check.of),
        }
    }
    by_bogie.into_values().collect()
}

fn afterwards(question: &Question) -> Vec<Check> {
    let last = question.cars.last();
    let last = last.map_or(String::new(), |car| format!(", car {}", car.number));
    vec![
        of_train(
            CheckKind::OthersWork,
            "The remaining brakes apply and release, from the cab the train is driven from.".into(),
        ),
        of_train(
            CheckKind::Continuous,
            format!(
                "The brake is continuous to the last vehicle{last}, proved after the last \
                 change to any cock or coupling."
            ),
        ),
        of_train(
            CheckKind::CountedAgain,
            "The brakes that work were counted again from scratch, whoever cut the others out."
                .into(),
        ),
        Check {
            kind: CheckKind::EveryoneTold,
            of: Vec::new(),
            text: "Told: infrastructure manager or signaller, controller, the next driver, \
                   maintenance; notice in both cabs; train data changed."
                .into(),
            source: Source::Published(TELL_AT_ONCE.to_owned()),
        },
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Practice D.6: pads are seen free bogie by bogie, whatever is cut out there.
    #[test]
    fn pads_of_a_bogie_are_checked_once_for_all_that_is_cut_out_there() {
        let position = |code: &str, bogie: u8| -> Position {
            let position = serde_json::json!({
                "code": code, "title": "one", "kind": "isolating_cock", "bogie": bogie,
                "along_mm": 1, "approved": [],
            });
            serde_json::from_value(position).expect("a position")
        };
        let car: CarNumber = "4101".parse().expect("a car");
        let positions = [("=A1", 1), ("=A2", 2), ("=A3", 1)];
        let positions = positions.map(|(code, bogie)| position(code, bogie));
        let places = positions.each_ref().map(|position| Place {
            index: 0,
            car: &car,
            position,
            state: CutOutState::ClosedVented,
            in_force: true,
        });
        let checks = pads_free(&places);
        let found = checks.iter().map(|check| {
            let of = check.of.iter().map(|at| at.position.to_string());
            (check.text.contains("bogie 1:"), of.collect())
        });
        let found: Vec<(bool, Vec<String>)> = found.collect();
        let both = vec!["=A1".to_owned(), "=A3".to_owned()];
        assert_eq!(found, [(true, both), (false, vec!["=A2".to_owned()])]);
    }
}
