//! Entries of people that say why, since what they record is unusual by itself.

use super::permitted::{Text, plausible_text};
use crate::configuration::component::{Condition, RemovalReason};
use crate::ledger::command::Command;
use crate::ledger::dossier::Dossier;
use crate::ledger::fact::Fact;
use crate::people::{Actor, Authority};
use crate::refusal::Refusal;

/// Checks that whoever moves what is quarantined says why, since it lies where it does on purpose, and
/// whoever robs a car too: it stands without what was taken.
pub(super) fn check_given(
    dossier: &Dossier,
    actor: &Actor,
    command: &Command,
) -> Result<(), Refusal> {
    let needed = match &command.fact {
        Fact::Relocated(it) => {
            let condition = dossier.condition_at(&it.component, command.effective_at);
            condition == Some(Condition::Quarantined)
        }
        Fact::Moved { reason, .. } => *reason == RemovalReason::Robbed,
        _ => false,
    };
    if actor.authority == Authority::Founder || !needed {
        return Ok(());
    }
    plausible_text("reason", &command.reason, Text::Needed)
}
