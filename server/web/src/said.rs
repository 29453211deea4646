//! Who said what holds, and who proposed it where that needed two people; when each did, and when it
//! was recorded where it is dated back.

use crate::show::Dated;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::time::Zone;
use std::collections::HashMap;
use std::fmt;
use store::StoreError;
use store::read::View;

/// A person, with when they said it.
#[derive(Debug, Clone)]
pub(crate) struct Who {
    pub(crate) person: String,
    pub(crate) when: Dated,
}

/// Who said something.
#[derive(Debug, Clone)]
pub(crate) struct Said {
    pub(crate) by: Who,
    /// Who proposed it, where it needed two people.
    pub(crate) proposed: Option<Who>,
}

impl Said {
    /// Of entries by their numbers. One statement.
    pub(crate) async fn of(
        view: &mut View,
        numbers: &[Seq],
        zone: &Zone,
    ) -> Result<HashMap<Seq, Self>, StoreError> {
        let kept = view.entries_and_proposals(numbers).await?;
        let kept: HashMap<Seq, &Entry> = kept.iter().map(|entry| (entry.seq, entry)).collect();
        let said = kept.iter().map(|(&seq, &entry)| {
            let proposal = match entry.fact {
                Fact::Approved { proposal } => kept.get(&proposal).copied(),
                _ => None,
            };
            let said = Self {
                by: Who::of(entry, zone),
                proposed: proposal.map(|proposal| Who::of(proposal, zone)),
            };
            (seq, said)
        });
        Ok(said.collect())
    }

    /// Of an entry by itself.
    pub(crate) fn of_entry(entry: &Entry, zone: &Zone) -> Self {
        Self {
            by: Who::of(entry, zone),
            proposed: None,
        }
    }
}

impl Who {
    fn of(entry: &Entry, zone: &Zone) -> Self {
        Self {
            person: entry.actor.to_string(),
            when: Dated::new(entry.effective_at, entry.recorded_at, zone),
        }
    }
}

impl fmt::Display for Said {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Who { person, when } = &self.by;
        match &self.proposed {
            None => write!(f, "{person}, {when}"),
            Some(proposed) => write!(
                f,
                "approved by {person}, {when}; proposed by {}, {}",
                proposed.person, proposed.when
            ),
        }
    }
}
