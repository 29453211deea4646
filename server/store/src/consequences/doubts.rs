//! What is doubtful about what an entry fits: read once it is kept.

use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::ledger::{self, EntryRow, Head};
use crate::read::doubted::doubted;
use crate::row::{Both, from_json, parsed, row};
use domain::configuration::component::ComponentRef;
use domain::configuration::looked_for::LookedFor;
use domain::ledger::consequences::{Doubt, DoubtKind, DueWork, of_papers, raised};
use domain::ledger::dossier::{ComponentRecord, Dossier};
use domain::ledger::entry::{Entry, Seq};
use domain::time::Day;
use sqlx::QueryBuilder;

row!(AlikeRow {
    part: String,
    serial: String,
    other: String,
});

row!(SoughtRow {
    id: i64,
    sought: String,
});

row!(OfRow { component_id: i64 });

/// Receipts and work that still hold, of components whose ids follow.
const PAPERS: &str = "with said (component_id, seq) as (
    select component_id, recorded_by from component_state where known_until is null and component_id in (";

/// The doubts about components that are fitted on a day, with the work due on them. Three
/// statements, and one more where a doubt was ever raised.
pub(super) async fn about(
    tx: &mut Tx,
    dossier: &Dossier,
    (fitted, works, on): (&[&ComponentRecord], &[DueWork], Day),
    head: &Head,
) -> Result<Vec<Doubt>, StoreError> {
    let mut doubts = alike(tx, fitted).await?;
    if head.doubts_seq != 0 {
        let components: Vec<&ComponentRef> = fitted.iter().map(|one| &one.component).collect();
        let again = doubted(tx, &components).await?.into_iter();
        doubts.extend(again.map(|one| one.doubt));
    }
    let sought = sought(tx).await?;
    for record in fitted {
        let component = &record.component;
        let known = dossier.components.get(component);
        let state = known.and_then(|known| known.modification.as_ref());
        let batch = known.and_then(|known| known.batch.as_ref());
        let checks = sought
            .iter()
            .filter(|(_, one)| one.may_be(component, (state, batch)));
        doubts.extend(checks.map(|(check, _)| Doubt {
            component: component.clone(),
            why: DoubtKind::LookedFor(*check),
        }));
    }
    let papers = papers(tx, fitted).await?;
    for record in fitted {
        let of_it = papers.iter().filter(|(id, _)| *id == record.id.0);
        let entries: Vec<Entry> = of_it.map(|(_, entry)| entry.clone()).collect();
        doubts.extend(of_papers(&record.component, &entries, on, works));
    }
    Ok(doubts)
}

/// The doubts that an entry raises by what it tells together with others from a first one on, with who
/// judged. One statement for each judgement that stands though it did not know of that.
pub(crate) async fn raised_by(
    tx: &mut Tx,
    dossier: &Dossier,
    (entry, first): (&Entry, Seq),
) -> Result<Vec<Doubt>, StoreError> {
    let mut doubts = raised(dossier, (entry, first));
    for doubt in &mut doubts {
        let Some(seq) = doubt.judgement() else {
            continue;
        };
        if let Some((judgement, _)) = ledger::read_one(tx, seq).await? {
            doubt.note_judged_by(judgement.actor);
        }
    }
    Ok(doubts)
}

/// The components that are fitted and may be one of these.
async fn alike(tx: &mut Tx, fitted: &[&ComponentRecord]) -> Result<Vec<Doubt>, StoreError> {
    let rows: Vec<AlikeRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select component.part, component.serial, other.serial as other from component join component other on other.folded = component.folded and other.part = component.part where other.id <> component.id and other.location is null and other.withdrawn_by = 0 and component.id in (");
        let mut list = query.separated(", ");
        for record in fitted {
            list.push_bind(record.id.0);
        }
        query.push(") order by component.id, other.id");
        query.build_query_as().fetch_all(conn).await
    })?;
    let doubt = |row: AlikeRow| -> Result<Doubt, sqlx::Error> {
        let of = |serial: &str| -> Result<ComponentRef, sqlx::Error> {
            Ok(ComponentRef {
                part: parsed(&row.part)?,
                serial: parsed(serial)?,
            })
        };
        Ok(Doubt {
            component: of(&row.serial)?,
            why: DoubtKind::Alike(of(&row.other)?),
        })
    };
    let doubts: Result<Vec<_>, sqlx::Error> = rows.into_iter().map(doubt).collect();
    Ok(doubts?)
}

/// What open checks of the fleet look for.
async fn sought(tx: &mut Tx) -> Result<Vec<(Seq, LookedFor)>, StoreError> {
    let rows: Vec<SoughtRow> = on!(tx, conn => sqlx::query_as(
        "select id, sought from fleet_check where closed_at is null and sought is not null order by id",
    )
    .fetch_all(conn)
    .await)?;
    let sought = rows
        .iter()
        .map(|row| Ok((Seq(row.id), from_json(&row.sought)?)));
    let sought: Result<Vec<_>, sqlx::Error> = sought.collect();
    Ok(sought?)
}

/// The entries with which certificates of these came, each with the id of its component.
async fn papers(tx: &mut Tx, fitted: &[&ComponentRecord]) -> Result<Vec<(i64, Entry)>, StoreError> {
    let rows: Vec<Both<OfRow, EntryRow>> = on!(tx, conn => {
        let mut query = QueryBuilder::new(PAPERS);
        let mut list = query.separated(", ");
        for record in fitted {
            list.push_bind(record.id.0);
        }
        query.push(") union select component_id, recorded_by from work_done where component_id in (");
        let mut list = query.separated(", ");
        for record in fitted {
            list.push_bind(record.id.0);
        }
        query.push(")) select said.component_id, ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash from said cross join ledger where ledger.seq = said.seq and ledger.kind in ('component_received', 'task_done')");
        query.build_query_as().fetch_all(conn).await
    })?;
    let entries = rows
        .iter()
        .map(|Both(of, entry)| Ok((of.component_id, entry.entry()?)));
    let entries: Result<Vec<_>, sqlx::Error> = entries.collect();
    Ok(entries?)
}
