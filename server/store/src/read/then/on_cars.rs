//! What was on cars as it was told, at one time or at several at once, with what was said of it and
//! how it was set.

use super::ids;
use crate::column::At;
use crate::connect::on;
use crate::dossier::settings::{SETTING_COLUMNS, SETTINGS_FROM, SettingRow};
use crate::dossier::states::{STATE_COLUMNS, StateRow};
use crate::error::StoreError;
use crate::read::{AsAt, View};
use crate::row::{Both, parsed, row};
use crate::shape::padded;
use domain::configuration::compared::Snapshot;
use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::PositionCode;
use domain::ledger::departures::{OnCar, Stands};
use domain::ledger::dossier::{CarRecord, Documents, Dossier};
use domain::time::{Instant, Zone};
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

row!(StoodRow {
    car_id: i64,
    position: String,
    component_id: i64,
    part: String,
    serial: String,
    from_at: At,
    until_at: Option<At>,
});

row!(KnownRow {
    known_from: At,
    known_until: Option<At>,
});

/// Pushes, under ` and `, what began by one of some times and was known then.
macro_rules! told_at_any {
    ($query:expr, $table:literal, $since:literal, $times:expr) => {
        $query.push(" and (");
        for (place, as_at) in $times.iter().enumerate() {
            if 0 < place {
                $query.push(" or ");
            }
            $query.push(concat!("(", $table, ".", $since, " <= "));
            $query.push_bind(At(as_at.effective));
            $query.push(concat!(" and ", $table, ".known_from <= "));
            $query.push_bind(At(as_at.known));
            $query.push(concat!(" and (", $table, ".known_until is null or "));
            $query.push_bind(At(as_at.known));
            $query.push(concat!(" < ", $table, ".known_until))"));
        }
        $query.push(")");
    };
}

impl KnownRow {
    /// Whether what began at a time was so, and known, as at another.
    fn told(&self, since: At, as_at: AsAt) -> bool {
        let known = self.known_until;
        since.0 <= as_at.effective
            && self.known_from.0 <= as_at.known
            && known.is_none_or(|until| as_at.known < until.0)
    }
}

/// What was told of cars at one time.
pub(super) struct ToldOfCars {
    as_at: AsAt,
    /// What was said of the components that stood on them.
    pub(super) dossier: Dossier,
    /// What was on each car, by its number.
    pub(super) on_cars: BTreeMap<i64, OnCar>,
}

impl View {
    /// What was recorded of the places of cars at each of some times; of at most
    /// [`CARS_THEN_MAX`](super::CARS_THEN_MAX) cars. Three statements, however many times are asked
    /// for; linear in all that ever stood on the cars.
    pub(super) async fn on_cars_then<const TIMES: usize>(
        &mut self,
        cars: &[i64],
        times: [AsAt; TIMES],
    ) -> Result<[ToldOfCars; TIMES], StoreError> {
        let mut told = times.map(|as_at| ToldOfCars {
            as_at,
            dossier: Dossier::new(Arc::clone(&self.documents), self.zone.clone()),
            on_cars: BTreeMap::new(),
        });
        let stood = self.stood(cars, &times).await?;
        let mut names = HashMap::new();
        for Both(row, known) in &stood {
            let stands = told.iter().any(|one| row.stands(known, one.as_at));
            if stands {
                names.insert(row.component_id, row.component()?);
            }
        }
        self.said_of(&mut told, &names, &times).await?;
        for one in &mut told {
            one.put(&stood)?;
        }
        self.set_on(&mut told, cars, &times).await?;
        Ok(told)
    }

    /// All that had been fitted to cars by one of the times.
    async fn stood(
        &mut self,
        cars: &[i64],
        times: &[AsAt],
    ) -> Result<Vec<Both<StoodRow, KnownRow>>, StoreError> {
        let rows = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select fitment.car_id, fitment.position, fitment.component_id, component.part, component.serial, fitment.from_at, fitment.until_at, fitment.known_from, fitment.known_until from fitment join component on component.id = fitment.component_id where fitment.car_id in (");
            ids!(query, cars);
            told_at_any!(query, "fitment", "from_at", times);
            query.build_query_as().fetch_all(conn).await
        })?;
        Ok(rows)
    }

    /// What was said of components by one of the times.
    async fn said_of(
        &mut self,
        told: &mut [ToldOfCars],
        names: &HashMap<i64, ComponentRef>,
        times: &[AsAt],
    ) -> Result<(), StoreError> {
        let components: Vec<i64> = names.keys().copied().collect();
        let rows: Vec<Both<StateRow, KnownRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select component_state.known_from, component_state.known_until, ");
            query.push(STATE_COLUMNS).push(" from component_state where component_state.component_id in (");
            ids!(query, &components);
            told_at_any!(query, "component_state", "since", times);
            query.build_query_as().fetch_all(conn).await
        })?;
        for Both(row, known) in &rows {
            let Some(component) = names.get(&row.component_id) else {
                continue;
            };
            for one in told
                .iter_mut()
                .filter(|one| known.told(row.since, one.as_at))
            {
                one.dossier.load_state(component, row.state()?);
            }
        }
        Ok(())
    }

    /// The settings made on cars by one of the times.
    async fn set_on(
        &mut self,
        told: &mut [ToldOfCars],
        cars: &[i64],
        times: &[AsAt],
    ) -> Result<(), StoreError> {
        let rows: Vec<Both<SettingRow, KnownRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select setting.known_from, setting.known_until, ");
            query.push(SETTING_COLUMNS).push(SETTINGS_FROM);
            query.push(" where setting.car_id in (");
            ids!(query, cars);
            told_at_any!(query, "setting", "since", times);
            query.push(" order by setting.since, setting.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        for Both(row, known) in &rows {
            for one in told
                .iter_mut()
                .filter(|one| known.told(row.since, one.as_at))
            {
                let record = row.record()?;
                let on_car = one.on_cars.entry(row.car_id).or_default();
                let at: PositionCode = record.made.at.position.clone();
                on_car.settings.entry(at).or_default().push(record);
            }
        }
        Ok(())
    }
}

impl ToldOfCars {
    /// The condition in which a component was told to be.
    pub(super) fn condition(&self, component: &ComponentRef) -> Option<Condition> {
        self.dossier.condition_at(component, self.as_at.effective)
    }

    /// What was told of one of the cars, which is taken out.
    pub(super) fn snapshot(
        &mut self,
        car: &CarRecord,
        (documents, zone): (&Documents, &Zone),
    ) -> Snapshot {
        let on_car = self.on_cars.remove(&car.id.0).unwrap_or_default();
        let effective = self.as_at.effective;
        let revision = documents.revision(&car.car, zone.day_of(effective));
        Snapshot::of(revision, &on_car, (&self.dossier, effective))
    }

    /// Puts what stood where, and of which places something was told.
    fn put(&mut self, rows: &[Both<StoodRow, KnownRow>]) -> Result<(), sqlx::Error> {
        let as_at = self.as_at;
        for Both(row, known) in rows {
            if !known.told(row.from_at, as_at) {
                continue;
            }
            let position: PositionCode = parsed(&row.position)?;
            let on_car = self.on_cars.entry(row.car_id).or_default();
            let ended = row.ended_by(as_at);
            let told = on_car.told.entry(position.clone()).or_default();
            *told = (*told).max(ended);
            if row.stands(known, as_at) {
                let stands = stands(&self.dossier, (row.component()?, row.from_at.0), as_at);
                on_car.stands.insert(position, stands);
            }
        }
        Ok(())
    }
}

/// A component that stood somewhere since a moment, with what was said of it.
fn stands(dossier: &Dossier, (component, since): (ComponentRef, Instant), as_at: AsAt) -> Stands {
    let mut said = dossier.states_of(&component).iter();
    let judged = said.rfind(|state| state.condition.is_some());
    let unfit = judged.filter(|state| state.condition != Some(Condition::Serviceable));
    let modification = dossier.modification_at(&component, as_at.effective);
    Stands {
        modification: modification.cloned(),
        since,
        unfit_since: unfit.map(|state| state.since),
        component,
    }
}

impl StoodRow {
    fn component(&self) -> Result<ComponentRef, sqlx::Error> {
        Ok(ComponentRef {
            part: parsed(&self.part)?,
            serial: parsed(&self.serial)?,
        })
    }

    /// When it came off, if it had by then.
    fn ended_by(&self, as_at: AsAt) -> Option<Instant> {
        let until = self.until_at.map(|until| until.0);
        until.filter(|until| *until <= as_at.effective)
    }

    /// Whether it stood there, as was told.
    fn stands(&self, known: &KnownRow, as_at: AsAt) -> bool {
        known.told(self.from_at, as_at) && self.ended_by(as_at).is_none()
    }
}
