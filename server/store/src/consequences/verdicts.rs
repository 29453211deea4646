//! Decisions of the past as an entry told late leaves them: which there are, and what is found for
//! each of their moments before and after the entry.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::decisions::{DECISION_COLUMNS, DecisionRow};
use crate::error::StoreError;
use crate::ledger::EntryRow;
use crate::read::formation_then::cars_then;
use crate::shape::padded;
use domain::configuration::car::{OrderedCar, Unit, Vehicle};
use domain::decision::seen_free::Recorded;
use domain::decision::{CutOutInTrain, Since, TrainCar};
use domain::identity::{CarNumber, TrainId, UnitNumber};
use domain::ledger::consequences::{
    Again, Asks, FOUND_AGAIN_MAX, JudgedBy, found_again, perhaps_cut_out,
};
use domain::ledger::dossier::{DecisionRecord, Documents};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::ledger::subjects::SubjectKind;
use domain::time::{Instant, Zone};
use domain::worked::Missing;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

/// The decisions of the past that an entry can change.
pub(super) struct Verdicts {
    asks: Asks,
    /// The first of them, at most [`FOUND_AGAIN_MAX`].
    pub(super) decisions: Vec<DecisionRecord>,
    /// How many more there are.
    pub(super) not_looked_at: usize,
}

/// Before or after an entry, which is not in the ledger yet.
#[derive(Clone, Copy)]
pub(super) enum Side<'a> {
    /// With the entry that it corrects.
    Before(Option<&'a Entry>),
    After(&'a Entry),
}

impl Verdicts {
    /// Finds the decisions since a moment that an entry can change. One statement; what is put in
    /// force for a type or a rule set costs linear in the decisions since then.
    pub(super) async fn find(tx: &mut Tx, asks: Asks, since: Instant) -> Result<Self, StoreError> {
        let mut found = Self {
            asks,
            decisions: Vec::new(),
            not_looked_at: 0,
        };
        let named = found.names();
        if named.as_ref().is_some_and(BTreeSet::is_empty) {
            return Ok(found);
        }
        let rows: Vec<DecisionRow> = on!(&mut *tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(DECISION_COLUMNS).push(" from decision where decision.decided_at >= ");
            query.push_bind(At(since));
            if let Some(named) = &named {
                query.push(" and decision.id in (select seq from entry_subject where false");
                for (kind, name) in named {
                    query.push(" or (kind = ").push_bind(kind.name());
                    query.push(" and name = ").push_bind(name.as_str()).push(")");
                }
                query.push(")");
            }
            query.push(" order by decision.decided_at, decision.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in &rows {
            let record = row.record()?;
            if !found.asks.concern(&record.taken) {
                continue;
            }
            if found.decisions.len() < FOUND_AGAIN_MAX {
                found.decisions.push(record);
            } else {
                found.not_looked_at += 1;
            }
        }
        Ok(found)
    }

    /// What the decisions are about, where that is known beforehand.
    fn names(&self) -> Option<BTreeSet<(SubjectKind, String)>> {
        let (train, cars) = match &self.asks {
            Asks::OfCars(cars) => (None, cars),
            Asks::Formed(train, cars) => (train.as_ref(), cars),
            Asks::Revised(_) | Asks::Ruled(_) => return None,
        };
        let train = train.map(|train| (SubjectKind::Train, train.to_string()));
        let cars = cars.iter().map(|car| (SubjectKind::Car, car.to_string()));
        Some(train.into_iter().chain(cars).collect())
    }

    /// What is found for each. At most four statements a decision, and two more where formations are
    /// told.
    pub(super) async fn found(
        &self,
        tx: &mut Tx,
        (documents, zone): (&Documents, &Zone),
        side: Side<'_>,
    ) -> Result<BTreeMap<Seq, Again>, StoreError> {
        let judged_by = match side {
            Side::Before(_) => JudgedBy::AsTaken,
            Side::After(_) => self.asks.judged_by(),
        };
        let mut all = BTreeMap::new();
        for record in &self.decisions {
            let (taken, at) = (&record.taken, record.at);
            let places = match &self.asks {
                Asks::Formed(..) => formed(tx, (&taken.train, at), (side, zone)).await?,
                Asks::OfCars(_) | Asks::Revised(_) | Asks::Ruled(_) => {
                    let cars = taken.found.cars.iter().map(|car| OrderedCar {
                        car: car.number.clone(),
                        orientation: car.orientation,
                    });
                    Ok(cars.collect())
                }
            };
            let cars = match places {
                Ok(places) => cars_then(tx, (documents, zone), (&places, at)).await?,
                Err(missing) => Err(missing),
            };
            let cars = cars.map(|cars| side.perhaps(cars, at));
            let decision = (taken, (at, zone.day_of(at)));
            let again = found_again(documents, cars, decision, judged_by);
            all.insert(record.id, again);
        }
        Ok(all)
    }
}

/// Whether a decision about any of some cars was taken after a moment, be it void by now. One
/// statement, none without a car; looks at the decisions that were recorded since.
pub(crate) async fn decided_since(
    tx: &mut Tx,
    cars: &BTreeSet<CarNumber>,
    since: Instant,
) -> Result<bool, StoreError> {
    if cars.is_empty() {
        return Ok(false);
    }
    let cars: Vec<&CarNumber> = cars.iter().collect();
    let found: Option<i64> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select decision.id from decision cross join decision_car where decision.id > coalesce((select ledger.seq from ledger where ledger.recorded_at < ");
        query.push_bind(At(since)).push(" order by ledger.recorded_at desc, ledger.seq desc limit 1), 0) and decision.decided_at > ").push_bind(At(since));
        query.push(" and decision_car.decision_id = decision.id and decision_car.car_number in (");
        let mut list = query.separated(", ");
        for car in padded(&cars) {
            list.push_bind(car.map(|car| car.as_str()));
        }
        query.push(") limit 1");
        query.build_query_scalar().fetch_optional(conn).await
    })?;
    Ok(found.is_some())
}

/// The cars of a train as it was formed by a moment, by what was told before or after an entry.
async fn formed(
    tx: &mut Tx,
    (train, at): (&TrainId, Instant),
    (side, zone): (Side<'_>, &Zone),
) -> Result<Result<Vec<OrderedCar>, Missing>, StoreError> {
    let mut trains = formations(tx, (SubjectKind::Train, &[train.to_string()]), at).await?;
    side.tell(&mut trains, at);
    let of_train = trains.iter().filter_map(|entry| match &entry.fact {
        Fact::TrainFormed(formed) if formed.id == *train => Some((entry, formed)),
        _ => None,
    });
    let last = of_train.max_by_key(|(entry, _)| (entry.effective_at, entry.seq));
    let Some((_, formation)) = last else {
        let missing = Missing::one("formation", format!("train {train} at {}", zone.told(at)));
        return Ok(Err(missing));
    };
    let named = formation
        .vehicles
        .iter()
        .filter_map(|vehicle| match vehicle {
            Vehicle::Unit(unit, _) => Some(unit.to_string()),
            Vehicle::Car(..) => None,
        });
    let named: Vec<String> = named.collect();
    let mut units = formations(tx, (SubjectKind::Unit, &named), at).await?;
    side.tell(&mut units, at);
    let unit = |number: &UnitNumber| -> Option<&Unit> {
        let of_unit = units.iter().filter_map(|entry| match &entry.fact {
            Fact::UnitFormed(formed) if formed.number == *number => Some((entry, formed)),
            _ => None,
        });
        let last = of_unit.max_by_key(|(entry, _)| (entry.effective_at, entry.seq));
        last.map(|(_, formed)| formed)
    };
    let places = formation.vehicles.iter().flat_map(|vehicle| {
        vehicle.cars(|number| unit(number).map_or_else(Vec::new, |unit| unit.cars.clone()))
    });
    Ok(Ok(places.collect()))
}

impl Side<'_> {
    /// The cars as they may have stood at a moment: with what was found cut out later, and nobody saw
    /// made.
    fn perhaps(self, mut cars: Vec<TrainCar>, at: Instant) -> Vec<TrainCar> {
        let (Side::Before(Some(entry)) | Side::After(entry)) = self else {
            return cars;
        };
        let Some(cut_out) = perhaps_cut_out(entry, at) else {
            return cars;
        };
        for car in cars.iter_mut().filter(|car| car.number == cut_out.at.car) {
            let position = &cut_out.at.position;
            if car.cut_outs.iter().all(|known| known.position != *position) {
                car.cut_outs.push(CutOutInTrain {
                    position: position.clone(),
                    state: cut_out.state,
                    since: Some(Since {
                        at: entry.effective_at,
                        not_before: cut_out.not_before,
                    }),
                    recorded: Some(Recorded {
                        by: entry.seq,
                        pads_free: None,
                        pressure_read: None,
                    }),
                });
            }
        }
        cars
    }

    /// Adds the entry itself, where it is told and was so by a moment, and leaves out what it corrects.
    fn tell(self, entries: &mut Vec<Entry>, at: Instant) {
        let Side::After(told) = self else { return };
        entries.retain(|entry| Some(entry.seq) != told.corrects);
        if told.effective_at <= at {
            entries.push(told.clone());
        }
    }
}

/// The entries about some trains or units that had become true by a moment. One statement, none
/// where nothing is asked for.
async fn formations(
    tx: &mut Tx,
    (kind, names): (SubjectKind, &[String]),
    at: Instant,
) -> Result<Vec<Entry>, StoreError> {
    if names.is_empty() {
        return Ok(Vec::new());
    }
    let rows: Vec<EntryRow> = on!(&mut *tx, conn => {
        let mut query = QueryBuilder::new("select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash from entry_subject join ledger on ledger.seq = entry_subject.seq where ledger.kind in ('train_formed', 'unit_formed') and not exists (select 1 from ledger later where later.corrects = ledger.seq) and ledger.effective_at <= ");
        query.push_bind(At(at)).push(" and entry_subject.kind = ").push_bind(kind.name());
        query.push(" and entry_subject.name in (");
        let mut list = query.separated(", ");
        for name in names {
            list.push_bind(name.as_str());
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let entries: Result<Vec<_>, sqlx::Error> = rows.iter().map(EntryRow::entry).collect();
    Ok(entries?)
}
