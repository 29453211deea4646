//! What was told of cars, units and trains, where what stands holds from later on than what a
//! command tells.

use super::KEYS;
use super::mentions::KEPT_AFTER;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger::EntryRow;
use domain::ledger::dossier::{Dossier, Mentions};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::ledger::subjects::{EntrySubject, SubjectKind};
use domain::ledger::touches::Touched;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

/// All that stands of how a unit or train was formed. What is corrected is known by what its
/// correction is about, which is kept once that is folded.
const FORMATIONS: &str = "select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash
    from entry_subject join ledger on ledger.seq = entry_subject.seq
    where entry_subject.kind = $1 and entry_subject.name = $2 and ledger.kind = $3
    and not exists (select 1 from ledger later join entry_subject about on about.seq = later.seq
        where later.corrects = ledger.seq and about.kind = $1 and about.name = $2)
    order by ledger.seq";

/// Loads how a unit or train was ever formed, of which a formation is corrected, and adds what that
/// touches. Two statements.
pub(super) async fn load_formations(
    tx: &mut Tx,
    (dossier, touched): (&mut Dossier, &mut Touched),
    corrected: &Entry,
) -> Result<(), StoreError> {
    let (kind, name) = match &corrected.fact {
        Fact::UnitFormed(unit) => (SubjectKind::Unit, unit.number.to_string()),
        Fact::TrainFormed(train) => (SubjectKind::Train, train.id.to_string()),
        _ => return Ok(()),
    };
    let after: Option<i64> =
        on!(&mut *tx, conn => sqlx::query_scalar(KEPT_AFTER).fetch_optional(conn).await)?;
    let rows: Vec<EntryRow> = on!(&mut *tx, conn => sqlx::query_as(FORMATIONS)
        .bind(kind.name()).bind(&name).bind(corrected.fact.kind().name())
        .fetch_all(conn).await)?;
    let entries: Result<Vec<Entry>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
    let entries = entries?;
    for entry in &entries {
        dossier.load_told(entry);
        touched.add_fact(&entry.fact, entry.effective_at);
    }
    let mentions = Mentions {
        kept_after: Seq(after.unwrap_or(0)),
        entries,
    };
    dossier.mentions.insert(corrected.seq, mentions);
    Ok(())
}

/// Loads what was told of those that are told of late. One statement, linear in the entries about
/// them; none where nothing is told late.
pub(super) async fn load_told(
    tx: &mut Tx,
    dossier: &mut Dossier,
    wanted: &BTreeMap<EntrySubject, Instant>,
) -> Result<(), StoreError> {
    let late = dossier.told_late(wanted);
    // Two values each.
    for chunk in late.chunks(KEYS) {
        let rows: Vec<EntryRow> = on!(&mut *tx, conn => {
            let mut query = QueryBuilder::new("with wanted (kind, name) as (");
            query.push_values(chunk, |mut row, subject| {
                row.push_bind(subject.kind.name())
                    .push_bind(subject.name.as_str());
            });
            query.push(") select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash from wanted cross join entry_subject join ledger on ledger.seq = entry_subject.seq where entry_subject.kind = wanted.kind and entry_subject.name = wanted.name and ledger.kind = case wanted.kind when 'car' then 'car_registered' when 'unit' then 'unit_formed' else 'train_formed' end and not exists (select 1 from ledger later join entry_subject about on about.seq = later.seq where later.corrects = ledger.seq and about.kind = wanted.kind and about.name = wanted.name)");
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in &rows {
            dossier.load_told(&row.entry()?);
        }
    }
    Ok(())
}
