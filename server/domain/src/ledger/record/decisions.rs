//! Checks that people confirm after a cut-out, and decisions they take about a train.

use crate::decision::answer::{When, answer};
use crate::decision::checks::{CheckKind, asks_re_arming};
use crate::decision::follow_up::ConfirmedCheck;
use crate::decision::taken::{DecisionTaken, Found};
use crate::decision::told::TOLD_MAX;
use crate::identity::TrainId;
use crate::isolation::CutOutState;
use crate::isolation::isolable::Isolable;
use crate::ledger::consequences::Verdict;
use crate::ledger::dossier::{DecisionRecord, Documents, Dossier, TrainAsItStands};
use crate::ledger::entry::Entry;
use crate::ledger::fact::Confirmation;
use crate::refusal::Refusal;
use crate::rule_set::in_force::in_force;
use crate::time::Instant;

pub(super) fn check_confirmed(
    dossier: &Dossier,
    confirmation: &Confirmation,
    at: Instant,
) -> Result<(), Refusal> {
    let Confirmation {
        at: position,
        isolation,
        ..
    } = confirmation;
    let found = super::isolations::in_force(dossier, position);
    let Some(known) = found.filter(|known| known.id == *isolation) else {
        return Err(Refusal::Impossible {
            field: "isolation",
            given: format!("a check of what {isolation} tells of {position}"),
            allowed: match found {
                Some(other) => format!(
                    "a check of the state that {} tells of it since: open the checks again",
                    other.id
                ),
                None => "nothing: no cut-out is in force there any more".to_owned(),
            },
        });
    };
    if at < known.since {
        return Err(Refusal::Contradicts {
            what: format!(
                "a check of the cut-out at {position} at {at}",
                at = at.told()
            ),
            by: known.id,
            since: known.since.into(),
            allowed: "give a time not before it began",
        });
    }
    check_asked(dossier, confirmation, (known.cut_out.state, at))
}

/// A check is confirmed where it is asked: it is believed of what it is confirmed of.
fn check_asked(
    dossier: &Dossier,
    confirmation: &Confirmation,
    (state, at): (CutOutState, Instant),
) -> Result<(), Refusal> {
    let Confirmation {
        at: position,
        check,
        ..
    } = confirmation;
    let car = super::cars::known_car(dossier, &position.car)?;
    let today = dossier.zone.day_of(at);
    let car_type = dossier.documents.car_type(&car.car, today);
    let place = car_type.and_then(|car_type| car_type.position(&position.position));
    let presses = place.is_some_and(|place| !place.kind.is_slide_electronics());
    let isolable = car_type.and_then(|car_type| Isolable::at(car_type, &position.position));
    let arms = isolable.is_some_and(|one| asks_re_arming(one, state));
    let allowed = match check {
        CheckKind::PadsFree if !presses => "a check of a position that a brake can depend on",
        CheckKind::ReArming if !arms => {
            "a check of a spring that was released by hand and may apply when air returns"
        }
        _ => return Ok(()),
    };
    Err(Refusal::Impossible {
        field: "check",
        given: check.to_string(),
        allowed: allowed.to_owned(),
    })
}

pub(super) fn fold_confirmed(dossier: &mut Dossier, entry: &Entry, confirmation: &Confirmation) {
    let confirmed = ConfirmedCheck {
        by: entry.seq,
        isolation: confirmation.isolation,
        check: confirmation.check,
        person: confirmation.by.clone(),
        at: entry.effective_at,
    };
    dossier.confirmed.insert(entry.seq, confirmed);
    dossier.changes.confirmed.insert(entry.seq);
}

/// A decision is recorded only about the train as it stands, by a rule set in force, and if the
/// register finds now what the decision says that it found.
pub(super) fn check_decision(
    dossier: &Dossier,
    taken: &DecisionTaken,
    at: Instant,
) -> Result<(), Refusal> {
    let unknown = || Refusal::Unknown {
        what: "train",
        name: taken.train.to_string(),
    };
    let train = dossier.trains.get(&taken.train).ok_or_else(unknown)?;
    if train.by != taken.formed_by {
        return Err(Refusal::Contradicts {
            what: format!(
                "a decision about the train as {} formed it",
                taken.formed_by
            ),
            by: train.by,
            since: train.formed_at.into(),
            allowed: "decide about it as it is formed now",
        });
    }
    if TOLD_MAX < taken.told.len() {
        return Err(Refusal::Impossible {
            field: "told",
            given: format!("{} people", taken.told.len()),
            allowed: format!("at most {TOLD_MAX}"),
        });
    }
    if let Some(early) = taken.told.iter().find(|told| told.is_before(at)) {
        return Err(Refusal::Impossible {
            field: "told",
            given: format!("{} told at {}", early.who, early.at.told()),
            allowed: format!("a time not before it was decided at {}", at.told()),
        });
    }
    let standing = dossier.standing.get(&taken.train).ok_or_else(unknown)?;
    check_runs(standing, &taken.train)?;
    if at < standing.since {
        return Err(Refusal::Impossible {
            field: "at",
            given: at.to_string(),
            allowed: format!(
                "a time since which the train stands as it is, {}",
                standing.since
            ),
        });
    }
    let when = (at, dossier.zone.day_of(at));
    let now = found_now(&dossier.documents, standing, taken, when)?;
    if now == taken.found {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "found",
        given: said(&taken.found),
        allowed: format!("what the register finds now, {}; look again", said(&now)),
    })
}

/// A train of which cars run in another now is none to decide about: the sheet would be of a train
/// that nobody can see.
fn check_runs(standing: &TrainAsItStands, train: &TrainId) -> Result<(), Refusal> {
    if standing.formed_later.is_empty() {
        return Ok(());
    }
    let later: Vec<String> = standing
        .formed_later
        .iter()
        .map(ToString::to_string)
        .collect();
    let later = later.join(", ");
    Err(Refusal::Impossible {
        field: "train",
        given: train.to_string(),
        allowed: format!(
            "a train of which no car is in one formed later; cars of it are in {later} now: decide \
             about that, or form {train} anew as it runs"
        ),
    })
}

fn said(found: &Found) -> String {
    Verdict::from(found).to_string()
}

fn found_now(
    documents: &Documents,
    standing: &TrainAsItStands,
    taken: &DecisionTaken,
    (at, day): When,
) -> Result<Found, Refusal> {
    let issued = documents.rule_sets.values();
    let rule_sets = in_force(issued.map(|set| (set.by, &*set.document)), day);
    let in_force = |rules: &&_| {
        let rules: &crate::rule_set::RuleSet = rules;
        rules.name == taken.rule_set && rules.revision == taken.revision
    };
    if !rule_sets.iter().any(in_force) {
        return Err(Refusal::Impossible {
            field: "rule_set",
            given: format!("{} revision {}", taken.rule_set, taken.revision),
            allowed: format!("a rule set and revision in force on {day}"),
        });
    }
    let no_answer = |allowed: String| Refusal::Impossible {
        field: "asked",
        given: "a decision without an answer".to_owned(),
        allowed,
    };
    let answered = answer(
        taken.words(),
        standing.cars.clone(),
        Vec::new(),
        // All of them: what a stricter one says is part of what is found.
        (&rule_sets, (at, day)),
    );
    let answered = answered.map_err(|why| no_answer(why.to_string()))?;
    let found = answered.found(&taken.rule_set);
    found.map_err(|missing| no_answer(format!("only what has an answer; {missing}")))
}

pub(super) fn fold_decision(dossier: &mut Dossier, entry: &Entry, taken: &DecisionTaken) {
    let record = DecisionRecord {
        id: entry.seq,
        at: entry.effective_at,
        recorded_by: entry.actor.clone(),
        taken: taken.clone(),
        void: None,
        told_late: None,
    };
    dossier.decisions.insert(entry.seq, record);
    dossier.changes.decisions.insert(entry.seq);
}
