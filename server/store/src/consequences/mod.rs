//! What an entry told late, or a correction, changes: looked at before and after it is kept.

mod doubts;
mod proofs;
mod scope;
mod verdicts;

pub(crate) use doubts::raised_by;
pub(crate) use verdicts::decided_since;

use crate::connect::Tx;
use crate::error::StoreError;
use crate::keep::{put_doubts, put_told_late};
use crate::ledger::Head;
use crate::record::{Decided, Store};
use crate::settle;
use domain::ledger::command::Command;
use domain::ledger::consequences::{Asks, Consequences, VoidDecision, of_fitted, of_fitting};
use domain::ledger::dossier::{ComponentRecord, Dossier};
use domain::ledger::entry::Entry;
use domain::people::Authority;
use domain::time::Instant;
use scope::Scope;
use verdicts::{Side, Verdicts};

/// What is looked at of what an entry changes beyond what it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Look {
    /// The work that stands on what it fits.
    Fitted,
    /// All, also what was told before and is another now.
    All,
}

impl Look {
    /// What is kept with the entry of a command.
    pub(crate) fn of(command: &Command, now: Instant) -> Self {
        if command.changes_the_past(now) {
            Self::All
        } else {
            Self::Fitted
        }
    }
}

impl Store {
    /// Keeps what an entry changes, settles what follows, and tells in the entry what is looked
    /// at. The entry is not in the ledger yet: its hash is over what it tells, too.
    pub(crate) async fn keep_told(
        &self,
        tx: &mut Tx,
        head: Head,
        (decided, look): (Decided, Look),
    ) -> Result<(Head, Entry), StoreError> {
        let Decided {
            mut dossier,
            mut entry,
            authority,
        } = decided;
        let by = (&entry, authority);
        let (head, told) = match look {
            Look::Fitted => {
                let (head, told) = self.keep_settled(tx, head, (&mut dossier, by)).await?;
                (head, Some(told).filter(|told| !told.is_nothing()))
            }
            Look::All => {
                let (head, told) = self.keep_compared(tx, head, (&mut dossier, by)).await?;
                (head, Some(told))
            }
        };
        if let Some(told) = &told {
            put_told_late(tx, entry.seq, &told.verdicts.told).await?;
            put_doubts(tx, entry.seq, &told.doubts).await?;
        }
        entry.consequences = told.map(Box::new);
        Ok((head, entry))
    }

    /// Keeps what an entry changes and settles what follows; answers with all that is another
    /// afterwards.
    async fn keep_compared(
        &self,
        tx: &mut Tx,
        head: Head,
        (dossier, (entry, authority)): (&mut Dossier, (&Entry, Authority)),
    ) -> Result<(Head, Consequences), StoreError> {
        let known = self.documents(tx, head.design_seq).await?;
        let scope = Scope::of(dossier, entry);
        let asks = Asks::of(dossier, entry);
        let verdicts = Verdicts::find(tx, asks, scope.since).await?;
        let zone = self.zone.clone();
        let mut before = scope.picture(tx).await?;
        let wrong = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
        let wrong = wrong.map(|(wrong, _)| wrong.clone());
        let side = Side::Before(wrong.as_ref());
        before.verdicts = verdicts.found(tx, (&known, &zone), side).await?;
        let kept = self.keep_settled(tx, head, (dossier, (entry, authority)));
        let (head, fitted) = kept.await?;
        let mut after = scope.picture(tx).await?;
        let now = (&*dossier.documents, &zone);
        after.verdicts = verdicts.found(tx, now, Side::After(entry)).await?;
        let looked_at = (verdicts.decisions.as_slice(), verdicts.not_looked_at);
        let mut told = Consequences::between(&before, &after, looked_at);
        told.tell_perhaps(entry);
        told.void = void(dossier);
        told.cut_outs = dossier.cut_outs_moved(entry);
        told.fitted = fitted.fitted;
        told.doubts = fitted.doubts;
        told.unproved = fitted.unproved;
        Ok((head, told))
    }

    /// Keeps what an entry changes and settles what follows; answers with the work that stands on
    /// what it fits, and where a person fits it, with what is doubtful about that; and with the ends of
    /// cut-outs that are not proved with a test that a person tells.
    async fn keep_settled(
        &self,
        tx: &mut Tx,
        head: Head,
        (dossier, (entry, authority)): (&mut Dossier, (&Entry, Authority)),
    ) -> Result<(Head, Consequences), StoreError> {
        let entries = std::slice::from_ref(entry);
        let head = self.keep_changes(tx, head, dossier, entries).await?;
        let settling = self.settling(&dossier.documents);
        let mut works = settle::settle(tx, &settling, dossier).await?;
        let fitted = dossier.fitted_by(entry);
        works.retain(|work| fitted.contains(&work.component));
        let day = dossier.zone.day_of(entry.effective_at);
        let records = fitted.iter().filter_map(|one| dossier.components.get(one));
        let records: Vec<&ComponentRecord> = records.collect();
        let mut doubts = if records.is_empty() || authority == Authority::Founder {
            Vec::new()
        } else {
            let mut known = of_fitting(dossier, entry);
            let about = doubts::about(tx, dossier, (&records, &works, day), &head);
            known.extend(about.await?);
            known
        };
        if authority == Authority::Own {
            doubts.extend(raised_by(tx, dossier, (entry, entry.seq)).await?);
        }
        let told = Consequences {
            fitted: of_fitted(works, (day, authority))?,
            doubts,
            unproved: proofs::unproved_by(tx, dossier, (entry, authority)).await?,
            ..Consequences::default()
        };
        Ok((head, told))
    }
}

fn void(dossier: &Dossier) -> Vec<VoidDecision> {
    let changed = dossier.changes.decisions.iter();
    let records = changed.filter_map(|id| dossier.decisions.get(id));
    let void = records.filter(|record| record.void.is_some());
    let void = void.map(|record| VoidDecision {
        decision: record.id,
        train: record.taken.train.clone(),
    });
    void.collect()
}
