//! What was on cars as it was told, with what was said of it and how it was set.

use super::ids;
use crate::column::At;
use crate::connect::on;
use crate::dossier::settings::{SETTING_COLUMNS, SETTINGS_FROM, SettingRow};
use crate::error::StoreError;
use crate::read::as_known::{holding_at, known_at};
use crate::read::{AsAt, View};
use crate::row::{parsed, row};
use crate::shape::padded;
use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::PositionCode;
use domain::ledger::departures::{OnCar, Stands};
use domain::ledger::dossier::Dossier;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;
use std::sync::Arc;

row!(StoodRow {
    car_id: i64,
    position: String,
    component_id: i64,
    part: String,
    serial: String,
    from_at: At,
});

row!(ToldRow {
    car_id: i64,
    position: String,
    ended_at: Option<At>,
});

impl View {
    /// What was recorded of the places of cars, by their numbers, and a dossier with what was said
    /// of the components that stood there; of at most [`CARS_THEN_MAX`](super::CARS_THEN_MAX) cars.
    /// Five statements.
    pub(super) async fn on_cars_then(
        &mut self,
        cars: &[i64],
        as_at: AsAt,
    ) -> Result<(Dossier, BTreeMap<i64, OnCar>), StoreError> {
        let mut dossier = Dossier::new(Arc::clone(&self.documents), self.zone.clone());
        let mut on_cars = self.stood(&mut dossier, cars, as_at).await?;
        self.ever_told(&mut on_cars, cars, as_at).await?;
        self.settings_then(&mut on_cars, cars, as_at).await?;
        Ok((dossier, on_cars))
    }

    /// What stood where on cars, with what was said of it.
    async fn stood(
        &mut self,
        dossier: &mut Dossier,
        cars: &[i64],
        as_at: AsAt,
    ) -> Result<BTreeMap<i64, OnCar>, StoreError> {
        let rows: Vec<StoodRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select fitment.car_id, fitment.position, fitment.component_id, component.part, component.serial, fitment.from_at from fitment join component on component.id = fitment.component_id where fitment.car_id in (");
            ids!(query, cars);
            holding_at!(query, "fitment", At(as_at.effective));
            known_at!(query, "fitment", At(as_at.known));
            query.build_query_as().fetch_all(conn).await
        })?;
        let components: Vec<i64> = rows.iter().map(|row| row.component_id).collect();
        self.states_then(dossier, &components, as_at).await?;
        let mut on_cars: BTreeMap<i64, OnCar> = BTreeMap::new();
        for row in rows {
            let component = ComponentRef {
                part: parsed(&row.part)?,
                serial: parsed(&row.serial)?,
            };
            let mut said = dossier.states_of(&component).iter();
            let judged = said.rfind(|state| state.condition.is_some());
            let unfit = judged.filter(|state| state.condition != Some(Condition::Serviceable));
            let modification = dossier.modification_at(&component, as_at.effective);
            let stands = Stands {
                modification: modification.cloned(),
                since: row.from_at.0,
                unfit_since: unfit.map(|state| state.since),
                component,
            };
            let on_car = on_cars.entry(row.car_id).or_default();
            on_car.stands.insert(parsed(&row.position)?, stands);
        }
        Ok(on_cars)
    }

    /// The places of cars of which something was told, and when what was there came off.
    async fn ever_told(
        &mut self,
        on_cars: &mut BTreeMap<i64, OnCar>,
        cars: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let effective = At(as_at.effective);
        let rows: Vec<ToldRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select fitment.car_id, fitment.position, max(case when fitment.until_at <= ");
            query.push_bind(effective);
            query.push(" then fitment.until_at end) as ended_at from fitment where fitment.car_id in (");
            ids!(query, cars);
            query.push(" and fitment.from_at <= ").push_bind(effective);
            known_at!(query, "fitment", At(as_at.known));
            query.push(" group by fitment.car_id, fitment.position");
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows {
            let on_car = on_cars.entry(row.car_id).or_default();
            let ended = row.ended_at.map(|at| at.0);
            on_car.told.insert(parsed(&row.position)?, ended);
        }
        Ok(())
    }

    /// The settings made on cars until then.
    async fn settings_then(
        &mut self,
        on_cars: &mut BTreeMap<i64, OnCar>,
        cars: &[i64],
        as_at: AsAt,
    ) -> Result<(), StoreError> {
        let rows: Vec<SettingRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(SETTING_COLUMNS).push(SETTINGS_FROM);
            query.push(" where setting.car_id in (");
            ids!(query, cars);
            query.push(" and setting.since <= ").push_bind(At(as_at.effective));
            known_at!(query, "setting", At(as_at.known));
            query.push(" order by setting.since, setting.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows {
            let record = row.record()?;
            let on_car = on_cars.entry(row.car_id).or_default();
            let at: PositionCode = record.made.at.position.clone();
            on_car.settings.entry(at).or_default().push(record);
        }
        Ok(())
    }
}
