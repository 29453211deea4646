//! What an entry tells of work and tests of components that are fitted, as far as decisions told of what
//! is due at once on them.

use super::Dossier;
use crate::configuration::component::{ComponentRef, Subject};
use crate::decision::taken::DecisionTaken;
use crate::identity::CarNumber;
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::test_record::verdict::TestOutcome;
use std::collections::BTreeSet;

/// The cars that carry the components of which an entry tells.
#[derive(Debug, Default)]
pub(super) struct FittedWork {
    /// One of which a test was failed, or of which what was told is taken back.
    failed: BTreeSet<CarNumber>,
    /// One of which a test was passed, or on which a task was done.
    answered: BTreeSet<CarNumber>,
}

impl FittedWork {
    /// What an entry tells, once it is folded.
    pub(super) fn told_by(dossier: &Dossier, entry: &Entry) -> Self {
        let carried_by = |fact: &Fact| {
            let fitment = dossier.open_fitment(worked_on(fact)?)?;
            Some(fitment.at.car.clone())
        };
        let corrected = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
        let corrected = corrected.and_then(|(wrong, _)| carried_by(&wrong.fact));
        let mut told = Self {
            failed: corrected.into_iter().collect(),
            answered: BTreeSet::new(),
        };
        let Some(car) = carried_by(&entry.fact) else {
            return told;
        };
        let outcome = match &entry.fact {
            Fact::TestRecorded(record) => dossier.tests.get(&record.id).map(|one| one.outcome),
            _ => Some(TestOutcome::Passed),
        };
        match outcome {
            Some(TestOutcome::Failed) => drop(told.failed.insert(car)),
            Some(TestOutcome::Passed) => drop(told.answered.insert(car)),
            Some(TestOutcome::Incomplete | TestOutcome::NotCounted) | None => {}
        }
        told
    }

    /// Whether what a decision told of work on what is fitted to a car may be otherwise now.
    pub(super) fn moves(&self, taken: &DecisionTaken, car: &CarNumber) -> bool {
        let told = taken.found.due_on_fitted.as_ref();
        told.is_some_and(|due| {
            let again = self.answered.contains(car) && due.contains(car);
            again || self.failed.contains(car)
        })
    }
}

/// The component that is tested or worked on.
fn worked_on(fact: &Fact) -> Option<&ComponentRef> {
    let subject = match fact {
        Fact::TestRecorded(record) => &record.subject,
        Fact::TaskDone { subject, .. } => subject,
        _ => return None,
    };
    match subject {
        Subject::Component(component) => Some(component),
        Subject::Car(_) => None,
    }
}
