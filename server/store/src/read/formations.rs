//! The formation of any train as a decision needs it.

use super::View;
use super::board::in_force_on;
use super::doubted::tell_doubts;
use super::on_cars::{OnCar, on_cars};
use super::vacated::tell_vacated;
use crate::connect::{Tx, on};
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::row::{Both, row};
use domain::configuration::car::{Car, OrderedCar, Vehicle};
use domain::configuration::filled::FilledPositions;
use domain::decision::checks::CheckKind;
use domain::decision::conceded::{DepartsThere, conceded};
use domain::decision::due_at_once::DueAtOnce;
use domain::decision::failed_test::FailedTest;
use domain::decision::follow_up::ConfirmedCheck;
use domain::decision::judge_again::JudgeAgain;
use domain::decision::not_conceded::{KnownOtherwise, not_conceded};
use domain::decision::overdue::Overdue;
use domain::decision::seen_free::{Recorded, SeenFree};
use domain::decision::shortcoming::{FittedTold, incomplete, shortcomings};
use domain::decision::{CutOutInTrain, PressureRead, Since, TrainCar};
use domain::identity::{CarNumber, CarTypeName, PositionCode, UnitNumber};
use domain::ledger::dossier::{CarRecord, Documents, IsolationRecord, Membership};
use domain::ledger::entry::Seq;
use domain::time::{Day, Instant};
use domain::worked::Missing;
use futures_util::FutureExt;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::Arc;

/// A car in a train, with what a decision needs of it.
#[derive(Debug, Clone)]
pub struct CarInTrain {
    /// Its place and orientation.
    pub place: OrderedCar,
    /// Itself.
    pub record: CarRecord,
    /// The positions that hold a component.
    pub filled: FilledPositions,
    /// What is known of components at places that may hold an assembly with something inside it
    /// that it needs, and of those that are not serviceable.
    pub told: Vec<FittedTold>,
    /// The places that depart from the baseline.
    pub departs: Vec<DepartsThere>,
    /// The tests of it that were failed and not passed since.
    pub failed_tests: Vec<FailedTest>,
    /// The work on it that is due at once since something was touched, and on what is fitted to it since
    /// that failed, where that was looked for.
    pub due_at_once: Vec<DueAtOnce>,
    /// What is known of overdue work on it.
    pub overdue: Overdue,
    /// The components on it that are to be judged again, where that was looked for.
    pub judge_again: Vec<JudgeAgain>,
    /// When what stood there last came off, of the places that hold nothing, where that was looked for
    /// and is known.
    pub vacated: BTreeMap<PositionCode, Instant>,
    /// The cut-outs in force on it.
    pub isolations: Vec<IsolationRecord>,
    /// The checks confirmed for them.
    pub confirmed: Vec<ConfirmedCheck>,
    /// The last entry that ended a cut-out on it.
    pub restored_by: Option<Seq>,
}

impl CarInTrain {
    /// The last that was confirmed of a check after a cut-out.
    fn last_confirmed(&self, isolation: Seq, check: CheckKind) -> Option<&ConfirmedCheck> {
        let confirmed = self.confirmed.iter();
        let of_this = confirmed.filter(|one| one.isolation == isolation && one.check == check);
        of_this.max_by_key(|one| one.by)
    }

    /// A cut-out in force, with what was seen behind it since.
    fn recorded(&self, isolation: Seq) -> Recorded {
        let pads_free = self.last_confirmed(isolation, CheckKind::PadsFree);
        let pressure = self.last_confirmed(isolation, CheckKind::PressureRead);
        Recorded {
            by: isolation,
            pads_free: pads_free.map(|last| SeenFree {
                at: last.at,
                by: last.person.clone(),
            }),
            pressure_read: pressure.map(|last| PressureRead {
                at: last.at,
                by: last.person.clone(),
            }),
        }
    }

    /// The car as a decision on a day needs it; nothing where no circuit is known for its type.
    pub fn for_decision(&self, documents: &Documents, on: Day) -> Result<TrainCar, Missing> {
        let car = &self.record.car;
        let Car {
            number, car_type, ..
        } = car;
        let revision = documents.revision(car, on);
        let circuit = documents.circuit(car, on).ok_or_else(|| {
            Missing::one(
                "brake circuit",
                format!("car type {car_type} revision {revision}"),
            )
        })?;
        let cut_outs = self.isolations.iter().map(|isolation| CutOutInTrain {
            position: isolation.cut_out.at.position.clone(),
            state: isolation.cut_out.state,
            since: Some(Since {
                at: isolation.first,
                not_before: isolation.cut_out.not_before,
            }),
            recorded: Some(self.recorded(isolation.id)),
        });
        let shortcomings = shortcomings(documents, &self.told, &self.filled);
        let mut vacant = circuit.vacant(&self.filled);
        let known = KnownOtherwise {
            filled: &self.filled,
            vacant: &vacant,
            shortcomings: &shortcomings,
        };
        let not_conceded = not_conceded(&self.departs, &known, on);
        let since =
            |position: &PositionCode| Some((position.clone(), *self.vacated.get(position)?));
        let vacated = vacant.iter().filter_map(since).collect();
        vacant.extend(incomplete(circuit.positions(), &shortcomings));
        Ok(TrainCar {
            number: number.clone(),
            orientation: self.place.orientation,
            circuit: Arc::clone(circuit),
            vacant,
            vacated,
            shortcomings,
            conceded: conceded(documents, &self.departs, on),
            not_conceded,
            failed_tests: self.failed_tests.clone(),
            due_at_once: self.due_at_once.clone(),
            overdue: self.overdue.clone(),
            judge_again: self.judge_again.clone(),
            cut_outs: cut_outs.collect(),
        })
    }
}

/// Why a formation cannot be looked up.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotFound {
    /// No such unit.
    #[error("unit {0} is not in the register")]
    Unit(UnitNumber),
    /// No such car.
    #[error("car {0} is not in the register")]
    Car(CarNumber),
    /// A car stands in it twice.
    #[error("car {0} stands twice in this formation; each car can be in it once")]
    Twice(CarNumber),
}

/// The cars of some formations, by number.
struct Cars {
    records: HashMap<CarNumber, (CarRecord, Option<Seq>)>,
    carrying: HashMap<CarNumber, OnCar>,
    isolations: Vec<(IsolationRecord, Vec<ConfirmedCheck>)>,
    /// The day as on which overdue work was looked for.
    overdue_on: Option<Day>,
}

impl Cars {
    fn place(&self, places: Vec<OrderedCar>) -> Result<Vec<CarInTrain>, NotFound> {
        let mut cars: Vec<CarInTrain> = Vec::with_capacity(places.len());
        for place in places {
            if cars.iter().any(|other| other.place.car == place.car) {
                return Err(NotFound::Twice(place.car));
            }
            let Some((record, restored_by)) = self.records.get(&place.car) else {
                return Err(NotFound::Car(place.car));
            };
            let on_car = self.isolations.iter();
            let on_car = on_car.filter(|(isolation, _)| isolation.cut_out.at.car == place.car);
            let (isolations, confirmed): (Vec<_>, Vec<_>) = on_car.cloned().unzip();
            let on_car = self.carrying.get(&place.car);
            cars.push(CarInTrain {
                record: record.clone(),
                filled: on_car
                    .map_or_else(FilledPositions::default, |on_car| on_car.filled.clone()),
                told: on_car.map_or_else(Vec::new, |on_car| on_car.told.clone()),
                departs: on_car.map_or_else(Vec::new, |on_car| on_car.departs.clone()),
                failed_tests: on_car.map_or_else(Vec::new, |on_car| on_car.failed_tests.clone()),
                due_at_once: on_car.map_or_else(Vec::new, |on_car| on_car.due_at_once.clone()),
                overdue: self.overdue(on_car),
                judge_again: Vec::new(),
                vacated: BTreeMap::new(),
                isolations,
                confirmed: confirmed.concat(),
                restored_by: *restored_by,
                place,
            });
        }
        Ok(cars)
    }

    fn overdue(&self, on_car: Option<&OnCar>) -> Overdue {
        let tasks = on_car.map_or_else(Vec::new, |on_car| on_car.overdue.clone());
        self.overdue_on
            .map_or(Overdue::NotLookedAt, |_| Overdue::of(tasks))
    }
}

/// The places of a formation, given the cars of each unit in it.
pub(super) fn places(
    vehicles: &[Vehicle],
    units: &HashMap<UnitNumber, Vec<OrderedCar>>,
) -> Result<Vec<OrderedCar>, NotFound> {
    let mut places = Vec::new();
    for vehicle in vehicles {
        let cars = vehicle.cars(|number| units.get(number).cloned().unwrap_or_default());
        if let (true, Vehicle::Unit(number, _)) = (cars.is_empty(), vehicle) {
            return Err(NotFound::Unit(number.clone()));
        }
        places.extend(cars);
    }
    Ok(places)
}

row!(Restored {
    restored_by: Option<i64>
});

/// The column of [`Restored`].
const RESTORED: &str = ", (select max(isolation.ended_by) from isolation where isolation.car_id = car.id) as restored_by";

impl View {
    /// The cars of a formation in order, with what is fitted and what is cut out: four
    /// statements, linear in the cars. Units are as they are formed now. Where a day is given, what is
    /// overdue on it is told, and with one more statement since when places hold nothing that do so;
    /// one more where anything was ever to be judged again.
    pub async fn formation(
        &mut self,
        vehicles: &[Vehicle],
        on: Option<Day>,
    ) -> Result<Result<Vec<CarInTrain>, NotFound>, StoreError> {
        let mut formations = self.formations(&[vehicles], on).await?;
        Ok(formations.pop().unwrap_or_else(|| Ok(Vec::new())))
    }

    /// The same for several formations, in their order: as many statements for all together.
    pub async fn formations(
        &mut self,
        wanted: &[&[Vehicle]],
        on: Option<Day>,
    ) -> Result<Vec<Result<Vec<CarInTrain>, NotFound>>, StoreError> {
        let documents = Arc::clone(&self.documents);
        let asked = (wanted, on);
        // Boxed, as many handlers wait for it: the compiler goes through it once.
        let found = formations(&mut self.tx, &documents, asked).boxed();
        let mut found = found.await?;
        if self.ever_doubted && on.is_some() {
            let all = found.iter_mut().flatten().flatten().collect();
            tell_doubts(&mut self.tx, all).await?;
        }
        Ok(found)
    }
}

/// The cars of several formations, in their order, as [`View::formation`] has them.
pub(crate) async fn formations(
    tx: &mut Tx,
    documents: &Documents,
    (formations, on): (&[&[Vehicle]], Option<Day>),
) -> Result<Vec<Result<Vec<CarInTrain>, NotFound>>, StoreError> {
    let all: Vec<&Vehicle> = formations.iter().copied().flatten().collect();
    let units = units_of(tx, &all).await?;
    let places: Vec<Result<Vec<OrderedCar>, NotFound>> = formations
        .iter()
        .map(|vehicles| places(vehicles, &units))
        .collect();
    let known = places.iter().flatten().flatten();
    let numbers: BTreeSet<&CarNumber> = known.map(|place| &place.car).collect();
    let numbers: Vec<CarNumber> = numbers.into_iter().cloned().collect();
    if numbers.is_empty() {
        return Ok(places
            .into_iter()
            .map(|found| found.map(|_| Vec::new()))
            .collect());
    }
    let records = cars_of(tx, &numbers).await?;
    let places_told = needy_places(documents, &records);
    let day = on.unwrap_or(Day::EARLIEST);
    let cars = Cars {
        carrying: on_cars(tx, &numbers, (&places_told, day)).await?,
        records,
        isolations: in_force_on(tx, &numbers).await?,
        overdue_on: on,
    };
    let places = places.into_iter();
    let mut found: Vec<Result<Vec<CarInTrain>, NotFound>> = places
        .map(|found| found.and_then(|p| cars.place(p)))
        .collect();
    if let Some(on) = on {
        let all = found.iter_mut().flatten().flatten().collect();
        tell_vacated(tx, documents, (all, on, Instant::LATEST)).await?;
    }
    Ok(found)
}

/// The places on cars where an assembly may stand that does not go on a car without what is inside.
fn needy_places(
    documents: &Documents,
    records: &HashMap<CarNumber, (CarRecord, Option<Seq>)>,
) -> BTreeSet<PositionCode> {
    let types = records.values().map(|(record, _)| &record.car.car_type);
    let types: BTreeSet<&CarTypeName> = types.collect();
    let needy = types.into_iter().map(|name| documents.needy_places(name));
    needy.flatten().collect()
}

async fn units_of(
    tx: &mut Tx,
    vehicles: &[&Vehicle],
) -> Result<HashMap<UnitNumber, Vec<OrderedCar>>, StoreError> {
    let numbers: Vec<&UnitNumber> = vehicles
        .iter()
        .filter_map(|vehicle| match vehicle {
            Vehicle::Unit(number, _) => Some(number),
            Vehicle::Car(..) => None,
        })
        .collect();
    let mut units: HashMap<UnitNumber, Vec<OrderedCar>> = HashMap::new();
    if numbers.is_empty() {
        return Ok(units);
    }
    let rows: Vec<CarRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(CAR_COLUMNS).push(" from car where car.unit_number in (");
        let mut list = query.separated(", ");
        for number in &numbers {
            list.push_bind(number.as_str());
        }
        query.push(") order by car.unit_number, car.unit_place");
        query.build_query_as().fetch_all(conn).await
    })?;
    for row in rows {
        let record = row.record()?;
        if let Some(Membership {
            unit, orientation, ..
        }) = record.unit
        {
            let place = OrderedCar {
                car: record.car.number,
                orientation,
            };
            units.entry(unit).or_default().push(place);
        }
    }
    Ok(units)
}

/// Cars by number, each with the last entry that ended a cut-out on it.
pub(super) async fn cars_of(
    tx: &mut Tx,
    numbers: &[CarNumber],
) -> Result<HashMap<CarNumber, (CarRecord, Option<Seq>)>, StoreError> {
    let rows: Vec<Both<CarRow, Restored>> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(CAR_COLUMNS).push(RESTORED).push(" from car where car.number in (");
        let mut list = query.separated(", ");
        for number in numbers {
            list.push_bind(number.as_str());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut records = HashMap::new();
    for Both(row, restored) in rows {
        let record = row.record()?;
        let number = record.car.number.clone();
        records.insert(number, (record, restored.restored_by.map(Seq)));
    }
    Ok(records)
}
