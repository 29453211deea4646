//! Components and cars as they were told at a time, as known at another: nothing is loaded that
//! was of a later time or recorded later, and the core works out anew what followed from it.
//!
//! That costs more than what is true now, which is kept worked out: a fixed number of statements,
//! but linear in all that was ever recorded of the components and in all readings of the cars that
//! they were ever on.

mod compared;
mod departures;
mod entries;
mod fleet_checks;
mod load;
mod modifications;
mod on_cars;
mod parts;
mod touches;
mod trains;

pub use compared::{CarBetween, UnitBetween};
pub use modifications::ModificationTold;
pub use parts::COMPONENTS_THEN_MAX;
pub use trains::{TrainTold, TrainsTold};

use super::as_known::{holding_at, known_at};
use super::cars::Fitted;
use super::due::{DueCursor, DueItem, MeterLimit};
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::shape::padded;
use domain::configuration::component::{ComponentRef, Subject};
use domain::configuration::filled::FilledPositions;
use domain::due::DueRow;
use domain::due::task::{Metric, Task};
use domain::identity::CarNumber;
use domain::ledger::dossier::{CarRecord, Documents, Dossier, Fitment, IsolationRecord};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::kind::FactKind;
use domain::ledger::standing::MeterStanding;
use domain::ledger::then::Then;
use domain::time::{Day, Instant, Zone};
use domain::units::Meter;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Cars whose due work of the past is told at once.
pub const CARS_THEN_MAX: usize = 60;

/// Pushes ids that a column is one of.
macro_rules! ids {
    ($query:expr, $ids:expr) => {
        let ids: &[i64] = $ids;
        let mut list = $query.separated(", ");
        for id in padded(ids) {
            list.push_bind(id.copied());
        }
        $query.push(if ids.is_empty() { "null)" } else { ")" });
    };
}
use ids;

/// What was told, and by which design data work was due then.
pub struct ToldThen {
    /// The facts with what followed from them.
    pub then: Then,
    /// The design data that was known then, with the tasks of then.
    pub documents: Arc<Documents>,
}

impl View {
    /// A component as it was told. Twelve statements, and one where the design data was changed
    /// since it was known.
    pub async fn component_then(
        &mut self,
        component: Seq,
        as_at: AsAt,
    ) -> Result<ToldThen, StoreError> {
        self.told_then((&[component.0], &[]), as_at).await
    }

    /// Cars with everything on them as they were told, of at most [`CARS_THEN_MAX`]. Thirteen
    /// statements, and one where the design data was changed since it was known; five more where what
    /// was touched on a car opens obligations.
    pub async fn cars_then(
        &mut self,
        cars: &[&CarRecord],
        as_at: AsAt,
    ) -> Result<ToldThen, StoreError> {
        let numbers: Vec<i64> = cars.iter().map(|car| car.id.0).collect();
        let components: Vec<i64> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select distinct fitment.component_id from fitment where fitment.car_id in (");
            ids!(query, &numbers);
            holding_at!(query, "fitment", At(as_at.effective));
            known_at!(query, "fitment", At(as_at.known));
            query.build_query_scalar().fetch_all(conn).await
        })?;
        let mut told = self.told_then((&components, &numbers), as_at).await?;
        let opens = |car: &&CarRecord| told.documents.opens_obligations(&car.car.car_type);
        if cars.iter().any(opens) {
            let touches = self.touches_then(cars, (&told.then, as_at)).await?;
            told.then.put_touches(touches);
        }
        Ok(told)
    }

    async fn told_then(
        &mut self,
        (components, cars): (&[i64], &[i64]),
        as_at: AsAt,
    ) -> Result<ToldThen, StoreError> {
        let documents = self.documents_known(as_at.known).await?;
        let documents = Arc::new(documents.with_tasks_at(as_at.effective));
        let mut dossier = Dossier::new(Arc::clone(&documents), self.zone.clone());
        self.states_then(&mut dossier, components, as_at).await?;
        let hosts = self.fitments_then(&mut dossier, components, as_at).await?;
        self.inner_then(&mut dossier, components, as_at).await?;
        let subjects: Vec<i64> = components.iter().chain(cars).copied().collect();
        self.work_then(&mut dossier, &subjects, as_at).await?;
        let cars: BTreeSet<i64> = cars.iter().copied().chain(hosts).collect();
        let cars: Vec<i64> = cars.into_iter().collect();
        self.meters_then(&mut dossier, &cars, as_at).await?;
        self.cut_outs_then(&mut dossier, &cars, as_at).await?;
        let subjects: BTreeSet<i64> = subjects.into_iter().chain(cars).collect();
        let subjects: Vec<i64> = subjects.into_iter().collect();
        let withdrawn = self.withdrawn_then(&subjects, as_at).await?;
        let then = worked_out(dossier, &withdrawn)?;
        Ok(ToldThen { then, documents })
    }

    /// All cut-outs of a car as they were told, newest first. Three statements.
    pub async fn cut_outs_told(
        &mut self,
        car: &CarRecord,
        as_at: AsAt,
    ) -> Result<Vec<IsolationRecord>, StoreError> {
        let mut dossier = Dossier::new(Arc::clone(&self.documents), self.zone.clone());
        self.cut_outs_then(&mut dossier, &[car.id.0], as_at).await?;
        let mut withdrawn = self.withdrawn_then(&[car.id.0], as_at).await?;
        withdrawn.retain(|entry| {
            let kind = entry.fact.kind();
            matches!(kind, FactKind::Isolated | FactKind::IsolationEnded)
        });
        Ok(worked_out(dossier, &withdrawn)?.cut_outs_of(&car.car.number))
    }

    /// The cut-outs and the tests of cars, and where what was touched on them opens obligations that
    /// with the work done on them. Four statements, and six more there.
    async fn cut_outs_and_work(
        &mut self,
        cars: &[CarRecord],
        as_at: AsAt,
    ) -> Result<Then, StoreError> {
        let ids: Vec<i64> = cars.iter().map(|car| car.id.0).collect();
        let documents = self.documents.with_tasks_at(as_at.effective);
        let mut types = cars.iter().map(|car| &car.car.car_type);
        let opens = types.any(|car_type| documents.opens_obligations(car_type));
        let mut dossier = Dossier::new(Arc::new(documents), self.zone.clone());
        self.cut_outs_then(&mut dossier, &ids, as_at).await?;
        if opens {
            self.work_then(&mut dossier, &ids, as_at).await?;
        } else {
            self.tests_then(&mut dossier, &ids, as_at).await?;
        }
        let mut withdrawn = self.withdrawn_then(&ids, as_at).await?;
        withdrawn.retain(|entry| match entry.fact.kind() {
            FactKind::Isolated | FactKind::IsolationEnded | FactKind::TestRecorded => true,
            FactKind::TaskDone => opens,
            _ => false,
        });
        let mut then = worked_out(dossier, &withdrawn)?;
        if opens {
            let cars: Vec<&CarRecord> = cars.iter().collect();
            let touches = self.touches_then(&cars, (&then, as_at)).await?;
            then.put_touches(touches);
        }
        Ok(then)
    }
}

fn worked_out(dossier: Dossier, withdrawn: &[Entry]) -> Result<Then, StoreError> {
    Then::of(dossier, withdrawn)
        .map_err(|why| StoreError::Database(sqlx::Error::Decode(Box::new(why))))
}

impl ToldThen {
    /// The positions of a car that were filled then.
    pub fn filled(&self, car: &CarNumber) -> FilledPositions {
        let components = self.then.components();
        let fitments = components.flat_map(|record| self.then.fitments_of(&record.component));
        let here = fitments.filter(|one| one.end.is_none() && one.at.car == *car);
        here.map(|one| one.at.position.clone()).collect()
    }

    /// Gives what was fitted the condition of then.
    pub fn judge(&self, fitted: &mut [Fitted]) {
        for one in fitted {
            if let Some(record) = self.then.component(&one.component) {
                one.condition = record.condition;
            }
        }
    }

    /// All work on a car and on what was on it, with its state on the day of the time told of, by
    /// date; what had none comes last.
    pub fn due_on(&self, car: &CarRecord, (zone, at): (&Zone, Instant)) -> Vec<DueItem> {
        let on = Where {
            car: Some(car),
            at,
            today: zone.day_of(at),
        };
        let number = &car.car.number;
        let subject = (Subject::Car(number.clone()), car.id);
        let of_car = self.then.due_of_car(car, &self.documents, zone);
        let of_car = of_car.iter();
        let mut items: Vec<DueItem> = of_car
            .map(|due| self.item(&subject, (&on, None), due))
            .collect();
        for record in self.then.components() {
            let open = self.then.fitments_of(&record.component).iter();
            let mut open = open.filter(|fitment| fitment.end.is_none());
            if let Some(fitment) = open.find(|fitment| fitment.at.car == *number) {
                let subject = (Subject::Component(record.component.clone()), record.id);
                let component = &record.component;
                let due = self.then.due_of_component(component, &self.documents, zone);
                let due = due.iter();
                items.extend(due.map(|due| self.item(&subject, (&on, Some(fitment)), due)));
            }
        }
        in_order(&mut items);
        items
    }

    /// All work on a component, by date.
    pub fn due_of(&self, component: &ComponentRef, at: (&Zone, Instant)) -> Vec<DueItem> {
        self.due_on_host((component, None), at)
    }

    /// The same with the car that it was on, if that is to be told.
    fn due_on_host(
        &self,
        (component, host): (&ComponentRef, Option<&CarRecord>),
        (zone, at): (&Zone, Instant),
    ) -> Vec<DueItem> {
        let Some(record) = self.then.component(component) else {
            return Vec::new();
        };
        let mut open = self.then.fitments_of(component).iter();
        let open = open.find(|fitment| fitment.end.is_none());
        let on = Where {
            car: host,
            at,
            today: zone.day_of(at),
        };
        let subject = (Subject::Component(component.clone()), record.id);
        let due = self.then.due_of_component(component, &self.documents, zone);
        let due = due.iter();
        let mut items: Vec<DueItem> = due
            .map(|due| self.item(&subject, (&on, open), due))
            .collect();
        in_order(&mut items);
        items
    }

    fn item(
        &self,
        (subject, id): &(Subject, Seq),
        (on, fitment): (&Where<'_>, Option<&Fitment>),
        (task, row): &(Arc<Task>, DueRow),
    ) -> DueItem {
        let record = match subject {
            Subject::Component(component) => self.then.component(component),
            Subject::Car(_) => None,
        };
        let number = match subject {
            Subject::Car(car) => Some(car),
            Subject::Component(_) => fitment.map(|fitment| &fitment.at.car),
        };
        let forecast = row.forecast;
        let limit = self.limit(row, number);
        let estimated = match (subject, &limit) {
            (Subject::Component(component), Some(limit)) => {
                let of = (&task.code, limit.meter);
                self.then.rests_on_estimate(component, of, on.at)
            }
            _ => false,
        };
        DueItem {
            cursor: DueCursor {
                on: forecast.on,
                subject: id.0,
                task: task.code.clone(),
            },
            subject: subject.clone(),
            task: task.code.clone(),
            car: number.cloned(),
            unit: on.car.and_then(|car| Some(car.unit.as_ref()?.unit.clone())),
            position: fitment.map(|fitment| fitment.at.position.clone()),
            fleet: on.car.map(|car| car.car.fleet.clone()),
            depot: on.car.map(|car| car.car.depot.clone()),
            location: record.and_then(|record| record.location().cloned()),
            state: forecast.state_on(on.today),
            limit,
            estimated,
            forecast,
        }
    }

    /// Where the limit lay that set the date, as the car's meter shows it.
    fn limit(&self, row: &DueRow, car: Option<&CarNumber>) -> Option<MeterLimit> {
        let meter = match row.forecast.set_by? {
            Metric::Calendar => return None,
            Metric::Odometer => Meter::Odometer,
            Metric::RunningHours => Meter::RunningHours,
            Metric::CompressorHours => Meter::CompressorHours,
        };
        let due = row.points.meters[meter].window()?.due;
        let standings = car.map_or_else(Vec::new, |car| self.then.standings(car));
        let mut of_meter = standings.into_iter().filter(|(known, _)| *known == meter);
        let standing: Option<MeterStanding> = of_meter.next().map(|(_, standing)| standing);
        let behind = standing.map(|standing| standing.last.usage - standing.shown);
        Some(MeterLimit {
            meter,
            at: due - behind.unwrap_or_default(),
            last: standing.map(|standing| (standing.last.at, standing.shown)),
        })
    }
}

/// Where work is, and the time told of with its day, by which its state is told.
struct Where<'a> {
    car: Option<&'a CarRecord>,
    at: Instant,
    today: Day,
}

fn in_order(items: &mut [DueItem]) {
    items.sort_by(|one, other| {
        let key = |item: &DueItem| {
            let cursor = &item.cursor;
            (cursor.on.is_none(), cursor.on, cursor.subject)
        };
        key(one)
            .cmp(&key(other))
            .then_with(|| one.task.cmp(&other.task))
    });
}
