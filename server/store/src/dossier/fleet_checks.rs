//! Checks of the fleet as kept.

use super::KEYS;
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, row};
use crate::shape::padded;
use domain::configuration::fleet_check::FleetCheck;
use domain::identity::CarNumber;
use domain::ledger::dossier::{AnswerRecord, Dossier, FleetCheckRecord};
use domain::ledger::entry::Seq;
use domain::ledger::touches::Touched;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

row!(
    /// A check, without its cars.
    FleetCheckRow {
        id: i64,
        title: String,
        instruction: String,
        looked_for: String,
        answer_by: On,
        opened_by: String,
        opened_at: At,
        cars: i64,
        unanswered: i64,
        closed_at: Option<At>,
        closed_by: Option<i64>,
        sought: Option<String>,
        defective: i64,
    }
);

row!(
    /// A car of a check, with its answer.
    CheckCarRow {
        check_id: i64,
        car: String,
        answered_by: Option<i64>,
        answer: Option<String>,
        remark: Option<String>,
        person: Option<String>,
        looked_at: Option<At>,
    }
);

/// The columns of [`FleetCheckRow`].
pub(crate) const FLEET_CHECK_COLUMNS: &str = "fleet_check.id, fleet_check.title, fleet_check.instruction, fleet_check.looked_for, fleet_check.answer_by, fleet_check.opened_by, fleet_check.opened_at, fleet_check.cars, fleet_check.unanswered, fleet_check.closed_at, fleet_check.closed_by, fleet_check.sought, (select count(*) from fleet_check_car found where found.check_id = fleet_check.id and found.answer = 'defective') as defective";
/// The columns of [`CheckCarRow`].
pub(crate) const CHECK_CAR_COLUMNS: &str = "fleet_check_car.check_id, car.number as car, fleet_check_car.answered_by, fleet_check_car.answer, fleet_check_car.remark, fleet_check_car.person, fleet_check_car.looked_at";

impl FleetCheckRow {
    /// The check as the core has it, with no car yet.
    pub(crate) fn record(self) -> Result<FleetCheckRecord, sqlx::Error> {
        Ok(FleetCheckRecord {
            id: Seq(self.id),
            check: FleetCheck {
                title: self.title,
                instruction: self.instruction,
                looked_for: self.looked_for,
                sought: self.sought.as_deref().map(from_json).transpose()?,
                cars: BTreeSet::new(),
                answer_by: self.answer_by.0,
                answered: Vec::new(),
            },
            by: parsed(&self.opened_by)?,
            opened_at: self.opened_at.0,
            cars: BTreeMap::new(),
            unanswered: count(self.unanswered),
            closed: self.closed_at.map(|at| at.0).zip(self.closed_by.map(Seq)),
        })
    }
}

/// A count that was written by us.
pub(crate) fn count(kept: i64) -> u32 {
    u32::try_from(kept).unwrap_or(u32::MAX)
}

impl CheckCarRow {
    /// The car and its answer as the core has them.
    pub(crate) fn answer(&self) -> Result<(CarNumber, Option<AnswerRecord>), sqlx::Error> {
        let answer = match (
            self.answered_by,
            &self.answer,
            &self.remark,
            &self.person,
            self.looked_at,
        ) {
            (Some(entry), Some(answer), Some(remark), Some(person), Some(at)) => {
                Some(AnswerRecord {
                    entry: Seq(entry),
                    answer: parsed(answer)?,
                    remark: remark.clone(),
                    by: parsed(person)?,
                    at: at.0,
                })
            }
            _ => None,
        };
        Ok((parsed(&self.car)?, answer))
    }
}

/// Loads checks with those of their cars that answer: two statements where any is touched.
pub(super) async fn load_fleet_checks(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
) -> Result<(), StoreError> {
    let ids: Vec<i64> = touched.fleet_checks.keys().map(|seq| seq.0).collect();
    for chunk in ids.chunks(KEYS) {
        let rows: Vec<FleetCheckRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FLEET_CHECK_COLUMNS).push(" from fleet_check where id in (");
            let mut list = query.separated(", ");
            for id in padded(chunk) {
                list.push_bind(id.copied());
            }
            query.push(")");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            let record = row.record()?;
            dossier.fleet_checks.insert(record.id, record);
        }
    }
    let pairs = touched.fleet_checks.iter();
    let pairs: Vec<(i64, &CarNumber)> = pairs
        .flat_map(|(check, cars)| cars.iter().map(move |car| (check.0, car)))
        .collect();
    for chunk in pairs.chunks(KEYS) {
        let rows: Vec<CheckCarRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (check_id, car) as (");
            query.push_values(padded(chunk), |mut row, pair| {
                row.push_bind(pair.map(|(check, _)| *check)).push_bind(pair.map(|(_, car)| car.as_str()));
            });
            query.push(") select ").push(CHECK_CAR_COLUMNS);
            query.push(" from wanted cross join car cross join fleet_check_car where car.number = wanted.car and fleet_check_car.check_id = wanted.check_id and fleet_check_car.car_id = car.id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            let (car, answer) = row.answer()?;
            if let Some(record) = dossier.fleet_checks.get_mut(&Seq(row.check_id)) {
                record.cars.insert(car, answer);
            }
        }
    }
    Ok(())
}
