//! What waits for a second person, and what was decided lately.

use super::View;
use crate::column::At;
use crate::connect::on;
use crate::dossier::proposals::ProposalRow;
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::row::{Both, parsed, parsed_option, row};
use crate::shape::padded;
use domain::identity::PersonName;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::proposal::{Outcome, ProposalRecord};
use domain::time::Instant;
use sqlx::QueryBuilder;

/// Proposals on one page.
pub const PROPOSALS_PAGE: i64 = 50;

/// A proposal that waits.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenProposal {
    /// The proposal.
    pub record: ProposalRecord,
    /// When it was recorded.
    pub recorded_at: Instant,
    /// Why it is proposed.
    pub reason: String,
}

/// A proposal that was decided.
#[derive(Debug, Clone, PartialEq)]
pub struct DecidedProposal {
    /// The proposal.
    pub record: ProposalRecord,
    /// Who decided.
    pub decided_by: PersonName,
    /// From when that holds.
    pub decided_at: Instant,
    /// When that was recorded.
    pub recorded_at: Instant,
    /// Why.
    pub reason: String,
}

row!(ReasonRow {
    recorded_at: At,
    reason: String
});

row!(DecisionRow {
    actor: String,
    effective_at: At,
    recorded_at: At,
    reason: String
});

const OPEN: &str = "select proposal.id, proposal.proposed_by, proposal.proposed_at,
    proposal.outcome, proposal.decided_by, ledger.body, ledger.recorded_at, ledger.reason
    from proposal join ledger on ledger.seq = proposal.id
    where proposal.outcome is null order by proposal.id limit $1";
const DECIDED: &str = "select proposal.id, proposal.proposed_by, proposal.proposed_at,
    proposal.outcome, proposal.decided_by, ledger.body, decision.actor, decision.effective_at,
    decision.recorded_at, decision.reason
    from proposal join ledger on ledger.seq = proposal.id
    join ledger decision on decision.seq = proposal.decided_by
    where proposal.decided_by is not null order by proposal.decided_by desc limit $1";
const OUTCOME: &str = "select outcome from proposal where id = $1";

impl View {
    /// What waits for a second person, the oldest first, at most [`PROPOSALS_PAGE`]. One
    /// statement.
    pub async fn open_proposals(&mut self) -> Result<Vec<OpenProposal>, StoreError> {
        let rows: Vec<Both<ProposalRow, ReasonRow>> = on!(&mut self.tx, conn => sqlx::query_as(OPEN).bind(PROPOSALS_PAGE).fetch_all(conn).await)?;
        let open = rows.into_iter().map(|Both(row, proposed)| {
            Ok(OpenProposal {
                record: row.record()?,
                recorded_at: proposed.recorded_at.0,
                reason: proposed.reason,
            })
        });
        let open: Result<Vec<_>, sqlx::Error> = open.collect();
        Ok(open?)
    }

    /// What was decided lately, the newest first, at most [`PROPOSALS_PAGE`]. One statement.
    pub async fn decided_proposals(&mut self) -> Result<Vec<DecidedProposal>, StoreError> {
        let rows: Vec<Both<ProposalRow, DecisionRow>> = on!(&mut self.tx, conn => sqlx::query_as(DECIDED).bind(PROPOSALS_PAGE).fetch_all(conn).await)?;
        let decided = rows.into_iter().map(|Both(row, decision)| {
            Ok(DecidedProposal {
                record: row.record()?,
                decided_by: parsed(&decision.actor)?,
                decided_at: decision.effective_at.0,
                recorded_at: decision.recorded_at.0,
                reason: decision.reason,
            })
        });
        let decided: Result<Vec<_>, sqlx::Error> = decided.collect();
        Ok(decided?)
    }

    /// Some entries by their numbers, and the proposals that they decided on. One statement.
    pub async fn entries_and_proposals(
        &mut self,
        numbers: &[Seq],
    ) -> Result<Vec<Entry>, StoreError> {
        if numbers.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash from ledger where seq in (");
            let mut list = query.separated(", ");
            for number in padded(numbers) {
                list.push_bind(number.map(|number| number.0));
            }
            query.push(") union all select seq, command, recorded_at, effective_at, actor, reason, corrects, kind, body, consequences, hash from ledger where seq in (select id from proposal where decided_by in (");
            let mut list = query.separated(", ");
            for number in padded(numbers) {
                list.push_bind(number.map(|number| number.0));
            }
            query.push("))");
            query.build_query_as().fetch_all(conn).await
        })?;
        let entries: Result<Vec<_>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
        Ok(entries?)
    }

    /// What became of a proposal, if it was decided. One statement.
    pub async fn outcome_of(&mut self, proposal: Seq) -> Result<Option<Outcome>, StoreError> {
        let outcome: Option<Option<String>> = on!(&mut self.tx, conn => sqlx::query_scalar(OUTCOME).bind(proposal.0).fetch_optional(conn).await)?;
        Ok(parsed_option(outcome.flatten().as_deref())?)
    }
}
