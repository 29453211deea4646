//! Proposals as kept.

use super::KEYS;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, parsed_option, row};
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::ProposalRecord;
use domain::ledger::touches::Touched;
use sqlx::QueryBuilder;

row!(
    /// A proposal with the body of the entry that made it.
    ProposalRow {
        id: i64,
        proposed_by: String,
        proposed_at: At,
        outcome: Option<String>,
        decided_by: Option<i64>,
        body: String,
    }
);

impl ProposalRow {
    /// The proposal as the core has it.
    pub(crate) fn record(&self) -> Result<ProposalRecord, sqlx::Error> {
        let Fact::Proposed(proposal) = from_json(&self.body)? else {
            return Err(sqlx::Error::Decode("its entry proposes nothing".into()));
        };
        let outcome = parsed_option(self.outcome.as_deref())?;
        Ok(ProposalRecord {
            id: Seq(self.id),
            by: parsed(&self.proposed_by)?,
            at: self.proposed_at.0,
            proposal,
            decided: outcome.zip(self.decided_by.map(Seq)),
        })
    }
}

/// Loads proposals, and adds what they touch.
pub(super) async fn load_proposals(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &mut Touched,
) -> Result<(), StoreError> {
    let wanted: Vec<Seq> = touched.proposals.iter().copied().collect();
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<ProposalRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (id) as (");
            query.push_values(chunk, |mut row, seq| {
                row.push_bind(seq.0);
            });
            query.push(") select proposal.id, proposal.proposed_by, proposal.proposed_at, proposal.outcome, proposal.decided_by, ledger.body from wanted cross join proposal cross join ledger where proposal.id = wanted.id and ledger.seq = proposal.id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            let record = row.record()?;
            touched.add_fact(&record.proposal.fact(), record.at);
            dossier.proposals.insert(record.id, record);
        }
    }
    Ok(())
}
