//! What people do about a train beside asking: what is said over the radio, which checks they
//! confirm, and who decides.

use super::answered::{Answered, rule_sets};
use super::decided::{self, DecidedLine};
use super::follow::{self, CheckRow};
use super::link::QuestionLink;
use crate::address;
use crate::failure::Failure;
use crate::frame::Frame;
use domain::configuration::car::Train;
use domain::decision::answer::When;
use domain::decision::instruction::Instruction;
use domain::decision::onward::Onward;
use domain::decision::{Decision, Standing, counted_until};
use domain::identity::TrainId;
use domain::ledger::dossier::{DecisionRecord, Formed};
use domain::people::{DECIDES, ISOLATES};
use domain::time::{Day, Zone};
use std::slice;
use store::read::View;

/// What is done about a train.
pub(super) struct Acting {
    /// The last entry that can have changed anything said here.
    pub(super) last_change: i64,
    /// The day by whose rule sets it is answered.
    pub(super) today: Day,
    /// Until when stored air is counted in it; empty where that does not end by itself.
    pub(super) until: String,
    /// The same in words.
    pub(super) counted_until: Option<String>,
    pub(super) checks: Vec<CheckRow>,
    pub(super) open_checks: usize,
    pub(super) may_confirm: bool,
    pub(super) instructions: Vec<Instruction>,
    pub(super) onward: Option<Onward>,
    /// The last decision about it.
    pub(super) decided: Option<DecidedLine>,
    /// Where a decision is taken, by those who may; nowhere where cars of it run in another train.
    pub(super) decide: Option<String>,
}

impl Acting {
    /// One statement for a train, none for a formation that is none.
    pub(super) async fn read(
        (frame, zone, (now, day)): (&Frame, &Zone, When),
        view: &mut View,
        (train, later): (Option<&Formed<Train>>, &[TrainId]),
        (answered, link): (&Answered, &QuestionLink),
    ) -> Result<Self, Failure> {
        let what_if = link.standing() == Standing::WhatIf;
        let mut standing = None;
        let decided = match train {
            Some(train) => {
                let (id, cars) = (&train.formation.id, answered.numbers());
                let about = view.decisions_about(slice::from_ref(id), &cars).await?;
                let last = decided::last(&about.decisions, (id, train.by));
                let sets = rule_sets(&view.documents, day);
                let of_it =
                    |record: &&DecisionRecord| record.taken.train == *id && record.void.is_none();
                standing = last.filter(of_it).map(|record| record.id);
                last.map(|record| {
                    let mut told = decided::line(record, id, &sets, (zone, now));
                    told.tell(about.told.get(&record.id), zone);
                    told.doubt(record.id, &answered.cars);
                    DecidedLine {
                        void: told.void.or_else(|| decided::elsewhere(later)),
                        ..told
                    }
                })
            }
            None => None,
        };
        let decision = answered.answer.decision.as_ref().ok();
        let checks = match decision {
            Some(decision) if what_if => follow::supposed(&decision.checks),
            Some(decision) => {
                let formed_by = train.map(|train| train.by);
                let followed = follow::followed(&answered.cars, formed_by, standing);
                follow::rows(&decision.checks, &followed, zone)
            }
            None => Vec::new(),
        };
        let is_open = |check: &&CheckRow| check.done.as_ref().is_some_and(|done| done.is_open);
        let may_decide = frame.holds(DECIDES) && !what_if && later.is_empty();
        let decide = train.filter(|_| may_decide);
        Ok(Self {
            last_change: view.last_change,
            today: day,
            until: decision
                .and_then(|decision| decision.counted_until)
                .map_or(String::new(), |until| until.to_string()),
            counted_until: decision
                .and_then(|decision| decision.counted_until)
                .map(|until| counted_until(until, zone)),
            open_checks: checks.iter().filter(is_open).count(),
            checks,
            may_confirm: frame.holds(ISOLATES),
            instructions: decision.map_or(Vec::new(), |decision| decision.instructions.clone()),
            onward: decision.map(Decision::onward),
            decided,
            decide: decide.map(|train| link.at(address::decide(&train.formation.id))),
        })
    }
}
