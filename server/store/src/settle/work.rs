//! When stale work is due, on components and on cars as a whole.

use super::cars::{Known, load_cars, meters_of};
use super::due::{self, Place, Written};
use super::hosts::{Host, load_hosts};
use super::subjects::{Subjects, subjects_in};
use super::{Settling, tests};
use crate::connect::{Tx, on};
use crate::dossier::assemblies::{Side, load_inner_fitments};
use crate::dossier::components::{Reach, load_components};
use crate::dossier::lines::load_lines;
use crate::dossier::meters;
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use crate::touches;
use domain::configuration::component::{ComponentRef, Subject};
use domain::identity::CarNumber;
use domain::ledger::at_once::Tested;
use domain::ledger::consequences::DueWork;
use domain::ledger::dossier::{
    CarRecord, ComponentRecord, DoneRecord, Dossier, Fitment, MeterValues,
};
use domain::ledger::obligations::Touch;
use domain::ledger::reached::HostMeters;
use domain::ledger::standing::{CarHistory, CarMeters, ComponentHistory};
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// The ids of components. One statement a thousand.
pub(super) async fn ids(
    tx: &mut Tx,
    components: &BTreeSet<ComponentRef>,
) -> Result<BTreeSet<i64>, StoreError> {
    let mut found = BTreeSet::new();
    let components: Vec<&ComponentRef> = components.iter().collect();
    for chunk in components.chunks(1_000) {
        let ids: Vec<i64> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (part, serial) as (");
            query.push_values(chunk, |mut row, component| {
                row.push_bind(component.part.as_str()).push_bind(component.serial.as_str());
            });
            query.push(") select component.id from wanted cross join component where component.part = wanted.part and component.serial = wanted.serial and component.withdrawn_by = 0");
            query.build_query_scalar().fetch_all(&mut *conn).await
        })?;
        found.extend(ids);
    }
    Ok(found)
}

/// What is known about stale subjects.
struct Loaded<'d> {
    dossier: &'d Dossier,
    cars: Known,
    hosts: HashMap<CarNumber, Host>,
    done: HashMap<Subject, Vec<DoneRecord>>,
    tests: HashMap<i64, Vec<Tested>>,
    /// What was touched on cars, where that bears on their work.
    touches: HashMap<i64, Vec<Touch>>,
    /// The lines through the readings of cars on which a window has begun.
    lines: HashMap<CarNumber, CarMeters>,
}

/// Settles the work on components, and the own work of cars whose marks and meters are settled,
/// all together: at most eleven statements to load, fewer where the dossier has the components; a
/// few to write what has moved. Answers with the work on the components.
pub(super) async fn settle(
    tx: &mut Tx,
    (settling, known): (&Settling, &Dossier),
    (own, components): (&BTreeSet<CarNumber>, &BTreeSet<ComponentRef>),
) -> Result<Vec<DueWork>, StoreError> {
    let loaded;
    let is_known = |component| known.components.contains_key(component);
    let dossier = if components.iter().all(is_known) {
        known
    } else {
        loaded = load(tx, components).await?;
        &loaded
    };
    let cars = load_cars(tx, &known.cars, own.iter()).await?;
    let records = components.iter();
    let records = records.filter_map(|component| dossier.components.get(component));
    let subjects = Subjects {
        components: records.map(|record| record.id.0).collect(),
        cars: cars.values().map(|car| car.id.0).collect(),
    };
    if subjects.is_none() {
        return Ok(Vec::new());
    }
    let done = load_done(tx, &subjects).await?;
    let tests = tests::load(tx, &subjects).await?;
    let carrying = components
        .iter()
        .filter_map(|component| Some(&dossier.open_fitment(component)?.at.car));
    let hosts = load_hosts(tx, &carrying.chain(own).collect(), &settling.zone).await?;
    let mut known = Loaded {
        dossier,
        cars,
        hosts,
        done,
        tests,
        touches: HashMap::new(),
        lines: HashMap::new(),
    };
    let entered = load_entered(tx, settling, &known.cars).await?;
    let passed = known.passed(settling, components, &entered);
    known.lines = load_lines(tx, &passed).await?;
    known.touches = touches::load(tx, &known.touched_since(settling)).await?;
    let (works, mut rows) = of_components(settling, &known, components)?;
    rows.extend(of_cars(settling, &known, &entered)?);
    due::replace(tx, &subjects.ids(), rows).await?;
    Ok(works)
}

/// Components with all their fitments.
async fn load(tx: &mut Tx, components: &BTreeSet<ComponentRef>) -> Result<Dossier, StoreError> {
    let mut dossier = Dossier::default();
    load_components(tx, &mut dossier, components, Reach::Alone).await?;
    load_inner_fitments(tx, &mut dossier, Side::Component).await?;
    Ok(dossier)
}

/// A component as far as its work depends on it, and the car that it is on.
struct OnHost<'l> {
    record: &'l ComponentRecord,
    history: ComponentHistory<'l>,
    open: Option<(&'l Fitment, &'l Host)>,
}

fn of_components(
    settling: &Settling,
    loaded: &Loaded<'_>,
    components: &BTreeSet<ComponentRef>,
) -> Result<(Vec<DueWork>, Vec<Written>), StoreError> {
    let (mut works, mut rows) = (Vec::new(), Vec::new());
    for component in components {
        let Some(on_host) = loaded.on_host(component) else {
            continue;
        };
        let meters = loaded.meters_of(on_host.open);
        let due = on_host
            .history
            .due(&settling.documents, &meters, &settling.zone);
        for (task, row) in due {
            let place = Place::of_component(on_host.record, on_host.open);
            rows.push(Written::new(place, &task, &row)?);
            works.push(DueWork {
                component: component.clone(),
                task,
                forecast: row.forecast,
            });
        }
    }
    Ok((works, rows))
}

fn of_cars(
    settling: &Settling,
    loaded: &Loaded<'_>,
    entered: &HashMap<CarNumber, MeterValues>,
) -> Result<Vec<Written>, StoreError> {
    let mut rows = Vec::new();
    for (number, car) in &loaded.cars {
        let Some(history) = loaded.car_history((number, car), entered) else {
            continue;
        };
        for (task, row) in history.due(&settling.documents, &settling.zone) {
            rows.push(Written::new(Place::of_car(car), &task, &row)?);
        }
    }
    Ok(rows)
}

impl Loaded<'_> {
    fn done_on(&self, subject: &Subject) -> &[DoneRecord] {
        self.done.get(subject).map_or(&[], Vec::as_slice)
    }

    fn on_host(&self, component: &ComponentRef) -> Option<OnHost<'_>> {
        let record = self.dossier.components.get(component)?;
        let mut fitments: Vec<_> = self.dossier.fitments_of(component).collect();
        fitments.sort_by_key(|fitment| fitment.from);
        let open = fitments.iter().find(|fitment| fitment.end.is_none());
        let open = open.copied();
        let open = open.and_then(|open| Some((open, self.hosts.get(&open.at.car)?)));
        let done = self.done_on(&Subject::Component(component.clone()));
        let history = ComponentHistory {
            record,
            fitments,
            came_off: self.dossier.came_off(component),
            done: done.iter().collect(),
            tests: self.tests.get(&record.id.0).cloned().unwrap_or_default(),
            last_read: &[],
        };
        Some(OnHost {
            record,
            history,
            open,
        })
    }

    fn meters_of(&self, open: Option<(&Fitment, &Host)>) -> HostMeters<'_> {
        open.map_or(HostMeters::UNKNOWN, |(fitment, host)| HostMeters {
            facts: host.meters,
            line: self.lines.get(&fitment.at.car),
        })
    }

    fn car_history<'s>(
        &'s self,
        (number, record): (&CarNumber, &'s CarRecord),
        entered: &HashMap<CarNumber, MeterValues>,
    ) -> Option<CarHistory<'s>> {
        let facts = self.hosts.get(number)?.meters;
        Some(CarHistory {
            record,
            meters: HostMeters {
                facts,
                line: self.lines.get(number),
            },
            entered: entered.get(number).copied().unwrap_or_default(),
            done: self.done_on(&Subject::Car(number.clone())).iter().collect(),
            tests: self.tests.get(&record.id.0).cloned().unwrap_or_default(),
            touches: self.touches.get(&record.id.0).map_or(&[], Vec::as_slice),
        })
    }

    /// The cars of which it must be known what was touched on them, each with the moment since when.
    fn touched_since(&self, settling: &Settling) -> Vec<(i64, Instant)> {
        let (documents, zone) = (&settling.documents, &settling.zone);
        let since = self.cars.iter().filter_map(|(number, record)| {
            let history = self.car_history((number, record), &HashMap::new())?;
            Some((record.id.0, history.touched_since(documents, zone)?))
        });
        since.collect()
    }

    /// The cars on which a window has begun, of which the lines are needed to tell when.
    fn passed(
        &self,
        settling: &Settling,
        components: &BTreeSet<ComponentRef>,
        entered: &HashMap<CarNumber, MeterValues>,
    ) -> BTreeSet<CarNumber> {
        let (documents, zone) = (&settling.documents, &settling.zone);
        let mut cars = BTreeSet::new();
        for component in components {
            let on_host = self.on_host(component);
            let Some((on_host, open)) = on_host.and_then(|it| Some((it.history, it.open?))) else {
                continue;
            };
            let car = &open.0.at.car;
            let meters = self.meters_of(Some(open));
            if !cars.contains(car) && on_host.is_passed(documents, &meters, zone) {
                cars.insert(car.clone());
            }
        }
        for (number, record) in &self.cars {
            let history = self.car_history((number, record), entered);
            let due = history.map(|history| (history.meters.facts, history.due(documents, zone)));
            let passed = due.is_some_and(|(meters, due)| {
                due.iter().any(|(_, row)| row.points.are_passed(&meters))
            });
            if passed {
                cars.insert(number.clone());
            }
        }
        cars
    }
}

/// What cars had run when they entered service, where that is recorded.
async fn load_entered(
    tx: &mut Tx,
    settling: &Settling,
    cars: &Known,
) -> Result<HashMap<CarNumber, MeterValues>, StoreError> {
    let wanted: Vec<(i64, Instant)> = cars
        .values()
        .filter_map(|car| {
            let day = car.car.entered_service_on?;
            Some((car.id.0, settling.zone.start_of(day)))
        })
        .collect();
    let mut dossier = Dossier::default();
    meters::load_around(tx, &mut dossier, &wanted).await?;
    let meters = meters_of(&dossier, cars)?;
    let entered = cars.iter().filter_map(|(number, car)| {
        let day = car.car.entered_service_on?;
        Some((number.clone(), meters[number].on_day(day, &settling.zone)))
    });
    Ok(entered.collect())
}

/// All work done on subjects, by its time. One statement.
async fn load_done(
    tx: &mut Tx,
    subjects: &Subjects,
) -> Result<HashMap<Subject, Vec<DoneRecord>>, StoreError> {
    let rows: Vec<DoneRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new(DONE_FROM);
        query.push(" where ");
        subjects_in!(query, subjects, "work_done.component_id", "work_done.subject_car_id");
        query.push(" order by work_done.done_at, work_done.recorded_by");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut done: HashMap<Subject, Vec<DoneRecord>> = HashMap::new();
    for row in &rows {
        let record = row.record()?;
        done.entry(record.subject.clone()).or_default().push(record);
    }
    Ok(done)
}
