//! What an input has said so far, where the register would let a later row prevail: two rows
//! that say different things of one thing at one moment contradict each other.

use super::command::NAME_SPACE;
use super::error::{InputError, Located};
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use uuid::Uuid;

/// The rows that said something, by what they said it of. Some fifty bytes a row of the tables that
/// matter, which are those with few rows: of work done there is more with every component, and two
/// papers for the same work of one day contradict each other in nothing that is reckoned with.
#[derive(Default)]
pub(crate) struct Said(HashMap<Uuid, (Uuid, u64)>);

impl Said {
    /// Checks a row against those before it.
    pub(crate) fn check(
        &mut self,
        located: Located<Command>,
    ) -> Result<Located<Command>, InputError> {
        let command = &located.value;
        let Some((column, name)) = spoken_of(&command.fact) else {
            return Ok(located);
        };
        let (row, at) = (located.location.row, command.effective_at);
        let kind = command.fact.kind().name();
        let key = format!("said\n{kind}\n{name}\n{}", at.microseconds());
        match self.0.entry(Uuid::new_v5(&NAME_SPACE, key.as_bytes())) {
            Entry::Vacant(free) => {
                free.insert((command.id, row));
                Ok(located)
            }
            // The same once more is refused by the register.
            Entry::Occupied(taken) if taken.get().0 == command.id => Ok(located),
            Entry::Occupied(taken) => {
                let other = taken.get().1;
                let expected = format!(
                    "one row for it and that moment; row {other} says something else of it"
                );
                let error = InputError::at(located.location, &name, expected);
                Err(error.in_column(column))
            }
        }
    }
}

/// What a fact speaks of, and in which column, where another fact of that moment would replace
/// it. All others the register refuses by itself.
fn spoken_of(fact: &Fact) -> Option<(&'static str, String)> {
    Some(match fact {
        Fact::CarRegistered(car) => ("car", car.number.to_string()),
        Fact::UnitFormed(unit) => ("unit", unit.number.to_string()),
        Fact::TrainFormed(train) => ("train", train.id.to_string()),
        Fact::SettingMade(made) => ("setting", format!("{} at {}", made.setting, made.at)),
        Fact::ConditionJudged { component, .. } => ("serial", component.to_string()),
        Fact::Relocated(it) => ("serial", it.component.to_string()),
        Fact::PlateChanged(it) => ("serial", it.component.to_string()),
        Fact::VisitPlanned(visit) => ("visit", visit.number.to_string()),
        _ => return None,
    })
}
