//! Decisions that people took about trains.

use super::View;
use crate::connect::on;
use crate::dossier::decisions::{DECISION_COLUMNS, DecisionRow};
use crate::error::StoreError;
use crate::ledger;
use domain::identity::{CarNumber, TrainId};
use domain::ledger::chain::{GENESIS, Hash, link};
use domain::ledger::dossier::DecisionRecord;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use sqlx::QueryBuilder;

/// A decision as it is kept, with what proves it.
#[derive(Debug, Clone, PartialEq)]
pub struct ProvenDecision {
    /// The decision.
    pub record: DecisionRecord,
    /// The hash of its entry.
    pub hash: Hash,
    /// Whether that hash follows from the entry and the hash before it.
    pub proof: Proof,
}

/// Whether an entry is as it was recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// Its hash follows from what it says and from the entry before it.
    Holds,
    /// It does not: the entry or what was read of it was changed.
    Fails,
}

impl View {
    /// The last decision about each of some trains and the last with each of some cars, standing or
    /// void, the newest first. One statement; cost grows with the decisions there are of each.
    pub async fn decisions_about(
        &mut self,
        trains: &[TrainId],
        cars: &[CarNumber],
    ) -> Result<Vec<DecisionRecord>, StoreError> {
        if trains.is_empty() && cars.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<DecisionRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(DECISION_COLUMNS);
            query.push(" from decision where decision.id in (select max(other.id) from decision other where other.train in (null");
            for train in trains {
                query.push(", ").push_bind(train.as_str());
            }
            query.push(") group by other.train union select max(decision_car.decision_id) from decision_car where decision_car.car_number in (null");
            for car in cars {
                query.push(", ").push_bind(car.as_str());
            }
            query.push(") group by decision_car.car_number) order by decision.id desc");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(DecisionRow::record).collect();
        Ok(records?)
    }

    /// One decision by its entry, with the proof that it is as it was recorded: three statements
    /// and a fourth for the entry that corrects another.
    pub async fn decision(&mut self, id: Seq) -> Result<Option<ProvenDecision>, StoreError> {
        let row: Option<DecisionRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(DECISION_COLUMNS).push(" from decision where decision.id = ").push_bind(id.0);
            query.build_query_as().fetch_optional(conn).await
        })?;
        let Some(row) = row else { return Ok(None) };
        let Some(kept) = ledger::read_kept(&mut self.tx, id).await? else {
            return Ok(None);
        };
        let before = ledger::read_hash(&mut self.tx, Seq(id.0 - 1)).await?;
        let before = before.unwrap_or(GENESIS);
        let record = row.record()?;
        let said = Fact::DecisionTaken(Box::new(record.taken.clone()));
        let follows = link(&before, &kept.entry, kept.letters()) == kept.hash;
        let proof = if kept.entry.fact == said && follows {
            Proof::Holds
        } else {
            Proof::Fails
        };
        Ok(Some(ProvenDecision {
            record,
            hash: kept.hash,
            proof,
        }))
    }
}
