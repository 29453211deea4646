//! Facts of entries as people read them: one sentence for lists, and rows for a page.

mod cells;
mod judged;
mod limits;
mod rows;

pub(crate) use cells::FactRow;
pub(crate) use limits::LimitsCompared;
pub(crate) use rows::rows;

use crate::page::fleet_checks::one::in_words;
use crate::show::exact;
use domain::configuration::car::{Car, Orientation, Train, Unit, Vehicle};
use domain::configuration::concession::Concession;
use domain::configuration::effectivity::Effectivity;
use domain::configuration::setting::{SettingHow, SettingMade};
use domain::decision::taken::DecisionTaken;
use domain::due::visit::Visit;
use domain::ledger::fact::{Fact, Fitting, Reading, Receipt, Removal};
use domain::ledger::proposal::Proposal;
use domain::time::Zone;

/// What an entry records, in one sentence without its end, with times by the depot's clock.
pub(crate) fn sentence(fact: &Fact, zone: &Zone) -> String {
    match fact {
        Fact::CarTypeDefined(_)
        | Fact::RevisionEffective(_)
        | Fact::ConcessionGranted(_)
        | Fact::ConcessionProlonged { .. }
        | Fact::ConcessionWithdrawn { .. }
        | Fact::ModificationIssued(_)
        | Fact::LocationDefined(_)
        | Fact::PartDefined(_)
        | Fact::TaskDefined(_)
        | Fact::ProcedureDefined(_)
        | Fact::RuleSetIssued(_) => document(fact),
        Fact::CarRegistered(car) => registered(car),
        Fact::UnitFormed(unit) => format!("unit {} formed of {}", unit.number, unit_cars(unit)),
        Fact::TrainFormed(train) => format!("train {} formed of {}", train.id, vehicles(train)),
        Fact::ComponentReceived(receipt) => received(receipt),
        Fact::Fitted(fitting) => fitted_until(fitting, zone),
        Fact::Removed { .. } | Fact::Moved { .. } | Fact::Swapped { .. } => left(fact),
        Fact::Relocated(it) => format!("{} moved to {}{}", it.component, it.to, it.sent),
        Fact::PlateChanged(it) => format!("plate of {} {}: {}", it.component, it.cause, it.plate),
        Fact::ConditionJudged {
            component,
            condition,
            ..
        } => format!("{component} judged {condition}"),
        Fact::SettingMade(it) => set(it),
        Fact::ReadingTaken(reading) => read(reading),
        Fact::MeterReplaced {
            car,
            meter,
            last_value,
            first_value,
        } => format!(
            "{meter} of car {car} replaced: from {} to {}",
            exact(*last_value, *meter),
            exact(*first_value, *meter)
        ),
        Fact::TaskDone { .. } | Fact::Embodied { .. } | Fact::TestRecorded(_) => work(fact),
        Fact::Isolated(it) => format!("{} {}: {}", it.at, it.state, it.cause),
        Fact::IsolationEnded { at, proved_by } => {
            format!("cut-out at {at} ended, proved by test {proved_by}")
        }
        Fact::CheckConfirmed(it) => format!(
            "check after the cut-out at {} confirmed by {}: {}",
            it.at, it.by, it.check
        ),
        Fact::DecisionTaken(it) => decided(it),
        Fact::HeldAsEvidence { .. } | Fact::HoldLifted { .. } => held(fact),
        Fact::FleetCheckOpened(_) | Fact::FleetCheckAnswered(_) => fleet_check(fact),
        Fact::VisitPlanned(it) => visit_planned(it),
        Fact::VisitCancelled { visit, reason } => format!("visit {visit} cancelled: {reason}"),
        Fact::Withdrawn => "an earlier entry withdrawn".to_owned(),
        Fact::Proposed(proposal) => format!("proposed: {}", proposed(proposal)),
        Fact::Approved { proposal } => format!("proposal of {proposal} approved"),
        Fact::Rejected { proposal } => format!("proposal of {proposal} rejected"),
    }
}

/// What left a position.
fn left(fact: &Fact) -> String {
    match fact {
        Fact::Removed {
            component, removal, ..
        } => {
            let Removal {
                reason, to, sent, ..
            } = removal;
            format!("{component} removed: {reason}, to {to}{sent}")
        }
        Fact::Moved {
            component,
            to,
            reason,
            ..
        } => format!("{component} moved to {to}: {reason}"),
        Fact::Swapped {
            first,
            second,
            reason,
            ..
        } => format!("{first} and {second} swapped: {reason}"),
        other => other.kind().to_string(),
    }
}

fn registered(car: &Car) -> String {
    let Car {
        number, car_type, ..
    } = car;
    format!(
        "car {number} registered: {car_type}, fleet {}, depot {}",
        car.fleet, car.depot
    )
}

fn visit_planned(visit: &Visit) -> String {
    let Visit {
        number,
        unit,
        depot,
        from,
        until,
        ..
    } = visit;
    format!("visit {number} of {unit} at {depot} planned from {from} to {until}")
}

fn fleet_check(fact: &Fact) -> String {
    match fact {
        Fact::FleetCheckOpened(it) => {
            let cars = it.cars.len();
            format!("check of the fleet opened for {cars} cars: {}", it.title)
        }
        Fact::FleetCheckAnswered(it) => {
            let found = in_words(it.answer);
            format!("car {} answered the check of {}: {found}", it.car, it.check)
        }
        other => other.kind().to_string(),
    }
}

/// What is proposed, in one sentence without its end.
pub(crate) fn proposed(proposal: &Proposal) -> String {
    match proposal {
        Proposal::RuleSet(it) => format!("rule set {} revision {}", it.name, it.revision),
        Proposal::CarType(it) => format!("car type {} revision {}", it.name, it.revision),
        Proposal::Effectivity(it) => effective(it),
        Proposal::Task(it) => format!("task {} revision {}: {}", it.code, it.revision, it.title),
        Proposal::Procedure(it) => {
            format!(
                "procedure {} revision {}: {}",
                it.code, it.revision, it.title
            )
        }
        Proposal::Car(it) => format!("new {} revision {}", registered(it), it.revision),
        Proposal::Concession(it) => granted(it),
        Proposal::Prolongation { number, until } => {
            format!("concession {number} prolonged until {until}")
        }
        Proposal::Release {
            component,
            condition,
            ..
        } => format!("{component} released from quarantine as {condition}"),
        Proposal::Lifting { hold, .. } => format!("the evidence hold of {hold} lifted"),
    }
}

fn effective(it: &Effectivity) -> String {
    format!(
        "car type {} revision {} in force for cars {} from {}",
        it.car_type, it.revision, it.cars, it.from
    )
}

fn granted(it: &Concession) -> String {
    let Concession {
        number,
        cars,
        position,
        allows,
        until,
        ..
    } = it;
    format!("concession {number}: {allows} at {position} of cars {cars} until {until}")
}

fn decided(it: &DecisionTaken) -> String {
    format!(
        "decided about train {} by {}: {}",
        it.train,
        it.decided_by,
        it.found.permission.headline().to_lowercase()
    )
}

fn held(fact: &Fact) -> String {
    match fact {
        Fact::HeldAsEvidence { held, .. } => format!("{held} held as evidence"),
        Fact::HoldLifted { hold, .. } => format!("evidence hold of {hold} lifted"),
        other => other.kind().to_string(),
    }
}

fn work(fact: &Fact) -> String {
    match fact {
        Fact::TaskDone { subject, task, .. } => format!("task {task} done on {subject}"),
        Fact::Embodied {
            modification,
            subject,
            ..
        } => format!("modification {modification} embodied in {subject}"),
        Fact::TestRecorded(it) => format!(
            "test {} of {} recorded, procedure {}",
            it.id, it.subject, it.procedure
        ),
        other => other.kind().to_string(),
    }
}

fn document(fact: &Fact) -> String {
    match fact {
        Fact::CarTypeDefined(it) => {
            format!("car type {} revision {} defined", it.name, it.revision)
        }
        Fact::RevisionEffective(it) => effective(it),
        Fact::ConcessionGranted(it) => granted(it),
        Fact::ConcessionProlonged { number, until } => {
            format!("concession {number} prolonged until {until}")
        }
        Fact::ModificationIssued(it) => {
            format!(
                "modification {} issued: {}, by {}",
                it.number, it.title, it.by
            )
        }
        Fact::ConcessionWithdrawn { number } => format!("concession {number} withdrawn"),
        Fact::LocationDefined(it) => format!("{} named as {}", it.name, it.kind),
        Fact::PartDefined(it) => format!("part {} defined: {}", it.number, it.title),
        Fact::TaskDefined(it) => {
            format!(
                "task {} revision {} defined: {}",
                it.code, it.revision, it.title
            )
        }
        Fact::ProcedureDefined(it) => {
            format!(
                "procedure {} revision {} defined: {}",
                it.code, it.revision, it.title
            )
        }
        Fact::RuleSetIssued(it) => format!("rule set {} revision {} issued", it.name, it.revision),
        other => other.kind().to_string(),
    }
}

fn set(it: &SettingMade) -> String {
    let how = match it.how {
        SettingHow::Made => "set to",
        SettingHow::Found => "found at",
    };
    format!("{} at {} {how} {}", it.setting, it.at, it.value)
}

fn received(receipt: &Receipt) -> String {
    let Receipt {
        component,
        condition,
        location,
        batch,
        ..
    } = receipt;
    let of = batch.as_ref().map(|batch| format!(" of batch {batch}"));
    let of = of.unwrap_or_default();
    format!("{component}{of} received at {location}, {condition}")
}

/// The beginning of a fitment.
pub(crate) fn fitted(fitting: &Fitting) -> String {
    format!("{} fitted at {}", fitting.component, fitting.at)
}

fn fitted_until(fitting: &Fitting, zone: &Zone) -> String {
    let begun = fitted(fitting);
    match &fitting.ended {
        Some(ended) => {
            let until = zone.show(ended.at);
            format!("{begun} until {until}: {}", ended.removal.reason)
        }
        None => begun,
    }
}

fn read(reading: &Reading) -> String {
    let value = exact(reading.value, reading.meter);
    format!("{} of car {} read: {value}", reading.meter, reading.car)
}

fn turned(orientation: Orientation) -> &'static str {
    match orientation {
        Orientation::Forward => "",
        Orientation::Reversed => " (reversed)",
    }
}

fn unit_cars(unit: &Unit) -> String {
    let cars = unit.cars.iter();
    let cars: Vec<String> = cars
        .map(|place| format!("{}{}", place.car, turned(place.orientation)))
        .collect();
    cars.join(", ")
}

fn vehicles(train: &Train) -> String {
    let vehicles = train.vehicles.iter();
    let vehicles: Vec<String> = vehicles
        .map(|vehicle| match vehicle {
            Vehicle::Unit(unit, orientation) => format!("unit {unit}{}", turned(*orientation)),
            Vehicle::Car(car, orientation) => format!("car {car}{}", turned(*orientation)),
        })
        .collect();
    vehicles.join(", ")
}
