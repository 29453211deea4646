//! One component or position, with everything that happened to it.

use super::View;
use super::assemblies::{Content, Surroundings};
use crate::connect::on;
use crate::dossier::components::{COMPONENT_COLUMNS, ComponentRow, FITMENT_COLUMNS, FitmentRow};
use crate::dossier::tests::TestRow;
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use crate::row::parsed;
use domain::configuration::component::ComponentRef;
use domain::identity::{CarNumber, PositionCode};
use domain::ledger::at_once::Tested;
use domain::ledger::dossier::{CarRecord, ComponentRecord, DoneRecord, Fitment, TestedRecord};
use domain::ledger::entry::Seq;
use domain::ledger::standing::ComponentHistory;
use sqlx::QueryBuilder;

const FITTED_AT: &str = "select component.part, component.serial
    from fitment join component on component.id = fitment.component_id
    where fitment.car_id = $1 and fitment.position = $2
    and fitment.until_at is null and fitment.known_until is null";

const CAR_OF: &str = "select car.number from component join fitment on fitment.component_id = component.id join car on car.id = fitment.car_id
    where component.part = $1 and component.serial = $2
    and fitment.until_at is null and fitment.known_until is null";

/// Test records shown with a component or car; the newest.
const TESTS_SHOWN: i64 = 50;

/// Everything known of one component.
#[derive(Debug)]
pub struct ComponentLife {
    /// Itself.
    pub record: ComponentRecord,
    /// Where it was on cars, by the beginning.
    pub fitments: Vec<Fitment>,
    /// What it is and was inside.
    pub surroundings: Surroundings,
    /// What is inside it, on all levels.
    pub contents: Vec<Content>,
    /// The work done on it, by its time.
    pub done: Vec<DoneRecord>,
    /// Its newest test records, newest first.
    pub tests: Vec<TestedRecord>,
}

impl ComponentLife {
    /// What the core works its use and due work out from.
    pub fn history(&self) -> ComponentHistory<'_> {
        let own = self.fitments.iter().filter(|one| one.id.is_own());
        let on_cars = own.map(|one| (one.from, one.end.as_ref()));
        let inside = self.surroundings.history.iter();
        let inside = inside.map(|own| (own.from, own.end.as_ref()));
        let last = on_cars.chain(inside).max_by_key(|(from, _)| *from);
        ComponentHistory {
            record: &self.record,
            fitments: self.fitments.iter().collect(),
            came_off: last.and_then(|(_, end)| end),
            done: self.done.iter().collect(),
            tests: self.tests.iter().map(Tested::from).collect(),
        }
    }
}

impl View {
    /// One component as it stands.
    pub async fn component_record(
        &mut self,
        component: &ComponentRef,
    ) -> Result<Option<ComponentRecord>, StoreError> {
        let row: Option<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.part = ");
            query.push_bind(component.part.as_str()).push(" and component.serial = ");
            query.push_bind(component.serial.as_str());
            query.build_query_as().fetch_optional(conn).await
        })?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// The life of a component: five statements, and one for what is inside an assembly.
    pub async fn component(
        &mut self,
        component: &ComponentRef,
    ) -> Result<Option<ComponentLife>, StoreError> {
        let Some(record) = self.component_record(component).await? else {
            return Ok(None);
        };
        let fitments = self.fitments("fitment.component_id = ", record.id).await?;
        let surroundings = self.surroundings(record.id).await?;
        let part = self.documents.part(&component.part);
        let contents = if part.is_some_and(|part| !part.positions.is_empty()) {
            self.contents(record.id).await?
        } else {
            Vec::new()
        };
        let done = self.done_on("work_done.component_id = ", record.id).await?;
        let tests = self
            .tests_of("test_record.component_id = ", record.id)
            .await?;
        Ok(Some(ComponentLife {
            record,
            fitments,
            surroundings,
            contents,
            done,
            tests,
        }))
    }

    async fn fitments(&mut self, of: &'static str, id: Seq) -> Result<Vec<Fitment>, StoreError> {
        let rows: Vec<FitmentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FITMENT_COLUMNS).push(" from fitment join component on component.id = fitment.component_id join car on car.id = fitment.car_id where fitment.known_until is null and ");
            query.push(of).push_bind(id.0).push(" order by fitment.from_at");
            query.build_query_as().fetch_all(conn).await
        })?;
        let fitments: Result<Vec<_>, _> = rows.iter().map(FitmentRow::fitment).collect();
        Ok(fitments?)
    }

    async fn done_on(&mut self, of: &'static str, id: Seq) -> Result<Vec<DoneRecord>, StoreError> {
        let rows: Vec<DoneRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(DONE_FROM);
            query.push(" where ").push(of).push_bind(id.0);
            query.push(" order by work_done.done_at, work_done.recorded_by, work_done.task");
            query.build_query_as().fetch_all(conn).await
        })?;
        let done: Result<Vec<_>, _> = rows.iter().map(DoneRow::record).collect();
        Ok(done?)
    }

    async fn tests_of(
        &mut self,
        of: &'static str,
        id: Seq,
    ) -> Result<Vec<TestedRecord>, StoreError> {
        let rows: Vec<TestRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select id, outcome, body from test_record where ");
            query.push(of).push_bind(id.0);
            query.push(" order by tested_at desc, id desc limit ").push_bind(TESTS_SHOWN);
            query.build_query_as().fetch_all(conn).await
        })?;
        let tests: Result<Vec<_>, _> = rows.iter().map(TestRow::record).collect();
        Ok(tests?)
    }

    /// The newest test records of a car as a whole.
    pub async fn tests_of_car(&mut self, car: &CarRecord) -> Result<Vec<TestedRecord>, StoreError> {
        self.tests_of("test_record.car_id = ", car.id).await
    }

    /// The car that a component is on now, by itself or inside an assembly.
    pub async fn car_of(
        &mut self,
        component: &ComponentRef,
    ) -> Result<Option<CarNumber>, StoreError> {
        let car: Option<(String,)> = on!(&mut self.tx, conn => sqlx::query_as(CAR_OF)
            .bind(component.part.as_str()).bind(component.serial.as_str())
            .fetch_optional(conn).await)?;
        Ok(car.map(|(car,)| parsed(&car)).transpose()?)
    }

    /// What is at a position of a car now.
    pub async fn fitted_at(
        &mut self,
        car: &CarRecord,
        position: &PositionCode,
    ) -> Result<Option<ComponentRef>, StoreError> {
        let row: Option<(String, String)> = on!(&mut self.tx, conn => sqlx::query_as(FITTED_AT)
            .bind(car.id.0).bind(position.as_str()).fetch_optional(conn).await)?;
        let Some((part, serial)) = row else {
            return Ok(None);
        };
        Ok(Some(ComponentRef {
            part: parsed(&part)?,
            serial: parsed(&serial)?,
        }))
    }

    /// Everything that was ever fitted at some positions of a car, by its beginning.
    pub async fn history_of_positions(
        &mut self,
        car: &CarRecord,
        positions: &[&PositionCode],
    ) -> Result<Vec<Fitment>, StoreError> {
        let rows: Vec<FitmentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FITMENT_COLUMNS).push(" from fitment join component on component.id = fitment.component_id join car on car.id = fitment.car_id where fitment.known_until is null and fitment.car_id = ");
            query.push_bind(car.id.0).push(" and fitment.position in (");
            let mut list = query.separated(", ");
            for position in positions {
                list.push_bind(position.as_str());
            }
            query.push(") order by fitment.from_at");
            query.build_query_as().fetch_all(conn).await
        })?;
        let fitments: Result<Vec<_>, _> = rows.iter().map(FitmentRow::fitment).collect();
        Ok(fitments?)
    }
}
