//! Proposals: they change nothing until another person approves them.

use super::{Text, plausible_text};
use crate::configuration::component::Condition;
use crate::ledger::command::Command;
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::ledger::proposal::{Outcome, Proposal, ProposalRecord};
use crate::people::Actor;
use crate::refusal::Refusal;
use std::borrow::Cow;

/// What is proposed must need two people; whether it may become true is checked as for the fact.
pub(super) fn check_proposed(dossier: &Dossier, proposal: &Proposal) -> Result<(), Refusal> {
    match proposal {
        Proposal::RuleSet(rules) if rules.agreed.is_some() => Err(Refusal::Impossible {
            field: "agreed",
            given: "two people".into(),
            allowed: "nothing: who agrees is told by the entries".into(),
        }),
        Proposal::RuleSet(_)
        | Proposal::CarType(_)
        | Proposal::Procedure(_)
        | Proposal::Prolongation { .. } => Ok(()),
        Proposal::Task(task) => super::documents::check_satisfied(&dossier.documents, task),
        Proposal::Lifting { hold, .. } => super::holds::check_absent(dossier, *hold),
        Proposal::Effectivity(it) => super::baselines::check_cars(dossier, it),
        Proposal::Concession(it) => super::concessions::check_cars(dossier, it),
        Proposal::Car(car) => super::cars::check_new(dossier, car),
        Proposal::Release {
            component,
            condition,
            ..
        } => {
            let record = super::components::known(dossier, component)?;
            let told_after = dossier.held_told_after(component);
            if record.condition != Condition::Quarantined && told_after.is_empty() {
                return Err(Refusal::ConditionForbids {
                    component: component.clone(),
                    condition: record.condition,
                    allowed: "only what is quarantined is released",
                });
            }
            match condition {
                held if held.stays_held() => Err(Refusal::Impossible {
                    field: "condition",
                    given: condition.to_string(),
                    allowed: "a condition in which it is no longer quarantined".into(),
                }),
                _ => Ok(()),
            }
        }
    }
}

/// The proposal that a command decides on, if it is still open.
pub(super) fn open(dossier: &Dossier, id: Seq) -> Result<&ProposalRecord, Refusal> {
    let unknown = || Refusal::Unknown {
        what: "proposal",
        name: id.to_string(),
    };
    let record = dossier.proposals.get(&id).ok_or_else(unknown)?;
    match record.decided {
        None => Ok(record),
        Some((outcome, by)) => Err(Refusal::AlreadyDecided {
            proposal: id,
            outcome,
            by,
        }),
    }
}

/// The proposal that somebody may approve: another person's.
pub(super) fn of_another<'a>(
    dossier: &'a Dossier,
    actor: &Actor,
    (id, command): (Seq, &Command),
) -> Result<&'a ProposalRecord, Refusal> {
    let record = open(dossier, id)?;
    if record.by.is_same_person(&actor.name) {
        return Err(Refusal::SamePerson { by: id });
    }
    if command.effective_at < record.at {
        return Err(Refusal::Contradicts {
            what: format!("its approval at {}", command.effective_at),
            by: id,
            since: record.at.into(),
            allowed: "give a time after it was proposed",
        });
    }
    // It may have been proposed when that was not looked at.
    super::texts::check_shown(&record.proposal.fact())?;
    Ok(record)
}

/// Whoever rejects says why; whoever proposed may take it back.
pub(super) fn check_rejected(
    dossier: &Dossier,
    (id, command): (Seq, &Command),
) -> Result<(), Refusal> {
    open(dossier, id)?;
    plausible_text("reason", &command.reason, Text::Needed)
}

pub(super) fn fold_proposed(dossier: &mut Dossier, entry: &Entry, proposal: &Proposal) {
    let record = ProposalRecord {
        id: entry.seq,
        by: entry.actor.clone(),
        at: entry.effective_at,
        proposal: proposal.clone(),
        decided: None,
    };
    dossier.proposals.insert(entry.seq, record);
    dossier.changes.proposals.insert(entry.seq);
}

/// Notes what became of a proposal.
pub(super) fn fold_decided(dossier: &mut Dossier, id: Seq, (outcome, by): (Outcome, Seq)) {
    if let Some(record) = dossier.proposals.get_mut(&id) {
        record.decided = Some((outcome, by));
        dossier.changes.proposals.insert(id);
    }
}

impl Dossier {
    /// What becomes true by a fact: of an approval, what was proposed; of any other, itself.
    pub fn made_true<'a>(&self, fact: &'a Fact) -> Cow<'a, Fact> {
        match fact {
            Fact::Approved { proposal } => match self.proposals.get(proposal) {
                Some(record) => Cow::Owned(record.proposal.fact()),
                None => Cow::Borrowed(fact),
            },
            other => Cow::Borrowed(other),
        }
    }
}
