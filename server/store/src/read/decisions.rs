//! Decisions that people took about trains.

use super::View;
use crate::column::At;
use crate::connect::on;
use crate::dossier::decisions::{DECISION_COLUMNS, DecisionRow};
use crate::error::StoreError;
use crate::ledger;
use crate::row::{Both, parsed, row};
use crate::shape::padded;
use domain::identity::{CarNumber, PersonName, TrainId};
use domain::ledger::chain::{GENESIS, Hash, link};
use domain::ledger::dossier::DecisionRecord;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::HashMap;

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

/// Who confirmed after a decision that everybody was told, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToldAfter {
    /// Who confirmed it.
    pub by: PersonName,
    /// When.
    pub at: Instant,
}

/// Decisions about some trains and cars.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DecisionsAbout {
    /// The last ones, the newest first.
    pub decisions: Vec<DecisionRecord>,
    /// Who confirmed last after each that everybody was told, by its entry.
    pub told: HashMap<Seq, ToldAfter>,
}

/// Where that is looked up for the decision of a row.
const EVERYBODY_TOLD: &str = "from decision_car join car on car.number = decision_car.car_number join isolation on isolation.car_id = car.id join check_confirmed on check_confirmed.isolation_id = isolation.id where decision_car.decision_id = decision.id and check_confirmed.check_kind = 'everyone_told' and check_confirmed.id > decision.id and (decision.void_by is null or check_confirmed.id < decision.void_by) order by check_confirmed.id desc limit 1) ";

row!(EverybodyRow {
    confirmed_by: Option<String>,
    confirmed_at: Option<At>,
});

impl EverybodyRow {
    fn told(&self) -> Result<Option<ToldAfter>, sqlx::Error> {
        let (Some(by), Some(at)) = (&self.confirmed_by, self.confirmed_at) else {
            return Ok(None);
        };
        Ok(Some(ToldAfter {
            by: parsed(by)?,
            at: at.0,
        }))
    }
}

row!(ToldRow {
    decision_id: i64,
    confirmed_by: String,
    confirmed_at: At,
});

impl View {
    /// The last decision about each of some trains and the last with each of some cars, standing or
    /// void, the newest first, with who confirmed last of each that everybody was told, as
    /// [`View::told_after`] has it. One statement; cost grows with the decisions there are of each, and
    /// with the cut-outs of the cars of those that are told.
    pub async fn decisions_about(
        &mut self,
        trains: &[TrainId],
        cars: &[CarNumber],
    ) -> Result<DecisionsAbout, StoreError> {
        let mut about = DecisionsAbout::default();
        if trains.is_empty() && cars.is_empty() {
            return Ok(about);
        }
        let rows: Vec<Both<DecisionRow, EverybodyRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(DECISION_COLUMNS).push(", (select check_confirmed.confirmed_by ").push(EVERYBODY_TOLD);
            query.push("as confirmed_by, (select check_confirmed.confirmed_at ").push(EVERYBODY_TOLD);
            query.push("as confirmed_at from decision where decision.id in (select max(other.id) from decision other where other.train in (null");
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
        for Both(row, told) in &rows {
            let record = row.record()?;
            if let Some(told) = told.told()? {
                about.told.insert(record.id, told);
            }
            about.decisions.push(record);
        }
        Ok(about)
    }

    /// Who confirmed last that everybody was told, of each of some decisions: after it, and before
    /// what made it void, also where the cut-out of that check has ended since. One statement, none where
    /// nothing was decided.
    pub async fn told_after(
        &mut self,
        decisions: &[DecisionRecord],
    ) -> Result<HashMap<Seq, ToldAfter>, StoreError> {
        let mut told = HashMap::new();
        if decisions.is_empty() {
            return Ok(told);
        }
        let ids: Vec<i64> = decisions.iter().map(|record| record.id.0).collect();
        let rows: Vec<ToldRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select decision.id as decision_id, check_confirmed.confirmed_by, check_confirmed.confirmed_at from decision join decision_car on decision_car.decision_id = decision.id join car on car.number = decision_car.car_number join isolation on isolation.car_id = car.id join check_confirmed on check_confirmed.isolation_id = isolation.id where check_confirmed.check_kind = 'everyone_told' and check_confirmed.id > decision.id and (decision.void_by is null or check_confirmed.id < decision.void_by) and decision.id in (");
            let mut list = query.separated(", ");
            for id in padded(&ids) {
                list.push_bind(id.copied());
            }
            query.push(") order by check_confirmed.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows {
            let last = ToldAfter {
                by: parsed(&row.confirmed_by)?,
                at: row.confirmed_at.0,
            };
            told.insert(Seq(row.decision_id), last);
        }
        Ok(told)
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
