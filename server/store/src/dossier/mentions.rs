//! What else was recorded about a component whose receipt is to be corrected, or a car whose
//! registration is, or a modification that is to be withdrawn.

use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger::EntryRow;
use domain::ledger::dossier::{Dossier, Mentions};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::subjects::EntrySubject;

pub(super) const KEPT_AFTER: &str = "select subjects_after from ledger_head where id = 1";
/// The entries about it that stand and say something themselves.
const MENTIONS: &str = "select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash
    from entry_subject join ledger on ledger.seq = entry_subject.seq
    where entry_subject.kind = $1 and entry_subject.name = $2 and entry_subject.seq <> $3
    and ledger.kind <> 'withdrawn'
    and not exists (select 1 from ledger later where later.corrects = ledger.seq)
    order by ledger.seq limit $4";
/// How many entries that stand are looked at: the first that names the component is told.
const MENTIONS_MAX: i64 = 100;

/// Loads what else was recorded about a component, a car or a modification than the entry that brought it. Two
/// statements.
pub(super) async fn load_mentions(
    tx: &mut Tx,
    dossier: &mut Dossier,
    (subject, brought): (&EntrySubject, Seq),
) -> Result<(), StoreError> {
    let after: Option<i64> =
        on!(tx, conn => sqlx::query_scalar(KEPT_AFTER).fetch_optional(conn).await)?;
    let rows: Vec<EntryRow> = on!(tx, conn => sqlx::query_as(MENTIONS)
        .bind(subject.kind.name()).bind(&subject.name).bind(brought.0).bind(MENTIONS_MAX)
        .fetch_all(conn).await)?;
    let entries: Result<Vec<Entry>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
    let mentions = Mentions {
        kept_after: Seq(after.unwrap_or(0)),
        entries: entries?,
    };
    dossier.mentions.insert(brought, mentions);
    Ok(())
}
