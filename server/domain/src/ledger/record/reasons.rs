//! Entries of people that say why, since what they record is unusual by itself.

use super::permitted::{Text, plausible_text};
use crate::configuration::component::Condition;
use crate::ledger::command::Command;
use crate::ledger::dossier::Dossier;
use crate::ledger::fact::Fact;
use crate::people::{Actor, Authority};
use crate::refusal::Refusal;

/// Checks that whoever moves what is quarantined says why: it lies where it does on purpose.
pub(super) fn check_given(
    dossier: &Dossier,
    actor: &Actor,
    command: &Command,
) -> Result<(), Refusal> {
    let Fact::Relocated(it) = &command.fact else {
        return Ok(());
    };
    let condition = dossier.condition_at(&it.component, command.effective_at);
    if actor.authority == Authority::Founder || condition != Some(Condition::Quarantined) {
        return Ok(());
    }
    plausible_text("reason", &command.reason, Text::Needed)
}
