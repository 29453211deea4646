//! Keeps proposals.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use std::collections::BTreeSet;

const PUT: &str = "insert into proposal (id, kind, proposed_by, proposed_at, outcome, decided_by)
    values ($1, $2, $3, $4, $5, $6) on conflict (id) do update
    set outcome = excluded.outcome, decided_by = excluded.decided_by";

/// Proposals are few and change one at a time.
pub(super) async fn put_proposals(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<Seq>,
) -> Result<(), StoreError> {
    for record in changed.iter().filter_map(|id| dossier.proposals.get(id)) {
        let outcome = record.decided.map(|(outcome, _)| outcome.name());
        on!(tx, conn => sqlx::query(PUT)
            .bind(record.id.0)
            .bind(record.proposal.kind().name())
            .bind(record.by.as_str())
            .bind(At(record.at))
            .bind(outcome)
            .bind(record.decided.map(|(_, by)| by.0))
            .execute(conn).await.map(drop))?;
    }
    Ok(())
}
