//! Decisions of the past found again: which of them an entry can change, and what is found for their
//! moments with what is known before and after it.

use crate::configuration::effectivity::Effectivity;
use crate::decision::TrainCar;
use crate::decision::answer::{When, answer};
use crate::decision::taken::{DecisionTaken, Found};
use crate::identity::{CarNumber, Revision, RuleSetName, TrainId};
use crate::ledger::dossier::{Documents, Dossier};
use crate::ledger::entry::Entry;
use crate::ledger::fact::{CutOut, Fact};
use crate::rule_set::in_force::in_force;
use crate::time::{Instant, Zone};
use crate::worked::Missing;
use std::borrow::Cow;
use std::collections::BTreeSet;

/// Which decisions of the past an entry can change, and how.
#[derive(Debug, Clone, PartialEq)]
pub enum Asks {
    /// Those about some cars, by what was on them and how it was set.
    OfCars(BTreeSet<CarNumber>),
    /// Those about a train or any of the cars, by how trains were formed.
    Formed(Option<TrainId>, BTreeSet<CarNumber>),
    /// Those about cars for which another revision was in force.
    Revised(Effectivity),
    /// Those by a rule set, by which revision of it was in force.
    Ruled(RuleSetName),
}

impl Asks {
    /// What an entry of the dossier can change.
    pub fn of(dossier: &Dossier, entry: &Entry) -> Self {
        let mut cars = dossier.changes.moved_cars.clone();
        let corrected = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
        let told = match (&entry.fact, corrected) {
            (Fact::Withdrawn, Some((wrong, _))) => Cow::Borrowed(&wrong.fact),
            (fact, _) => dossier.made_true(fact),
        };
        match &*told {
            Fact::TrainFormed(train) => Self::Formed(Some(train.id.clone()), cars),
            Fact::UnitFormed(unit) => {
                // Told late it moves nothing now, and may have been in trains decided about then.
                cars.extend(dossier.cars_told_of(&unit.number).cloned());
                cars.extend(unit.cars.iter().map(|place| place.car.clone()));
                Self::Formed(None, cars)
            }
            Fact::RevisionEffective(it) => Self::Revised(it.clone()),
            Fact::RuleSetIssued(rules) => Self::Ruled(rules.name.clone()),
            _ => Self::OfCars(cars),
        }
    }

    /// Whether a decision is among them.
    pub fn concern(&self, taken: &DecisionTaken) -> bool {
        let mut cars = taken.found.cars.iter();
        match self {
            Self::OfCars(moved) => cars.any(|car| moved.contains(&car.number)),
            Self::Formed(train, moved) => {
                train.as_ref() == Some(&taken.train) || cars.any(|car| moved.contains(&car.number))
            }
            Self::Revised(it) => {
                cars.any(|car| car.car_type == it.car_type && it.cars.hold(&car.number))
            }
            Self::Ruled(name) => taken.rule_set == *name,
        }
    }

    /// By which rules they are judged once the entry is true.
    pub fn judged_by(&self) -> JudgedBy {
        match self {
            Self::Ruled(_) => JudgedBy::InForce,
            Self::OfCars(_) | Self::Formed(..) | Self::Revised(_) => JudgedBy::AsTaken,
        }
    }
}

/// By which revision of its rule set a decision is judged again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JudgedBy {
    /// By that which it was taken by.
    AsTaken,
    /// By that which is in force for its day by what is known now.
    InForce,
}

/// The cut-out that an entry tells, where it may have been there at a moment before it was found:
/// nobody saw it made.
pub fn perhaps_cut_out(entry: &Entry, at: Instant) -> Option<&CutOut> {
    let Fact::Isolated(cut_out) = &entry.fact else {
        return None;
    };
    let seen = cut_out.not_before?;
    (seen < at && at < entry.effective_at).then_some(cut_out)
}

/// From when on an entry changes what held: what is put in force for days that are over changes them
/// though it is agreed on today.
pub fn reaches_back(fact: &Fact, at: Instant, zone: &Zone) -> Instant {
    match fact {
        Fact::RevisionEffective(it) => at.min(zone.start_of(it.from)),
        Fact::RuleSetIssued(rules) => at.min(zone.start_of(rules.valid_from)),
        // It may have been there since it was last seen right.
        Fact::Isolated(cut_out) => cut_out.not_before.map_or(at, |seen| at.min(seen)),
        _ => at,
    }
}

/// What is found for a decision of the past.
#[derive(Debug, Clone, PartialEq)]
pub struct Again {
    /// By which revision of its rule set.
    pub revision: Revision,
    /// What, or why nothing can be said.
    pub found: Result<Found, Missing>,
}

/// What is found for a decision with these cars at its moment.
pub fn found_again(
    documents: &Documents,
    cars: Result<Vec<TrainCar>, Missing>,
    (taken, (at, day)): (&DecisionTaken, When),
    by: JudgedBy,
) -> Again {
    let name = &taken.rule_set;
    let as_taken = || {
        let key = (name.clone(), taken.revision.clone());
        documents.rule_sets.get(&key).map(|known| &*known.document)
    };
    let issued = documents.rule_sets.values();
    let issued = issued.map(|known| (known.by, &*known.document));
    let mut valid = in_force(issued, day);
    let rules = match by {
        JudgedBy::AsTaken => as_taken(),
        JudgedBy::InForce => {
            let mut valid = valid.iter().copied();
            valid.find(|rules| rules.name == *name).or_else(as_taken)
        }
    };
    let Some(rules) = rules else {
        let name = format!("{name} revision {}", taken.revision);
        return Again {
            revision: taken.revision.clone(),
            found: Err(Missing::one("rule set", name)),
        };
    };
    // With the others that were in force: what a stricter one says is part of what is found.
    valid.retain(|other| other.name != *name);
    valid.push(rules);
    let answered = answer(taken.words(), cars, Vec::new(), (&valid, (at, day)));
    let train = format!("train {}", taken.train);
    let answered = answered.map_err(|why| Missing::one(why.to_string(), train));
    Again {
        revision: rules.revision.clone(),
        found: answered.and_then(|answered| answered.found(name)),
    }
}
