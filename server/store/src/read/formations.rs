//! The formation of any train as a decision needs it.

use super::View;
use super::board::in_force_on;
use super::on_cars::{OnCar, on_cars};
use crate::connect::{Tx, on};
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::row::{Both, parsed, row};
use domain::configuration::car::{Car, OrderedCar, Vehicle};
use domain::configuration::filled::FilledPositions;
use domain::decision::checks::CheckKind;
use domain::decision::conceded::{DepartsThere, conceded};
use domain::decision::failed_test::FailedTest;
use domain::decision::follow_up::ConfirmedCheck;
use domain::decision::formation::{FormationText, NamedVehicle, Unresolved};
use domain::decision::not_conceded::{KnownOtherwise, not_conceded};
use domain::decision::seen_free::{Recorded, SeenFree};
use domain::decision::shortcoming::{FittedTold, incomplete, shortcomings};
use domain::decision::{CutOutInTrain, Since, TrainCar};
use domain::identity::{CarNumber, CarTypeName, PositionCode, UnitNumber};
use domain::ledger::dossier::{CarRecord, Documents, IsolationRecord, Membership};
use domain::ledger::entry::Seq;
use domain::time::Day;
use domain::worked::Missing;
use futures_util::FutureExt;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};
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
    /// The cut-outs in force on it.
    pub isolations: Vec<IsolationRecord>,
    /// The checks confirmed for them.
    pub confirmed: Vec<ConfirmedCheck>,
    /// The last entry that ended a cut-out on it.
    pub restored_by: Option<Seq>,
}

impl CarInTrain {
    /// Who last confirmed that the pads or blocks behind a cut-out are free.
    fn seen_free(&self, isolation: Seq) -> Option<SeenFree> {
        let confirmed = self.confirmed.iter();
        let of_this =
            confirmed.filter(|one| one.isolation == isolation && one.check == CheckKind::PadsFree);
        let last = of_this.max_by_key(|one| one.by)?;
        Some(SeenFree {
            at: last.at,
            by: last.person.clone(),
        })
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
            recorded: Some(Recorded {
                by: isolation.id,
                pads_free: self.seen_free(isolation.id),
            }),
        });
        let shortcomings = shortcomings(documents, &self.told, &self.filled);
        let mut vacant = circuit.vacant(&self.filled);
        let known = KnownOtherwise {
            filled: &self.filled,
            vacant: &vacant,
            shortcomings: &shortcomings,
        };
        let not_conceded = not_conceded(&self.departs, &known, on);
        vacant.extend(incomplete(circuit.positions(), &shortcomings));
        Ok(TrainCar {
            number: number.clone(),
            orientation: self.place.orientation,
            circuit: Arc::clone(circuit),
            vacant,
            shortcomings,
            conceded: conceded(documents, &self.departs, on),
            not_conceded,
            failed_tests: self.failed_tests.clone(),
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
                isolations,
                confirmed: confirmed.concat(),
                restored_by: *restored_by,
                place,
            });
        }
        Ok(cars)
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

row!(NameRow {
    kind: String,
    name: String
});

row!(Restored {
    restored_by: Option<i64>
});

/// The column of [`Restored`].
const RESTORED: &str = ", (select max(isolation.ended_by) from isolation where isolation.car_id = car.id) as restored_by";

impl View {
    /// Which units and cars a text names: one statement.
    pub async fn vehicles(
        &mut self,
        formation: &FormationText,
    ) -> Result<Result<Vec<Vehicle>, Unresolved>, StoreError> {
        let named = formation.vehicles();
        let units: Vec<UnitNumber> = named.iter().filter_map(NamedVehicle::unit).collect();
        let cars: Vec<CarNumber> = named.iter().filter_map(NamedVehicle::car).collect();
        let rows: Vec<NameRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select 'unit' as kind, number as name from unit where number in (");
            let mut list = query.separated(", ");
            list.push_bind("");
            for unit in &units {
                list.push_bind(unit.as_str());
            }
            query.push(") union all select 'car', number from car where number in (");
            let mut list = query.separated(", ");
            list.push_bind("");
            for car in &cars {
                list.push_bind(car.as_str());
            }
            query.push(")");
            query.build_query_as().fetch_all(conn).await
        })?;
        let (mut units, mut cars) = (BTreeSet::new(), BTreeSet::new());
        for row in rows {
            match row.kind.as_str() {
                "unit" => drop(units.insert(parsed(&row.name)?)),
                _ => drop(cars.insert(parsed(&row.name)?)),
            }
        }
        Ok(named
            .iter()
            .map(|vehicle| vehicle.resolve(&units, &cars))
            .collect())
    }

    /// The cars of a formation in order, with what is fitted and what is cut out: four
    /// statements, linear in the cars. Units are as they are formed now.
    pub async fn formation(
        &mut self,
        vehicles: &[Vehicle],
    ) -> Result<Result<Vec<CarInTrain>, NotFound>, StoreError> {
        let mut formations = self.formations(&[vehicles]).await?;
        Ok(formations.pop().unwrap_or_else(|| Ok(Vec::new())))
    }

    /// The same for several formations, in their order: four statements for all together.
    pub async fn formations(
        &mut self,
        wanted: &[&[Vehicle]],
    ) -> Result<Vec<Result<Vec<CarInTrain>, NotFound>>, StoreError> {
        let documents = Arc::clone(&self.documents);
        // Boxed, as many handlers wait for it: the compiler goes through it once.
        formations(&mut self.tx, &documents, wanted).boxed().await
    }
}

/// The cars of several formations, in their order: four statements for all together.
pub(crate) async fn formations(
    tx: &mut Tx,
    documents: &Documents,
    formations: &[&[Vehicle]],
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
    let cars = Cars {
        carrying: on_cars(tx, &numbers, &places_told).await?,
        records,
        isolations: in_force_on(tx, &numbers).await?,
    };
    let formations = places
        .into_iter()
        .map(|found| found.and_then(|p| cars.place(p)));
    Ok(formations.collect())
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
