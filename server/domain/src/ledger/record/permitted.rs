//! What needs no look at what is recorded, or little: who may record a fact, alone or not, that
//! nothing lies ahead, and that texts say something.

use super::{cars, texts};
use crate::ledger::command::{Command, REASON_MAX_CHARS};
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::ledger::proposal::Proposal;
use crate::people::agreement::Agreement;
use crate::people::{Actor, Authority, Role, roles_for};
use crate::refusal::Refusal;
use crate::time::Instant;
use crate::unreadable::repeated;
use crate::unseen::expected_of_text;

pub(super) fn permitted(
    dossier: &Dossier,
    actor: &Actor,
    command: &Command,
) -> Result<(), Refusal> {
    let corrected = command.corrects.and_then(|seq| dossier.corrected.get(&seq));
    let also = corrected.map(|(entry, _)| &entry.fact);
    for fact in [Some(&command.fact), also].into_iter().flatten() {
        if !actor.may_record(fact) {
            let names: Vec<String> = roles_for(fact).iter().map(ToString::to_string).collect();
            return Err(Refusal::NotPermitted {
                needed: names.join(", "),
            });
        }
    }
    if let Some((entry, _)) = corrected {
        may_take_away(actor, command, entry)?;
    }
    match actor.authority {
        Authority::Own => needs_no_second(dossier, &command.fact),
        Authority::Founder => names_two(&command.fact),
    }
}

/// What somebody else saw closed does not become open by a correction: it is ended with the test
/// that proves the brake. Whoever recorded it may have mistaken the place; a brake engineer answers
/// for the rest.
fn may_take_away(actor: &Actor, command: &Command, corrected: &Entry) -> Result<(), Refusal> {
    let Fact::Isolated(was) = &corrected.fact else {
        return Ok(());
    };
    let stays = matches!(&command.fact, Fact::Isolated(is) if is.at == was.at);
    let may = actor.authority == Authority::Founder
        || actor.holds(&[Role::BrakeEngineer])
        || actor.name == corrected.actor;
    if stays || may {
        return Ok(());
    }
    Err(Refusal::NotTheRecorder {
        by: corrected.seq,
        recorder: corrected.actor.clone(),
    })
}

/// Checks that somebody may record a fact alone.
fn needs_no_second(dossier: &Dossier, fact: &Fact) -> Result<(), Refusal> {
    let allowed = match fact {
        Fact::RuleSetIssued(_) => "propose the rule set; another brake engineer approves it",
        Fact::CarTypeDefined(_) => "propose the car type; another brake engineer approves it",
        Fact::RevisionEffective(_) => {
            "propose from when it holds; another brake engineer approves it"
        }
        Fact::TaskDefined(_) => "propose the task; another brake engineer approves it",
        Fact::ProcedureDefined(_) => "propose the procedure; another brake engineer approves it",
        Fact::ConcessionGranted(_) | Fact::ConcessionProlonged { .. } => {
            "propose the concession; another brake engineer approves it"
        }
        Fact::FleetCheckOpened(check) if !check.answered.is_empty() => {
            return Err(Refusal::Impossible {
                field: "answered",
                given: format!("{} answers with the check", check.answered.len()),
                allowed: "none: each car answers by an entry of its own".to_owned(),
            });
        }
        Fact::CarRegistered(car) => return cars::check_keeps_revision(dossier, car),
        _ => return Ok(()),
    };
    Err(Refusal::NeedsTwoPeople { allowed })
}

/// Checks that a rule set that is brought in names the two people who agreed on it.
fn names_two(fact: &Fact) -> Result<(), Refusal> {
    match fact {
        Fact::RuleSetIssued(rules) if rules.agreed.as_ref().is_none_or(Agreement::is_of_one) => {
            Err(Refusal::NeedsTwoPeople {
                allowed: "name who proposed the rule set and who approved it",
            })
        }
        _ => Ok(()),
    }
}

/// Checks what needs no state: nothing lies ahead, and texts that must say something do.
pub(super) fn plausible(command: &Command, recorded_at: Instant) -> Result<(), Refusal> {
    not_ahead("at", command.effective_at, recorded_at)?;
    if let Fact::Fitted(fitting) = &command.fact
        && let Some(ended) = &fitting.ended
    {
        not_ahead("until", ended.at, recorded_at)?;
    }
    let reason = match (&command.fact, command.corrects) {
        (_, Some(_))
        | (
            Fact::ConcessionWithdrawn { .. }
            | Fact::PlateChanged(_)
            | Fact::Proposed(Proposal::Prolongation { .. }),
            _,
        ) => Text::Needed,
        _ => Text::Free,
    };
    plausible_text("reason", &command.reason, reason)?;
    texts::check_shown(&command.fact)?;
    match &command.fact {
        Fact::ConditionJudged { evidence, .. }
        | Fact::TaskDone { evidence, .. }
        | Fact::Embodied { evidence, .. }
        | Fact::HoldLifted { evidence, .. }
        | Fact::Proposed(Proposal::Release { evidence, .. } | Proposal::Lifting { evidence, .. }) => {
            plausible_text("evidence", evidence, Text::Needed)
        }
        Fact::HeldAsEvidence { investigation, .. } => {
            plausible_text("investigation", investigation, Text::Needed)
        }
        Fact::FleetCheckOpened(check) => check
            .answered
            .iter()
            .try_for_each(|one| not_ahead("answered", one.at, recorded_at)),
        Fact::Isolated(cut_out) => plausible_text("cause", &cut_out.cause, Text::Needed),
        Fact::DecisionTaken(taken) => taken.told.iter().try_for_each(|told| {
            not_ahead("told", told.at, recorded_at)?;
            plausible_text("told", &told.who, Text::Needed)
        }),
        Fact::ComponentReceived(receipt) => match &receipt.certificate {
            Some(certificate) => plausible_text("certificate", certificate, Text::Needed),
            None => Ok(()),
        },
        Fact::ReadingTaken(reading) => match &reading.confirmed {
            Some(confirmed) => plausible_text("confirmed", confirmed, Text::Needed),
            None => Ok(()),
        },
        _ => Ok(()),
    }
}

fn not_ahead(field: &'static str, given: Instant, now: Instant) -> Result<(), Refusal> {
    if given <= now {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field,
        given: given.told().to_string(),
        allowed: format!("a time not after now, {}", now.told()),
    })
}

/// Whether a text may be empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Text {
    Needed,
    Free,
}

pub(super) fn plausible_text(field: &'static str, text: &str, rule: Text) -> Result<(), Refusal> {
    let length = text.chars().count();
    let (given, allowed) = if REASON_MAX_CHARS < length {
        let allowed = format!("at most {REASON_MAX_CHARS} characters");
        (format!("a text of {length} characters"), allowed)
    } else if rule == Text::Needed && text.trim().is_empty() {
        ("leaving it empty".to_owned(), "a few words".to_owned())
    } else if let Some(allowed) = expected_of_text(text) {
        (format!("“{}”", repeated(text)), allowed)
    } else {
        return Ok(());
    };
    Err(Refusal::Impossible {
        field,
        given,
        allowed,
    })
}
