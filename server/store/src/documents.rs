//! Design data: kept as documents, copied into memory, read again only when an entry has
//! changed it.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, row, to_json};
use domain::ledger::dossier::{Documents, Dossier, InForce};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use std::sync::Arc;

row!(DocumentRow {
    seq: i64,
    effective_at: At,
    name: String,
    body: String
});

const READ: &str =
    "select seq, effective_at, name, body from document where seq <= $1 order by seq";
const PUT: &str = "insert into document (seq, effective_at, kind, name, revision, body) values ($1, $2, $3, $4, $5, $6)";

/// The documents that entries up to one brought, in the order in which they came into force.
pub(crate) async fn read(tx: &mut Tx, last: Seq) -> Result<Documents, StoreError> {
    let rows: Vec<DocumentRow> =
        on!(tx, conn => sqlx::query_as(READ).bind(last.0).fetch_all(conn).await)?;
    let mut documents = Documents::default();
    for row in rows {
        let by = Seq(row.seq);
        match from_json(&row.body)? {
            Fact::CarTypeDefined(car_type) => documents.put_car_type(by, Arc::new(*car_type)),
            Fact::RevisionEffective(it) => documents.put_effectivity(by, it),
            Fact::ConcessionGranted(it) => documents.put_concession(by, row.effective_at.0, it),
            Fact::ConcessionProlonged { number, until } => {
                documents.prolong_concession(by, &number, until);
            }
            Fact::ConcessionWithdrawn { number } => {
                documents.withdraw_concession((by, row.effective_at.0), &number);
            }
            Fact::ModificationIssued(it) => {
                documents.put_modification(by, row.effective_at.0, it);
            }
            Fact::Withdrawn => documents.withdraw_modification(by, &parsed(&row.name)?),
            Fact::LocationDefined(it) => documents.put_location(by, row.effective_at.0, it),
            Fact::PartDefined(part) => documents.put_part(by, Arc::new(part)),
            Fact::TaskDefined(task) => documents.put_task(by, row.effective_at.0, Arc::new(task)),
            Fact::RuleSetIssued(rules) => {
                let key = (rules.name.clone(), rules.revision.clone());
                let in_force = InForce {
                    by,
                    document: Arc::new(*rules),
                };
                documents.rule_sets.insert(key, in_force);
            }
            Fact::ProcedureDefined(procedure) => {
                let key = (procedure.code.clone(), procedure.revision.clone());
                let in_force = InForce {
                    by,
                    document: Arc::new(procedure),
                };
                documents.procedures.insert(key, in_force);
            }
            _ => {}
        }
    }
    Ok(documents)
}

/// Keeps the document that an entry of the dossier brings or puts in force. Does nothing for
/// other entries.
pub(crate) async fn put(tx: &mut Tx, dossier: &Dossier, entry: &Entry) -> Result<(), StoreError> {
    let fact = dossier.made_true(&entry.fact);
    let by = entry.seq.0.to_string();
    let corrected = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
    let corrected = corrected.map(|(corrected, _)| &corrected.fact);
    let (name, revision) = match &*fact {
        Fact::ConcessionGranted(it) => (it.number.as_str(), ""),
        Fact::Withdrawn => match corrected {
            Some(Fact::ModificationIssued(it)) => (it.number.as_str(), by.as_str()),
            _ => return Ok(()),
        },
        // Its number was free again.
        Fact::ModificationIssued(it)
            if dossier
                .documents
                .was_withdrawn_before(&it.number, entry.seq) =>
        {
            (it.number.as_str(), by.as_str())
        }
        Fact::ModificationIssued(it) => (it.number.as_str(), ""),
        // Of one car type or concession there may be many, each known by its entry.
        Fact::ConcessionProlonged { number, .. } | Fact::ConcessionWithdrawn { number } => {
            (number.as_str(), by.as_str())
        }
        Fact::RevisionEffective(it) => (it.car_type.as_str(), by.as_str()),
        Fact::LocationDefined(it) => (it.name.as_str(), by.as_str()),
        Fact::CarTypeDefined(car_type) => (car_type.name.as_str(), car_type.revision.as_str()),
        Fact::PartDefined(part) => (part.number.as_str(), ""),
        Fact::TaskDefined(task) => (task.code.as_str(), task.revision.as_str()),
        Fact::RuleSetIssued(known) => (known.name.as_str(), known.revision.as_str()),
        Fact::ProcedureDefined(known) => (known.code.as_str(), known.revision.as_str()),
        _ => return Ok(()),
    };
    let body = to_json(&*fact)?;
    on!(tx, conn => sqlx::query(PUT)
        .bind(entry.seq.0).bind(At(entry.effective_at)).bind(fact.kind().name()).bind(name).bind(revision).bind(&body)
        .execute(conn).await.map(drop))?;
    Ok(())
}
