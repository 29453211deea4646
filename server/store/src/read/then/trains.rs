//! Trains as they were told: how one was formed, with what was on its cars and cut out on them.

use super::entries::{put_in_units, units_formed};
use super::on_cars::ToldOfCars;
use crate::column::At;
use crate::connect::on;
use crate::dossier::decisions::confirmed_then;
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::read::formation_then::there;
use crate::read::formations::{CarInTrain, NotFound, places};
use crate::read::proved::tell_unproved;
use crate::read::trains::TRAINS_MAX;
use crate::read::{AsAt, View};
use domain::configuration::car::{OrderedCar, Train, Unit, Vehicle};
use domain::configuration::component::{Condition, Subject};
use domain::decision::conceded::DepartsThere;
use domain::decision::failed_test::FailedTest;
use domain::decision::overdue::Overdue;
use domain::decision::shortcoming::FittedTold;
use domain::identity::{CarNumber, TrainId, UnitNumber};
use domain::ledger::departures::{Departing, OnCar, departures};
use domain::ledger::dossier::{CarRecord, Documents, Formed, IsolationRecord};
use domain::ledger::entry::Entry;
use domain::ledger::fact::Fact;
use domain::ledger::kind::FactKind;
use domain::ledger::subjects::SubjectKind;
use domain::ledger::then::Then;
use domain::time::Zone;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet, HashMap};

impl View {
    /// A train as it was formed then; none where it was not formed yet, or where a register does not
    /// keep yet what its entries of then are about. Two statements.
    pub async fn train_told(
        &mut self,
        id: &TrainId,
        as_at: AsAt,
    ) -> Result<Option<Formed<Train>>, StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash from entry_subject join ledger on ledger.seq = entry_subject.seq left join ledger later on later.corrects = ledger.seq and later.seq <= ");
            query.push_bind(last.0);
            query.push(" where later.seq is null and ledger.kind = 'train_formed' and entry_subject.kind = ");
            query.push_bind(SubjectKind::Train.name());
            query.push(" and entry_subject.name = ").push_bind(id.as_str());
            query.push(" and ledger.seq <= ").push_bind(last.0);
            query.push(" and ledger.effective_at <= ").push_bind(At(as_at.effective));
            query.build_query_as().fetch_all(conn).await
        })?;
        let entries: Result<Vec<Entry>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
        Ok(formed(entries?).remove(id))
    }

    /// The first trains by name as they were formed then, at most [`TRAINS_MAX`], each with those formed
    /// later that cars of it were in by then. Two statements, linear in all formations that were ever
    /// recorded.
    pub async fn trains_told(&mut self, as_at: AsAt) -> Result<TrainsTold, StoreError> {
        let formations = self.formations_told(as_at).await?;
        let last = formations.last_of_cars();
        let shown = formations.trains.values().take(TRAINS_MAX);
        let told = shown.map(|train| TrainTold {
            train: train.clone(),
            formed_later: formations.formed_later(train, &last),
        });
        Ok(TrainsTold {
            trains: told.collect(),
            more: formations.trains.len().saturating_sub(TRAINS_MAX),
        })
    }

    /// The trains formed after one that cars of it were in by then, by name. Two statements, linear in all
    /// formations that were ever recorded.
    pub async fn formed_later_told(
        &mut self,
        train: &Formed<Train>,
        as_at: AsAt,
    ) -> Result<Vec<TrainId>, StoreError> {
        let formations = self.formations_told(as_at).await?;
        Ok(formations.formed_later(train, &formations.last_of_cars()))
    }

    /// All trains and units as they were formed then.
    async fn formations_told(&mut self, as_at: AsAt) -> Result<FormationsTold, StoreError> {
        let kinds = [FactKind::UnitFormed, FactKind::TrainFormed];
        let entries = self.entries_then(&kinds, as_at).await?;
        let is_of_unit = |entry: &Entry| matches!(entry.fact, Fact::UnitFormed(_));
        let (units, trains) = entries.into_iter().partition(is_of_unit);
        Ok(FormationsTold {
            units: units_formed(units),
            trains: formed(trains),
        })
    }

    /// The cars of a formation in order, units as they were formed then, with what was fitted, set and
    /// cut out on them then, as the design data of the view has it; a car that was not registered then is
    /// not found. At most eleven statements, and three more where a test was failed, linear in all that
    /// ever stood on the cars and in the units.
    pub async fn formation_told(
        &mut self,
        vehicles: &[Vehicle],
        as_at: AsAt,
    ) -> Result<Result<Vec<CarInTrain>, NotFound>, StoreError> {
        let units = self.units_told(as_at).await?;
        let of_units = units.iter();
        let of_units = of_units.map(|(number, unit)| (number.clone(), unit.cars.clone()));
        let of_units: HashMap<UnitNumber, Vec<OrderedCar>> = of_units.collect();
        let places = match places(vehicles, &of_units) {
            Ok(places) => places,
            Err(not_found) => return Ok(Err(not_found)),
        };
        let numbers: Vec<&CarNumber> = places.iter().map(|place| &place.car).collect();
        let last = self.last_recorded(as_at.known).await?;
        let records = self.cars_named(&numbers, last).await?;
        let mut records: Vec<CarRecord> = records.into_values().collect();
        records.retain(|car| car.id <= last && car.there_since <= as_at.effective);
        put_in_units(&mut records, &units);
        let cars: Vec<i64> = records.iter().map(|record| record.id.0).collect();
        let [mut told] = self.on_cars_then(&cars, [as_at]).await?;
        let cut_outs = self.cut_outs_and_work(&records, as_at).await?;
        let mut all: Vec<CarInTrain> = Vec::with_capacity(places.len());
        for place in places {
            let mut others = all.iter();
            if others.any(|other| other.place.car == place.car) {
                return Ok(Err(NotFound::Twice(place.car)));
            }
            let mut known = records.iter();
            let Some(record) = known.find(|record| record.car.number == place.car) else {
                return Ok(Err(NotFound::Car(place.car)));
            };
            let record = record.clone();
            let by = (&*self.documents, &self.zone);
            all.push(car(by, (place, record), (&mut told, &cut_outs)));
        }
        let isolations = all.iter().flat_map(|car| &car.isolations);
        let isolations: Vec<i64> = isolations.map(|isolation| isolation.id.0).collect();
        for check in confirmed_then(&mut self.tx, &isolations, (last, as_at.effective)).await? {
            let of = |isolation: &IsolationRecord| isolation.id == check.isolation;
            if let Some(car) = all.iter_mut().find(|car| car.isolations.iter().any(of)) {
                car.confirmed.push(check);
            }
        }
        let failed = all.iter_mut();
        let failed = failed.map(|car| (&car.place.car, &mut car.failed_tests));
        tell_unproved(&mut self.tx, failed.collect(), (last, as_at.effective)).await?;
        Ok(Ok(all))
    }
}

/// Trains as they were formed at a past time.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainsTold {
    /// The first, by name.
    pub trains: Vec<TrainTold>,
    /// How many more there were.
    pub more: usize,
}

/// A train as it was formed at a past time.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainTold {
    /// The train.
    pub train: Formed<Train>,
    /// The trains formed after it that cars of it were in by then: of each car the last.
    pub formed_later: Vec<TrainId>,
}

/// All trains and units as they were formed at a past time.
struct FormationsTold {
    units: BTreeMap<UnitNumber, Unit>,
    trains: BTreeMap<TrainId, Formed<Train>>,
}

impl FormationsTold {
    fn cars_of(&self, train: &Formed<Train>) -> BTreeSet<CarNumber> {
        let of_unit = |number: &UnitNumber| {
            let unit = self.units.get(number);
            unit.map_or_else(Vec::new, |unit| unit.cars.clone())
        };
        let vehicles = train.formation.vehicles.iter();
        let places = vehicles.flat_map(|one| one.cars(of_unit));
        places.map(|place| place.car).collect()
    }

    /// The train that each car was in last. Linear in the cars of all trains.
    fn last_of_cars(&self) -> HashMap<CarNumber, &Formed<Train>> {
        let mut last: HashMap<CarNumber, &Formed<Train>> = HashMap::new();
        for train in self.trains.values() {
            for car in self.cars_of(train) {
                let known = last.entry(car).or_insert(train);
                if is_later(train, known) {
                    *known = train;
                }
            }
        }
        last
    }

    /// Of these, the trains formed after one that cars of it were in, by name. Linear in its cars.
    fn formed_later(
        &self,
        train: &Formed<Train>,
        last: &HashMap<CarNumber, &Formed<Train>>,
    ) -> Vec<TrainId> {
        let cars = self.cars_of(train);
        let later = cars.iter().filter_map(|car| last.get(car));
        let later = later.filter(|other| is_later(other, train));
        let later: BTreeSet<&TrainId> = later.map(|other| &other.formation.id).collect();
        later.into_iter().cloned().collect()
    }
}

/// Whether a train was formed after another.
fn is_later(train: &Formed<Train>, other: &Formed<Train>) -> bool {
    (other.formed_at, other.by) < (train.formed_at, train.by)
}

/// What stands of the entries that formed trains: what holds from the latest time, whichever was
/// recorded last.
fn formed(mut entries: Vec<Entry>) -> BTreeMap<TrainId, Formed<Train>> {
    entries.sort_by_key(|entry| (entry.effective_at, entry.seq));
    let mut trains: BTreeMap<TrainId, Formed<Train>> = BTreeMap::new();
    for entry in entries {
        if let Fact::TrainFormed(formation) = entry.fact {
            let known = trains.get(&formation.id);
            let id = known.map_or(entry.seq, |known| known.id.min(entry.seq));
            let train = Formed {
                id,
                by: entry.seq,
                formed_at: entry.effective_at,
                formation,
            };
            trains.insert(train.formation.id.clone(), train);
        }
    }
    trains
}

/// A car of the train, with what was told of it.
fn car(
    (documents, zone): (&Documents, &Zone),
    (place, record): (OrderedCar, CarRecord),
    (told, cut_outs): (&mut ToldOfCars, &Then),
) -> CarInTrain {
    let on_car = told.on_cars.remove(&record.id.0).unwrap_or_default();
    let all = departures(
        (documents, zone),
        (&record.car, &Departing::Anywhere),
        &on_car,
    );
    let mut departs: Vec<DepartsThere> = all.into_iter().map(there).collect();
    departs.sort();
    let came_off = on_car.told.iter();
    let vacated = came_off.filter_map(|(position, at)| Some((position.clone(), (*at)?)));
    let vacated = vacated.collect();
    let told = fitted(told, &on_car);
    CarInTrain {
        filled: told.iter().map(|one| one.position.clone()).collect(),
        isolations: cut_outs.cut_outs_in_force(&place.car),
        due_at_once: cut_outs.due_at_once(&record, zone),
        overdue: Overdue::NotLookedAt,
        judge_again: Vec::new(),
        vacated,
        failed_tests: FailedTest::last_of(cut_outs.tests_of(&Subject::Car(place.car.clone()))),
        confirmed: Vec::new(),
        restored_by: None,
        place,
        record,
        told,
        departs,
    }
}

/// What stood on a car, each in its condition of then.
fn fitted(told: &ToldOfCars, on_car: &OnCar) -> Vec<FittedTold> {
    let stands = on_car.stands.iter();
    let fitted = stands.map(|(position, stands)| FittedTold {
        position: position.clone(),
        part: stands.component.part.clone(),
        condition: told
            .condition(&stands.component)
            .unwrap_or(Condition::Serviceable),
    });
    fitted.collect()
}
