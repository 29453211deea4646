//! One component or position, with everything that happened to it.

use super::as_known::known_at;
use super::assemblies::{Content, Surroundings};
use super::cars::Standings;
use super::due::DueItem;
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::dossier::components::{COMPONENT_COLUMNS, ComponentRow, FITMENT_COLUMNS, FitmentRow};
use crate::dossier::lines::load_lines;
use crate::dossier::tests::TestRow;
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use crate::row::parsed;
use domain::configuration::component::{ComponentRef, Subject};
use domain::identity::{CarNumber, PositionCode};
use domain::ledger::at_once::Tested;
use domain::ledger::dossier::{
    CarRecord, ComponentRecord, Documents, DoneRecord, Dossier, Fitment, OwnFitment, TestedRecord,
};
use domain::ledger::entry::Seq;
use domain::ledger::estimated::LastRead;
use domain::ledger::standing::{CarMeters, ComponentHistory};
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;
use std::sync::Arc;

const FITTED_AT: &str = "select component.part, component.serial
    from fitment join component on component.id = fitment.component_id
    where fitment.car_id = $1 and fitment.position = $2
    and fitment.until_at is null and fitment.known_until is null";

const CAR_OF: &str = "select car.number from component join fitment on fitment.component_id = component.id join car on car.id = fitment.car_id
    where component.part = $1 and component.serial = $2
    and fitment.until_at is null and fitment.known_until is null";

const RECEIPT_WITHDRAWN: &str = "select withdrawn_by from component where part = $1 and serial = $2 and withdrawn_by > 0 order by withdrawn_by desc limit 1";

/// Test records shown with a component or car; the newest.
const TESTS_SHOWN: i64 = 50;

/// Everything known of one component.
#[derive(Debug)]
pub struct ComponentLife {
    /// Itself.
    pub record: ComponentRecord,
    /// Others of its part whose serial numbers differ only in case, blanks and hyphens; told of
    /// now alone.
    pub alike: Vec<ComponentRef>,
    /// Where it was on cars, by the beginning.
    pub fitments: Vec<Fitment>,
    /// When the meters of the cars that it came off were last read.
    pub last_read: Vec<LastRead>,
    /// What it is and was inside.
    pub surroundings: Surroundings,
    /// What is inside it, on all levels.
    pub contents: Vec<Content>,
    /// The work done on it, by its time.
    pub done: Vec<DoneRecord>,
    /// Its newest test records, newest first.
    pub tests: Vec<TestedRecord>,
}

/// The life of a component as it was told at a time.
#[derive(Debug)]
pub struct LifeThen {
    /// Everything that was known of it then.
    pub life: ComponentLife,
    /// Where the meters of the car stood that it was on.
    pub standings: Standings,
    /// The line through the readings of that car.
    pub line: Option<CarMeters>,
    /// When its work was due, by date.
    pub due: Vec<DueItem>,
    /// The design data with the tasks of then.
    pub documents: Arc<Documents>,
}

impl ComponentLife {
    /// Where entries put it, on cars and in assemblies.
    pub fn own_fitments(&self) -> Vec<OwnFitment> {
        let on_cars = self.fitments.iter().filter(|one| one.id.is_own());
        let on_cars = on_cars.map(OwnFitment::from);
        on_cars
            .chain(self.surroundings.history.iter().cloned())
            .collect()
    }

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
            last_read: &self.last_read,
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
            query.push_bind(component.serial.as_str()).push(" and component.withdrawn_by = 0");
            query.build_query_as().fetch_optional(conn).await
        })?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// The entry that withdrew the receipt of a component that is not in the register any more: of
    /// several the last.
    pub async fn receipt_withdrawn(
        &mut self,
        component: &ComponentRef,
    ) -> Result<Option<Seq>, StoreError> {
        let by: Option<i64> = on!(&mut self.tx, conn => sqlx::query_scalar(RECEIPT_WITHDRAWN)
            .bind(component.part.as_str()).bind(component.serial.as_str())
            .fetch_optional(conn).await)?;
        Ok(by.map(Seq))
    }

    /// One component and the others of its part whose serial numbers fold alike.
    async fn component_with_alike(
        &mut self,
        component: &ComponentRef,
    ) -> Result<Option<(ComponentRecord, Vec<ComponentRef>)>, StoreError> {
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.folded = ");
            query.push_bind(component.serial.folded()).push(" and component.part = ");
            query.push_bind(component.part.as_str()).push(" and component.withdrawn_by = 0 order by component.serial");
            query.build_query_as().fetch_all(conn).await
        })?;
        let (mut itself, mut alike) = (None, Vec::new());
        for row in rows {
            let record = row.record()?;
            if record.component == *component {
                itself = Some(record);
            } else {
                alike.push(record.component);
            }
        }
        Ok(itself.map(|record| (record, alike)))
    }

    /// The line through the readings of a car's meters: where a window has begun there.
    pub async fn line_of(&mut self, car: &CarNumber) -> Result<Option<CarMeters>, StoreError> {
        let mut lines = load_lines(&mut self.tx, &BTreeSet::from([car.clone()])).await?;
        Ok(lines.remove(car))
    }

    /// The life of a component: five statements, and one for what is inside an assembly.
    pub async fn component(
        &mut self,
        component: &ComponentRef,
    ) -> Result<Option<ComponentLife>, StoreError> {
        let Some((record, alike)) = self.component_with_alike(component).await? else {
            return Ok(None);
        };
        let (fitments, last_read) = self.fitments(record.id).await?;
        let surroundings = self.surroundings(record.id, None).await?;
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
            alike,
            fitments,
            last_read,
            surroundings,
            contents,
            done,
            tests,
        }))
    }

    /// The life of a component as it was told, with where the meters of its car stood and when its
    /// work was due; none where the register knew nothing of it. Fourteen statements, two for
    /// what was inside an assembly, and one where the design data was changed since.
    pub async fn life_then(
        &mut self,
        component: &ComponentRef,
        as_at: AsAt,
    ) -> Result<Option<LifeThen>, StoreError> {
        let Some(record) = self.component_record(component).await? else {
            return Ok(None);
        };
        let id = record.id;
        let told = self.component_then(id, as_at).await?;
        let Some(record) = told.then.component(component).cloned() else {
            return Ok(None);
        };
        let surroundings = self.surroundings(id, Some(as_at)).await?;
        let contents = self.contents_told(component, id, as_at).await?;
        let subject = Subject::Component(component.clone());
        let fitments = told.then.fitments_of(component).to_vec();
        let open = fitments.iter().find(|fitment| fitment.end.is_none());
        let standings = open.map_or_else(Vec::new, |open| told.then.standings(&open.at.car));
        let line = open.and_then(|open| told.then.line(&open.at.car).cloned());
        Ok(Some(LifeThen {
            standings,
            line,
            due: told.due_of(component, (&self.zone, as_at.effective)),
            life: ComponentLife {
                record,
                alike: Vec::new(),
                fitments,
                last_read: told.then.last_read(component),
                surroundings,
                contents,
                done: told.then.done_on(&subject).to_vec(),
                tests: told.then.tests_of(&subject).to_vec(),
            },
            documents: told.documents,
        }))
    }

    /// What was inside an assembly, in the condition of then.
    async fn contents_told(
        &mut self,
        assembly: &ComponentRef,
        id: Seq,
        as_at: AsAt,
    ) -> Result<Vec<Content>, StoreError> {
        let part = self.documents.part(&assembly.part);
        if part.is_none_or(|part| part.positions.is_empty()) {
            return Ok(Vec::new());
        }
        let inside = self.contents_then(id, as_at).await?;
        let ids: Vec<i64> = inside.iter().map(|(_, id)| id.0).collect();
        let mut dossier = Dossier::default();
        self.states_then(&mut dossier, &ids, as_at).await?;
        let content = |(fitment, _): (OwnFitment, Seq)| {
            let condition = dossier.condition_at(&fitment.component, as_at.effective)?;
            Some(Content {
                fitment,
                condition,
                due: Vec::new(),
            })
        };
        Ok(inside.into_iter().filter_map(content).collect())
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

    /// Everything that was ever fitted at some positions of a car until a time, as known at
    /// another, by its beginning. Without marks of meters where it is not of now.
    pub async fn history_of_positions(
        &mut self,
        (car, positions): (&CarRecord, &[&PositionCode]),
        then: Option<AsAt>,
    ) -> Result<Vec<Fitment>, StoreError> {
        let rows: Vec<FitmentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FITMENT_COLUMNS).push(" from fitment join component on component.id = fitment.component_id join car_ever car on car.id = fitment.car_id where fitment.car_id = ");
            query.push_bind(car.id.0).push(" and fitment.position in (");
            let mut list = query.separated(", ");
            for position in positions {
                list.push_bind(position.as_str());
            }
            query.push(")");
            match then {
                None => {
                    query.push(" and fitment.known_until is null");
                }
                Some(as_at) => {
                    known_at!(query, "fitment", At(as_at.known));
                    query.push(" and fitment.from_at <= ").push_bind(At(as_at.effective));
                }
            }
            query.push(" order by fitment.from_at");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut fitments = Vec::with_capacity(rows.len());
        for row in &rows {
            let mut fitment = row.fitment()?;
            let over = |at: Instant| then.is_none_or(|as_at| at <= as_at.effective);
            fitment.end = fitment.end.filter(|end| over(end.at));
            fitments.push(fitment);
        }
        Ok(fitments)
    }
}
