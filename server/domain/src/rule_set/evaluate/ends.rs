//! Rules about where in the train the unbraked vehicles are.

use super::{Finding, finding, kept};
use crate::rule_set::consequence::CabRestriction;
use crate::rule_set::facts::{CarFacts, HandBrake, TrainFacts};
use crate::rule_set::measure::{is_braked, needed};
use crate::rule_set::requirement::{Adjacent, CountsAsBraked, EndVehicle, TrainEnd};
use crate::worked::Missing;

pub(super) fn judge_end(rule: &EndVehicle, train: &TrainFacts) -> Result<Finding, Missing> {
    let first = needed(train.cars.first(), "vehicles", "train")?;
    let last = needed(train.cars.last(), "vehicles", "train")?;
    let watched: Vec<&CarFacts> = match rule.end {
        TrainEnd::First => vec![first],
        TrainEnd::Last => vec![last],
        TrainEnd::FirstOrLast => vec![first, last],
        TrainEnd::LastTwo => train.cars.iter().rev().take(2).collect(),
    };
    let mut unbraked = Vec::new();
    for car in &watched {
        if !is_braked(car, rule.counts_as_braked)? {
            unbraked.push(*car);
        }
    }
    let broken = match rule.end {
        TrainEnd::LastTwo => unbraked.len() == watched.len(),
        TrainEnd::First | TrainEnd::Last | TrainEnd::FirstOrLast => !unbraked.is_empty(),
    };
    if !broken {
        return Ok(kept(format!("{}: braked", place(rule.end))));
    }
    let numbers = numbers(&unbraked);
    match rule.hand_brake {
        Some(from) if !any_hand_brake(&unbraked, from)? => {
            let working = format!("{numbers} not braked, but its hand brake is not {from}");
            Ok(kept(working))
        }
        _ => {
            let working = format!("{}: {numbers} not braked", place(rule.end));
            finding(working, &rule.otherwise, train)
        }
    }
}

fn place(end: TrainEnd) -> &'static str {
    match end {
        TrainEnd::First => "first vehicle",
        TrainEnd::Last => "last vehicle",
        TrainEnd::LastTwo => "last or last but one vehicle",
        TrainEnd::FirstOrLast => "first and last vehicle",
    }
}

fn numbers(cars: &[&CarFacts]) -> String {
    let numbers: Vec<&str> = cars.iter().map(|car| car.car.as_str()).collect();
    numbers.join(", ")
}

fn any_hand_brake(cars: &[&CarFacts], from: HandBrake) -> Result<bool, Missing> {
    let mut any = false;
    for car in cars {
        let of = format!("car {}", car.car);
        any |= needed(car.hand_brake, "place of the hand brake", &of)? == from;
    }
    Ok(any)
}

/// Why a train may not be driven from its front by a restriction that asks for the brake of that vehicle;
/// none where it works, which is where all its axles brake.
pub(super) fn leading_brake_amiss(
    cab: CabRestriction,
    train: &TrainFacts,
) -> Result<Option<String>, Missing> {
    let first = needed(train.cars.first(), "vehicles", "train")?;
    if is_braked(first, CountsAsBraked::AllAxles)? {
        return Ok(None);
    }
    let axles = first.axles.map_or(String::new(), |axles| {
        format!(": {} of {} axles brake", axles.operative(), axles.total())
    });
    Ok(Some(format!(
        "driven from the {cab}, and that of car {} at the front does not work{axles}",
        first.car
    )))
}

pub(super) fn judge_adjacent(rule: &Adjacent, train: &TrainFacts) -> Result<Finding, Missing> {
    let (mut run, mut longest): (Vec<&CarFacts>, Vec<&CarFacts>) = (Vec::new(), Vec::new());
    for car in &train.cars {
        if is_braked(car, rule.counts_as_braked)? {
            run.clear();
        } else {
            run.push(car);
        }
        if run.len() > longest.len() {
            longest.clone_from(&run);
        }
    }
    let most = longest.len();
    if most <= rule.at_most as usize {
        let working = format!(
            "at most {most} together not braked, {} allowed",
            rule.at_most
        );
        return Ok(kept(working));
    }
    let numbers = numbers(&longest);
    let working = format!(
        "{most} together not braked ({numbers}), {} allowed",
        rule.at_most
    );
    finding(working, &rule.otherwise, train)
}
