//! What waits for a second person, and what was decided lately.

use super::View;
use crate::column::At;
use crate::connect::on;
use crate::dossier::proposals::ProposalRow;
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::identity::PersonName;
use domain::ledger::entry::Seq;
use domain::ledger::proposal::{Outcome, ProposalRecord};
use domain::time::Instant;

/// Proposals on one page.
pub const PROPOSALS_PAGE: i64 = 50;

/// A proposal that waits.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenProposal {
    /// The proposal.
    pub record: ProposalRecord,
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
    /// When that was recorded.
    pub decided_at: Instant,
    /// Why.
    pub reason: String,
}

row!(ReasonRow { reason: String });

row!(DecisionRow {
    actor: String,
    recorded_at: At,
    reason: String
});

/// A row read as two structs.
struct Both<A, B>(A, B);

impl<'r, R, A, B> sqlx::FromRow<'r, R> for Both<A, B>
where
    R: sqlx::Row,
    A: sqlx::FromRow<'r, R>,
    B: sqlx::FromRow<'r, R>,
{
    fn from_row(row: &'r R) -> Result<Self, sqlx::Error> {
        Ok(Self(A::from_row(row)?, B::from_row(row)?))
    }
}

const OPEN: &str = "select proposal.id, proposal.proposed_by, proposal.proposed_at,
    proposal.outcome, proposal.decided_by, ledger.body, ledger.reason
    from proposal join ledger on ledger.seq = proposal.id
    where proposal.outcome is null order by proposal.id limit $1";
const DECIDED: &str = "select proposal.id, proposal.proposed_by, proposal.proposed_at,
    proposal.outcome, proposal.decided_by, ledger.body, decision.actor, decision.recorded_at,
    decision.reason
    from proposal join ledger on ledger.seq = proposal.id
    join ledger decision on decision.seq = proposal.decided_by
    where proposal.decided_by is not null order by proposal.decided_by desc limit $1";
const OUTCOME: &str = "select outcome from proposal where id = $1";

impl View {
    /// What waits for a second person, the oldest first, at most [`PROPOSALS_PAGE`]. One
    /// statement.
    pub async fn open_proposals(&mut self) -> Result<Vec<OpenProposal>, StoreError> {
        let rows: Vec<Both<ProposalRow, ReasonRow>> = on!(&mut self.tx, conn => sqlx::query_as(OPEN).bind(PROPOSALS_PAGE).fetch_all(conn).await)?;
        let open = rows.into_iter().map(|Both(row, ReasonRow { reason })| {
            let record = row.record()?;
            Ok(OpenProposal { record, reason })
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
                decided_at: decision.recorded_at.0,
                reason: decision.reason,
            })
        });
        let decided: Result<Vec<_>, sqlx::Error> = decided.collect();
        Ok(decided?)
    }

    /// What became of a proposal, if it was decided. One statement.
    pub async fn outcome_of(&mut self, proposal: Seq) -> Result<Option<Outcome>, StoreError> {
        let outcome: Option<Option<String>> = on!(&mut self.tx, conn => sqlx::query_scalar(OUTCOME).bind(proposal.0).fetch_optional(conn).await)?;
        Ok(parsed_option(outcome.flatten().as_deref())?)
    }
}
