//! Checks of the fleet: opened for some cars, answered car by car, closed by the last answer unless
//! others carry what is looked for by then, which are asked too.

use super::cars::known_car;
use super::permitted::{Text, plausible_text};
use crate::configuration::fleet_check::{
    CARS_MAX, CarAnswer, CheckAnswer, EarlierAnswer, FleetCheck,
};
use crate::identity::CarNumber;
use crate::ledger::command::Command;
use crate::ledger::dossier::{AnswerRecord, Dossier, FleetCheckRecord};
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;
use std::collections::{BTreeMap, BTreeSet};

/// Checks what is said of a check of the fleet.
pub(super) fn check(dossier: &Dossier, fact: &Fact, at: Instant) -> Result<(), Refusal> {
    match fact {
        Fact::FleetCheckOpened(it) => check_opened(dossier, it, at),
        Fact::FleetCheckAnswered(it) => check_answered(dossier, it, at),
        _ => Ok(()),
    }
}

/// Folds an entry that opens a check or answers one for a car.
pub(super) fn fold(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::FleetCheckOpened(it) => fold_opened(dossier, entry, it),
        Fact::FleetCheckAnswered(it) => fold_answered(dossier, entry, it),
        _ => {}
    }
}

/// Checks that a check asks something of cars that there are, by a day that is yet to end.
/// Linear in its cars.
fn check_opened(dossier: &Dossier, check: &FleetCheck, at: Instant) -> Result<(), Refusal> {
    plausible_text("title", &check.title, Text::Needed)?;
    plausible_text("instruction", &check.instruction, Text::Needed)?;
    plausible_text("looked_for", &check.looked_for, Text::Needed)?;
    if check.cars.is_empty() || CARS_MAX < check.cars.len() {
        return Err(Refusal::Impossible {
            field: "cars",
            given: format!("{} cars", check.cars.len()),
            allowed: format!("at least one car and at most {CARS_MAX}"),
        });
    }
    let opened_on = dossier.zone.day_of(at);
    if check.answer_by < opened_on {
        return Err(Refusal::Impossible {
            field: "answer_by",
            given: check.answer_by.to_string(),
            allowed: format!("a day not before it is opened, {opened_on}"),
        });
    }
    check
        .cars
        .iter()
        .try_for_each(|car| known_car(dossier, car).map(drop))?;
    check_brought_in(check, at)
}

/// Checks that what is brought in was answered by cars of the check, each once and after it was
/// opened.
fn check_brought_in(check: &FleetCheck, opened_at: Instant) -> Result<(), Refusal> {
    let mut answered = BTreeSet::new();
    for EarlierAnswer {
        car,
        answer,
        remark,
        at,
        ..
    } in &check.answered
    {
        if !check.cars.contains(car) || !answered.insert(car) {
            return Err(Refusal::Impossible {
                field: "answered",
                given: format!("an answer of {car}"),
                allowed: "one answer of each car of the check".to_owned(),
            });
        }
        if *at < opened_at {
            return Err(Refusal::Impossible {
                field: "answered",
                given: format!("an answer of {car} at {at}"),
                allowed: format!("a time after the check was opened, {opened_at}"),
            });
        }
        check_remark(*answer, remark)?;
    }
    Ok(())
}

fn check_remark(answer: CarAnswer, remark: &str) -> Result<(), Refusal> {
    let needed = match answer {
        CarAnswer::Defective => Text::Needed,
        CarAnswer::Sound | CarAnswer::NotCarried => Text::Free,
    };
    plausible_text("remark", remark, needed)
}

/// Checks that the car is asked, and that what was found is said. A later answer of a car takes
/// the place of an earlier one, also when the check is closed: what was overlooked is told.
fn check_answered(dossier: &Dossier, answer: &CheckAnswer, at: Instant) -> Result<(), Refusal> {
    let known = dossier.fleet_checks.get(&answer.check);
    let record = known.ok_or_else(|| Refusal::Unknown {
        what: "check of the fleet",
        name: answer.check.0.to_string(),
    })?;
    if !record.cars.contains_key(&answer.car) {
        return Err(Refusal::Unknown {
            what: "car in this check",
            name: answer.car.to_string(),
        });
    }
    if at < record.opened_at {
        return Err(Refusal::Contradicts {
            what: format!("an answer of {} at {at}", answer.car, at = at.told()),
            by: record.id,
            since: record.opened_at.into(),
            allowed: "give a time after the check was opened",
        });
    }
    check_remark(answer.answer, &answer.remark)
}

/// An answer with the cars that are asked too, since it would be the last one and they carry what is
/// looked for, or that cannot be told: those that the check does not ask, and those that said that it was not on them
/// no later than it came there.
pub(super) fn completed(dossier: &Dossier, command: Command) -> Result<Command, Refusal> {
    let Fact::FleetCheckAnswered(answer) = &command.fact else {
        return Ok(command);
    };
    if !answer.asked_too.is_empty() {
        return Err(Refusal::Impossible {
            field: "asked_too",
            given: format!("{} cars", answer.asked_too.len()),
            allowed: "nothing: the register finds them".to_owned(),
        });
    }
    let Some(record) = dossier.fleet_checks.get(&answer.check) else {
        return Ok(command);
    };
    let is_last = record.unanswered == 1 && record.cars.get(&answer.car) == Some(&None);
    let carrying = dossier.carrying.get(&answer.check);
    let Some(carrying) = carrying.filter(|_| is_last) else {
        return Ok(command);
    };
    let not_looked_at = |(car, since): &(&CarNumber, &Instant)| match record.cars.get(*car) {
        None => true,
        Some(None) => false,
        Some(Some(known)) => known.answer == CarAnswer::NotCarried && known.at <= **since,
    };
    let others = carrying.iter().filter(|(car, _)| **car != answer.car);
    let asked_too = others.filter(not_looked_at).map(|(car, _)| car.clone());
    let answer = CheckAnswer {
        asked_too: asked_too.collect(),
        ..answer.clone()
    };
    Ok(Command {
        fact: Fact::FleetCheckAnswered(answer),
        ..command
    })
}

fn fold_opened(dossier: &mut Dossier, entry: &Entry, check: &FleetCheck) {
    let mut cars: BTreeMap<_, _> = check.cars.iter().map(|car| (car.clone(), None)).collect();
    for one in &check.answered {
        let answer = AnswerRecord {
            entry: entry.seq,
            answer: one.answer,
            remark: one.remark.clone(),
            by: one.by.clone(),
            at: one.at,
        };
        cars.insert(one.car.clone(), Some(answer));
        let changed = (entry.seq, one.car.clone());
        dossier.changes.fleet_answers.insert(changed);
    }
    let unanswered = cars.values().filter(|answer| answer.is_none()).count();
    let last = cars.values().flatten().map(|answer| answer.at).max();
    let record = FleetCheckRecord {
        id: entry.seq,
        check: check.clone(),
        by: entry.actor.clone(),
        opened_at: entry.effective_at,
        cars,
        unanswered: u32::try_from(unanswered).unwrap_or(u32::MAX),
        closed: last
            .filter(|_| unanswered == 0)
            .map(|last| (last, entry.seq)),
    };
    dossier.fleet_checks.insert(entry.seq, record);
    dossier.changes.fleet_checks.insert(entry.seq);
}

fn fold_answered(dossier: &mut Dossier, entry: &Entry, answer: &CheckAnswer) {
    let Some(record) = dossier.fleet_checks.get_mut(&answer.check) else {
        return;
    };
    let Some(known) = record.cars.get_mut(&answer.car) else {
        return;
    };
    let first = known.is_none();
    *known = Some(AnswerRecord {
        entry: entry.seq,
        answer: answer.answer,
        remark: answer.remark.clone(),
        by: entry.actor.clone(),
        at: entry.effective_at,
    });
    if first {
        let asked_too = u32::try_from(answer.asked_too.len()).unwrap_or(u32::MAX);
        record.unanswered = record
            .unanswered
            .saturating_sub(1)
            .saturating_add(asked_too);
        if record.unanswered == 0 {
            record.closed = Some((entry.effective_at, entry.seq));
        }
    }
    for car in &answer.asked_too {
        record.cars.insert(car.clone(), None);
    }
    let cars = answer.asked_too.iter().chain([&answer.car]);
    let changed = cars.map(|car| (answer.check, car.clone()));
    dossier.changes.fleet_answers.extend(changed);
}
