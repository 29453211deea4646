//! Decisions that people took about trains, and which of them a change has made void. That is
//! computed as entries are folded; nobody sets it.

use super::Dossier;
use crate::decision::TrainCar;
use crate::decision::taken::DecisionTaken;
use crate::identity::{CarNumber, PersonName, TrainId};
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::time::{Day, Instant};
use crate::words::word_list;
use crate::worked::Missing;
use std::collections::BTreeSet;

/// A decision as it was taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DecisionRecord {
    /// The entry that recorded it.
    pub id: Seq,
    /// When it was taken.
    pub at: Instant,
    /// Who recorded it.
    pub recorded_by: PersonName,
    /// What was decided.
    pub taken: DecisionTaken,
    /// What made it void; none while it stands.
    pub void: Option<Void>,
}

/// The first change after a decision that can move its verdict.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Void {
    /// The entry that recorded the change.
    pub by: Seq,
    /// What it changed.
    pub because: VoidBecause,
}

word_list! {
    /// What makes a decision void.
    VoidBecause, "reason of voidness" {
        /// A train or unit was formed anew.
        Formation = "formation_changed",
        /// A cut-out was made or ended.
        CutOuts = "cut_outs_changed",
        /// A component was fitted or removed.
        Components = "components_changed",
        /// A car was registered anew.
        Cars = "car_changed",
        /// A car type or rule set was issued.
        Design = "rules_or_design_changed",
        /// A concession for one of its cars was granted, prolonged or withdrawn.
        Concession = "concession_changed",
        /// An earlier entry was taken back.
        Correction = "entry_corrected",
        /// The same train was decided about again.
        DecidedAnew = "decided_anew",
    }
}

impl VoidBecause {
    fn of(entry: &Entry) -> Self {
        match &entry.fact {
            _ if entry.corrects.is_some() => Self::Correction,
            Fact::TrainFormed(_) | Fact::UnitFormed(_) => Self::Formation,
            Fact::Isolated(_) | Fact::IsolationEnded { .. } => Self::CutOuts,
            Fact::CarRegistered(_) => Self::Cars,
            Fact::CarTypeDefined(_) | Fact::RevisionEffective(_) | Fact::RuleSetIssued(_) => {
                Self::Design
            }
            Fact::ConcessionGranted(_)
            | Fact::ConcessionProlonged { .. }
            | Fact::ConcessionWithdrawn { .. } => Self::Concession,
            Fact::DecisionTaken(_) => Self::DecidedAnew,
            _ => Self::Components,
        }
    }
}

/// A train as it stands when a decision about it is recorded.
#[derive(Debug)]
pub struct TrainAsItStands {
    /// Its cars, or why nothing can be said of them.
    pub cars: Result<Vec<TrainCar>, Missing>,
    /// Since when it stands so: it was formed, and every cut-out in force was made, by then.
    pub since: Instant,
}

/// What an entry has changed of what verdicts rest on.
#[derive(Debug, Default)]
pub(crate) struct Moved {
    pub(crate) cars: BTreeSet<CarNumber>,
    pub(crate) trains: BTreeSet<TrainId>,
}

impl Dossier {
    /// Makes every decision void whose verdict the entry can move, and forgets what it moved.
    /// Cost: the decisions that stand in the dossier times what was moved.
    pub(crate) fn void_decisions(&mut self, entry: &Entry) {
        let moved = std::mem::take(&mut self.moved);
        self.changes.moved_cars.extend(moved.cars.iter().cloned());
        let today = self.zone.day_of(entry.effective_at);
        for (id, decision) in &mut self.decisions {
            if decision.void.is_none()
                && *id < entry.seq
                && concerns((&moved, today), &decision.taken, entry)
            {
                decision.void = Some(Void {
                    by: entry.seq,
                    because: VoidBecause::of(entry),
                });
                self.changes.decisions.insert(*id);
            }
        }
    }
}

fn concerns((moved, today): (&Moved, Day), taken: &DecisionTaken, entry: &Entry) -> bool {
    let mut cars = taken.found.cars.iter();
    match &entry.fact {
        // What becomes valid later makes it void on that day: the set that it was decided by is not
        // in force any more, which is looked at whenever it is shown.
        Fact::RuleSetIssued(rules) => rules.name == taken.rule_set && rules.is_valid_on(today),
        Fact::CarTypeDefined(car_type) => {
            cars.any(|car| car.car_type == car_type.name && car.revision == car_type.revision)
        }
        Fact::RevisionEffective(it) => {
            it.from <= today
                && cars.any(|car| {
                    let another = car.car_type == it.car_type && car.revision != it.revision;
                    another && it.cars.hold(&car.number)
                })
        }
        Fact::DecisionTaken(again) => again.train == taken.train,
        _ => {
            moved.trains.contains(&taken.train) || cars.any(|car| moved.cars.contains(&car.number))
        }
    }
}
