//! What a verdict alone does not say: brakes that drag, functions that are lost while every brake
//! still counts, limits that are passed. Each in one sentence for whoever reads nothing else.

use super::Decision;
use super::brakes::{self, EMERGENCY_NOW, SERVICE_NOW};
use super::conceded;
use super::due_at_once;
use super::forces::limits::Limits;
use super::judge_again;
use super::not_counted;
use super::overdue;
use super::re_armed;
use super::seen_free;
use super::shortcoming::Fault;
use super::unweighed;
pub use super::warning_kind::WarningKind;
use crate::identity::CarNumber;
use crate::isolation::Supply;
use crate::isolation::effect::{ActuatorEffect, AppliedBy, Availability, Effect};
use crate::isolation::load_signal::LostLoadSignal;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// One thing to know beside the verdict.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Warning {
    /// What it is about.
    pub kind: WarningKind,
    /// In one sentence.
    pub text: String,
}

impl Decision {
    /// What must be known beside the verdicts, the gravest first. Linear in actuators.
    pub fn warnings(&self) -> Vec<Warning> {
        let (service, emergency) = (self.effect(SERVICE_NOW), self.effect(EMERGENCY_NOW));
        let now = self.dragging(Supply::Now);
        let later = self.dragging(Supply::Exhausted);
        let then = later.difference(&now).cloned().collect();
        let found = [
            (WarningKind::Drags, drags(&now, "")),
            (
                WarningKind::DragsLater,
                drags(&then, " once stored air is used up"),
            ),
            (
                WarningKind::SeenFree,
                seen_free::in_words(&self.seen_free, listed),
            ),
            (WarningKind::ReArmed, self.re_armed()),
            (
                WarningKind::AirNotCounted,
                not_counted::in_words(&self.spent, listed),
            ),
            (WarningKind::Vacant, self.vacant()),
            (WarningKind::Incomplete, self.incomplete()),
            (WarningKind::Unfit, self.unfit()),
            (WarningKind::FailedTest, self.failed_tests()),
            (
                WarningKind::DueAtOnce,
                due_at_once::in_words(&self.due_at_once, of_all),
            ),
            (
                WarningKind::DueAtOnceFitted,
                due_at_once::fitted_in_words(&self.due_at_once, of_all),
            ),
            (
                WarningKind::Overdue,
                overdue::in_words(&self.overdue, of_all),
            ),
            (
                WarningKind::OverdueUnknown,
                overdue::not_looked_at(&self.overdue),
            ),
            (
                WarningKind::JudgeAgain,
                judge_again::in_words(&self.judge_again, of_all),
            ),
        ];
        let conceded = conceded::in_words(&self.conceded).into_iter();
        let conceded = conceded.map(|text| (WarningKind::Concession, Some(text)));
        let others = [
            (WarningKind::Departs, self.departs()),
            (
                WarningKind::PercentageUnknown,
                unweighed::in_words(self.percentage.as_ref()),
            ),
            (WarningKind::OneModeOnly, one_mode_only(service, emergency)),
            (WarningKind::Fades, self.fading()),
            (WarningKind::HoldsLess, self.holds_less()),
            (WarningKind::OtherCab, self.other_cabs()),
            (WarningKind::Adhesion, self.limits().and_then(adhesion)),
            (WarningKind::Heat, self.limits().and_then(heat)),
            (WarningKind::LoadSignal, self.lost_signals()),
            (WarningKind::Suspension, self.sinking()),
            (WarningKind::SlideProtection, self.sliding()),
        ];
        let found = found.into_iter().chain(conceded).chain(others);
        found
            .filter_map(|(kind, text)| Some(Warning { kind, text: text? }))
            .collect()
    }

    fn effect(&self, which: usize) -> &Effect {
        &self.effects[which].effect
    }

    /// The brakes that are on with nothing commanded, or cannot be said to be off.
    fn dragging(&self, supply: Supply) -> Places {
        let on = brakes::on(&self.effects, supply);
        on.map(|brake| named(brake.of())).collect()
    }

    fn limits(&self) -> Option<&Limits> {
        let forces = self.forces.as_ref().ok()?;
        Some(&forces.limits.as_ref().ok()?.value)
    }

    fn re_armed(&self) -> Option<String> {
        re_armed::in_words(&self.effects, listed)
    }

    fn vacant(&self) -> Option<String> {
        let vacant = self.vacant.iter();
        let vacant = vacant.map(|at| (at.car.clone(), at.position.to_string()));
        of_all(
            "Nothing is fitted where something belongs, which counts as delivering nothing. Where it \
             ends a pipe, as a drain cock or a test point does, the pipe counts as empty; elsewhere the \
             side that feeds it counts as tight, which is to be seen:",
            &vacant.collect(),
        )
    }

    fn incomplete(&self) -> Option<String> {
        let missing = self.shortcomings.iter().filter_map(|one| {
            let missing = one.shortcoming.fault == Fault::Missing;
            missing.then(|| (one.car_number.clone(), one.shortcoming.position.to_string()))
        });
        of_all(
            "Something is missing inside an assembly that needs it, which is counted as \
             delivering nothing:",
            &missing.collect(),
        )
    }

    fn unfit(&self) -> Option<String> {
        let unfit = self.shortcomings.iter().filter_map(|one| {
            let Fault::Unfit(condition) = one.shortcoming.fault else {
                return None;
            };
            let told = format!("{} ({condition})", one.shortcoming.position);
            Some((one.car_number.clone(), told))
        });
        of_all(
            "Found unfit where it is fitted, and counted as if it worked:",
            &unfit.collect(),
        )
    }

    fn failed_tests(&self) -> Option<String> {
        let failed = self.failed_tests.iter();
        let failed = failed.map(|one| (one.car_number.clone(), one.failed.in_words()));
        of_all(
            "A test was failed and none by the same procedure passed since:",
            &failed.collect(),
        )
    }

    fn departs(&self) -> Option<String> {
        let departs = self.not_conceded.iter();
        let departs = departs.map(|one| (one.car_number.clone(), one.departs.in_words()));
        of_all(
            "Departs from its baseline with no concession:",
            &departs.collect(),
        )
    }

    fn fading(&self) -> Option<String> {
        let (now, later) = self.fades()?;
        Some(format!(
            "The brake percentage is {now} now and falls to {later} once stored air is used up."
        ))
    }

    fn holds_less(&self) -> Option<String> {
        let holding = self.holding.as_ref().ok()?;
        let (before, after) = (holding.before.value, holding.after.value);
        (after < before).then(|| {
            format!(
                "Standing, the springs keep the train on {after} and not on {before} as they \
                 should: it is held otherwise where that is not enough."
            )
        })
    }

    fn other_cabs(&self) -> Option<String> {
        let cars: BTreeSet<&str> = self
            .elsewhere
            .iter()
            .filter_map(|commanded| Some(commanded.from.as_ref()?.as_str()))
            .collect();
        let cars: Vec<&str> = cars.into_iter().collect();
        (!cars.is_empty()).then(|| {
            format!(
                "Commanded from car {} other brakes work than from the front; the verdicts speak \
                 of the front.",
                cars.join(" or ")
            )
        })
    }

    fn lost_signals(&self) -> Option<String> {
        let lost = |at_once: bool| -> Places {
            let signals = self.load_signals.iter();
            let signals = signals.filter(|lost| lost.at_once == at_once);
            let places = signals.map(|LostLoadSignal { signal, .. }| {
                let as_for = match signal.assumed {
                    Some(load) => format!("(braked as for {load} load)"),
                    None => "(as for a load that nobody entered)".to_owned(),
                };
                (signal.car_number.clone(), as_for)
            });
            places.collect()
        };
        sentences([
            of_all("The load signal is lost on", &lost(true)),
            of_all(
                "Once stored air is used up, the load signal is lost on",
                &lost(false),
            ),
        ])
    }

    /// Rules for ride and gauge are the operator's own (common practice, no source).
    fn sinking(&self) -> Option<String> {
        let without = |at_once: bool| -> Places {
            let valves = self.levelling.iter();
            let valves = valves.filter(|valve| valve.at_once == at_once);
            valves
                .map(|valve| (valve.car_number.clone(), valve.position.to_string()))
                .collect()
        };
        let told = sentences([
            of_all(
                "The car sinks onto its emergency springs, since no air comes to the levelling \
                 valves of",
                &without(true),
            ),
            of_all(
                "Once stored air is used up, no air comes to the levelling valves of",
                &without(false),
            ),
        ])?;
        Some(format!(
            "{told} The verdicts do not speak of ride and gauge: the rules for the air suspension \
             decide."
        ))
    }

    fn sliding(&self) -> Option<String> {
        let axles = self.unprotected.iter();
        let axles = axles.map(|one| (one.car_number.clone(), format!("axle {}", one.axle)));
        of_all("Nothing protects from sliding on", &axles.collect())
    }
}

/// Parts of cars, by car.
pub(super) type Places = BTreeSet<(CarNumber, String)>;

/// Beyond so many parts only their cars are named.
const NAMED_MAX: usize = 12;

/// "car 4101 =B1, =B2; car 4102 =B1", or "cars 4101, 4102, 4103".
pub(super) fn listed(places: &Places) -> String {
    let mut by_car: BTreeMap<&CarNumber, Vec<&str>> = BTreeMap::new();
    for (car, part) in places {
        by_car.entry(car).or_default().push(part);
    }
    if NAMED_MAX < places.len() {
        let cars: Vec<&str> = by_car.keys().map(|car| car.as_str()).collect();
        return format!("cars {}", cars.join(", "));
    }
    let cars = by_car.iter();
    let cars: Vec<String> = cars
        .map(|(car, parts)| format!("car {car} {}", parts.join(", ")))
        .collect();
    cars.join("; ")
}

fn named(actuator: &ActuatorEffect) -> (CarNumber, String) {
    (actuator.car_number.clone(), actuator.position.to_string())
}

fn drags(brakes: &Places, when: &str) -> Option<String> {
    let drag = match brakes.len() {
        0 => return None,
        1 => "1 brake drags".to_owned(),
        count => format!("{count} brakes drag"),
    };
    Some(format!("{drag}{when}, or may: {}.", listed(brakes)))
}

/// Air-applied brakes that work in one of both and not in the other.
fn one_mode_only(service: &Effect, emergency: &Effect) -> Option<String> {
    let works = |one: &ActuatorEffect| one.availability == Availability::Available;
    let both = service.actuators.iter().zip(&emergency.actuators);
    let air = both.filter(|(one, _)| one.applied_by == AppliedBy::Air);
    let (mut only_service, mut only_emergency) = (BTreeSet::new(), BTreeSet::new());
    for (service, emergency) in air {
        match (works(service), works(emergency)) {
            (true, false) => drop(only_service.insert(named(service))),
            (false, true) => drop(only_emergency.insert(named(emergency))),
            _ => {}
        }
    }
    sentences([
        of_all(
            "Only emergency braking reaches, service braking does not,",
            &only_emergency,
        ),
        of_all(
            "Only service braking reaches, emergency braking does not,",
            &only_service,
        ),
    ])
}

/// Two sentences, where there is one.
fn sentences(told: [Option<String>; 2]) -> Option<String> {
    let told: Vec<String> = told.into_iter().flatten().collect();
    (!told.is_empty()).then(|| told.join(" "))
}

fn of_all(begins: &str, all: &Places) -> Option<String> {
    (!all.is_empty()).then(|| format!("{begins} {}.", listed(all)))
}

/// Axles above the adhesion that their car type allows, with the demand shared as it says; the
/// worse way where it does not say.
fn adhesion(limits: &Limits) -> Option<String> {
    let above = limits.axles.iter().filter_map(|axle| {
        let used = match limits.sharing {
            Some(sharing) => axle.used.after(sharing),
            None => axle.used.shared.max(axle.used.not_shared),
        };
        let limit = axle.limit?.real();
        (limit < used).then(|| (axle.car.clone(), format!("axle {}", axle.axle)))
    });
    of_all(
        "More adhesion than its car type allows is asked of",
        &above.collect(),
    )
}

fn heat(limits: &Limits) -> Option<String> {
    let above = limits.heat.iter().filter_map(|group| {
        let each = match limits.sharing {
            Some(sharing) => group.each.after(sharing).0,
            None => group.each.shared.0.max(group.each.not_shared.0),
        };
        (group.limit?.0 < each).then(|| (group.car.clone(), format!("group {}", group.group)))
    });
    of_all(
        "One stop puts more heat than its car type allows into",
        &above.collect(),
    )
}
