//! What a person, a file or a program asks to record.

use crate::configuration::fleet_check::CheckAnswer;
use crate::identity::PersonName;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::{Ended, Fact};
use crate::time::Instant;
use std::borrow::Cow;
use std::collections::BTreeSet;
use uuid::Uuid;

/// A wish to record a fact. It becomes an [`Entry`] if the register allows it.
#[derive(Debug, Clone, PartialEq)]
pub struct Command {
    /// The sender's identity for it: the same command sent twice is recorded once, and another
    /// one under the same identity is refused.
    pub id: Uuid,
    /// When the fact became true.
    pub effective_at: Instant,
    /// Why it is recorded. May be empty, except for a correction.
    pub reason: String,
    /// The entry it corrects.
    pub corrects: Option<Seq>,
    /// What.
    pub fact: Fact,
}

/// The longest reason, evidence or cause, in characters.
pub const REASON_MAX_CHARS: usize = 500;

impl Fact {
    /// The same as whoever recorded it sent it, without what the register found.
    fn as_sent(&self) -> Cow<'_, Self> {
        match self {
            Self::FleetCheckAnswered(answer) if !answer.asked_too.is_empty() => {
                let sent = CheckAnswer {
                    asked_too: BTreeSet::new(),
                    ..answer.clone()
                };
                Cow::Owned(Self::FleetCheckAnswered(sent))
            }
            fact => Cow::Borrowed(fact),
        }
    }
}

impl Command {
    /// Whether it tells of a time more than a day ago. What follows from it since is then shown
    /// before it is recorded; within a day people write down what they just did.
    pub fn is_back_dated(&self, now: Instant) -> bool {
        self.effective_at < now.earlier_by_days(1)
    }

    /// Whether what it changes is kept with it: of a correction, and of what is told late.
    pub fn changes_the_past(&self, now: Instant) -> bool {
        self.corrects.is_some() || self.is_back_dated(now)
    }

    /// Of a fitment with its end, the end alone: what is left to say where its beginning is in the
    /// register already. Its identity follows from that of the whole.
    pub fn end_alone(&self) -> Option<Self> {
        let Fact::Fitted(fitting) = &self.fact else {
            return None;
        };
        let Ended { at, removal } = fitting.ended.as_ref()?;
        Some(Self {
            id: Uuid::new_v5(&self.id, b"end alone"),
            effective_at: *at,
            reason: self.reason.clone(),
            corrects: self.corrects,
            fact: Fact::Removed {
                component: fitting.component.clone(),
                from: None,
                removal: removal.clone(),
            },
        })
    }

    /// Whether an entry is what became of this command, whoever sent it.
    pub fn became(&self, entry: &Entry) -> bool {
        let Command {
            id,
            effective_at,
            reason,
            corrects,
            fact,
        } = self;
        *id == entry.command
            && *effective_at == entry.effective_at
            && *reason == entry.reason
            && *corrects == entry.corrects
            && *fact == *entry.fact.as_sent()
    }

    /// The command as the entry it becomes.
    pub fn into_entry(self, seq: Seq, recorded_at: Instant, actor: PersonName) -> Entry {
        let Command {
            id,
            effective_at,
            reason,
            corrects,
            fact,
        } = self;
        Entry {
            seq,
            command: id,
            recorded_at,
            effective_at,
            actor,
            reason,
            corrects,
            fact,
            consequences: None,
        }
    }
}
