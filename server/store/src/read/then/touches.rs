//! What had been touched on cars, as it was told.

use super::ids;
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::as_known::known_at;
use crate::read::{AsAt, View};
use crate::row::{parsed, row};
use crate::shape::padded;
use crate::touches::cut_out_ended;
use domain::identity::CarNumber;
use domain::ledger::dossier::CarRecord;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::obligations::{Touch, WorkDone, put_in_order};
use domain::ledger::then::Then;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, HashMap};

row!(StoodRow {
    car_id: i64,
    position: String,
    from_at: At,
    fitted_by: i64,
    until_at: Option<At>,
    removed_by: Option<i64>,
});

row!(SetRow {
    car_id: i64,
    position: String,
    since: At,
    id: i64,
});

row!(EndedRow {
    seq: i64,
    body: String,
});

/// What was touched, by the numbers of cars.
type Touches = BTreeMap<CarNumber, Vec<Touch>>;

impl View {
    /// All that had been touched on some cars; `then` has their cut-outs. Five statements; linear in
    /// all that ever stood on the cars and in the units.
    pub(super) async fn touches_then(
        &mut self,
        cars: &[&CarRecord],
        (then, as_at): (&Then, AsAt),
    ) -> Result<Touches, StoreError> {
        let numbers = cars.iter().map(|car| (car.id.0, &car.car.number));
        let numbers: HashMap<i64, &CarNumber> = numbers.collect();
        let ids: Vec<i64> = cars.iter().map(|car| car.id.0).collect();
        let mut touches = Touches::new();
        let mut put = |car: &CarNumber, at: Instant, by: i64, work: WorkDone| {
            let by = Seq(by);
            let of_car = touches.entry(car.clone()).or_default();
            of_car.push(Touch { at, by, work });
        };
        for row in self.stood_then(&ids, as_at).await? {
            let Some(car) = numbers.get(&row.car_id).copied() else {
                continue;
            };
            let exchanged = WorkDone::Exchanged(parsed(&row.position)?);
            let ended = row.until_at.zip(row.removed_by);
            if let Some((at, by)) = ended.filter(|(at, _)| at.0 <= as_at.effective) {
                put(car, at.0, by, exchanged.clone());
            }
            put(car, row.from_at.0, row.fitted_by, exchanged);
        }
        for row in self.set_then(&ids, as_at).await? {
            if let Some(car) = numbers.get(&row.car_id).copied() {
                put(
                    car,
                    row.since.0,
                    row.id,
                    WorkDone::Set(parsed(&row.position)?),
                );
            }
        }
        let ended = self.ends_of_cut_outs(cars, then).await?;
        for (car, touch) in ended.into_iter().chain(self.coupled_then(as_at).await?) {
            put(&car, touch.at, touch.by.0, touch.work);
        }
        for touched in touches.values_mut() {
            put_in_order(touched);
        }
        Ok(touches)
    }

    async fn stood_then(&mut self, cars: &[i64], as_at: AsAt) -> Result<Vec<StoodRow>, StoreError> {
        let rows = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select fitment.car_id, fitment.position, fitment.from_at, fitment.fitted_by, fitment.until_at, fitment.removed_by from fitment where fitment.car_id in (");
            ids!(query, cars);
            query.push(" and fitment.from_at <= ").push_bind(At(as_at.effective));
            known_at!(query, "fitment", At(as_at.known));
            query.build_query_as().fetch_all(conn).await
        })?;
        Ok(rows)
    }

    async fn set_then(&mut self, cars: &[i64], as_at: AsAt) -> Result<Vec<SetRow>, StoreError> {
        let rows = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select setting.car_id, setting.position, setting.since, setting.id from setting where setting.how = 'made' and setting.car_id in (");
            ids!(query, cars);
            query.push(" and setting.since <= ").push_bind(At(as_at.effective));
            known_at!(query, "setting", At(as_at.known));
            query.build_query_as().fetch_all(conn).await
        })?;
        Ok(rows)
    }

    /// How the cut-outs of cars ended, with the tests that proved it.
    async fn ends_of_cut_outs(
        &mut self,
        cars: &[&CarRecord],
        then: &Then,
    ) -> Result<Vec<(CarNumber, Touch)>, StoreError> {
        let cut_outs = cars
            .iter()
            .flat_map(|car| then.cut_outs_of(&car.car.number));
        let ended = cut_outs.filter_map(|one| Some((one.cut_out.at, one.ended?)));
        let ended: Vec<_> = ended.collect();
        let entries: Vec<i64> = ended.iter().map(|(_, (_, by))| by.0).collect();
        let rows: Vec<EndedRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ledger.seq, ledger.body from ledger where ledger.seq in (");
            ids!(query, &entries);
            query.build_query_as().fetch_all(conn).await
        })?;
        let bodies: HashMap<i64, &str> = rows.iter().map(|row| (row.seq, &*row.body)).collect();
        let mut touches = Vec::new();
        for (at, (when, by)) in ended {
            let Some(body) = bodies.get(&by.0) else {
                continue;
            };
            if let Some(work) = cut_out_ended(at.position.as_str(), body)? {
                touches.push((at.car, Touch { at: when, by, work }));
            }
        }
        Ok(touches)
    }

    /// When the unit that each car was in was formed.
    async fn coupled_then(&mut self, as_at: AsAt) -> Result<Vec<(CarNumber, Touch)>, StoreError> {
        let mut entries = self.entries_then(&[FactKind::UnitFormed], as_at).await?;
        // What holds from the latest time stands, whichever was recorded last.
        entries.sort_by_key(|entry| (entry.effective_at, entry.seq));
        let mut formed = BTreeMap::new();
        for entry in entries {
            if let Fact::UnitFormed(unit) = entry.fact {
                formed.insert(unit.number, (unit.cars, entry.effective_at, entry.seq));
            }
        }
        let coupled = formed.into_values().flat_map(|(cars, at, by)| {
            let work = WorkDone::Coupled;
            let touch = Touch { at, by, work };
            cars.into_iter().map(move |of| (of.car, touch.clone()))
        });
        Ok(coupled.collect())
    }
}
