//! Checks of the fleet: those that are open, those that are closed, and one with its cars.

use super::carrying::CarryingFilter;
use super::cars::limit;
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::dossier::fleet_checks::{
    CHECK_CAR_COLUMNS, CheckCarRow, FLEET_CHECK_COLUMNS, FleetCheckRow, count,
};
use crate::error::StoreError;
use crate::row::{Both, parsed, parsed_option, row};
use domain::configuration::fleet_check::{CARS_MAX, CarAnswer};
use domain::configuration::looked_for::LookedFor;
use domain::identity::{CarNumber, DepotName, UnitNumber};
use domain::ledger::dossier::{AnswerRecord, FleetCheckRecord};
use domain::ledger::entry::Seq;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

/// Checks on one page of the list.
pub const CHECKS_PAGE: usize = 50;
/// Cars on one page of a check.
pub const CHECK_CARS_PAGE: usize = 100;

/// A check and how many cars it asks.
#[derive(Debug, Clone, PartialEq)]
pub struct ListedCheck {
    /// The check, without its cars.
    pub record: FleetCheckRecord,
    /// Cars asked.
    pub cars: u32,
    /// Cars that answered, last, that they are defective.
    pub defective: u32,
}

/// A car of a check.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckCar {
    /// Which.
    pub car: CarNumber,
    /// Its unit now.
    pub unit: Option<UnitNumber>,
    /// Its depot now.
    pub depot: DepotName,
    /// Its answer, if it has one.
    pub answer: Option<AnswerRecord>,
}

/// Whether a car carries what is looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carries {
    /// It does.
    It,
    /// It may: of something on it that is not known.
    CannotBeTold,
}

/// A car that carries what is looked for or may, and since when: that of the last to come.
#[derive(Debug, Clone, Copy)]
pub(crate) struct OnCar {
    pub(crate) carries: Carries,
    pub(crate) since: Instant,
}

impl OnCar {
    /// Whether, after what a car that is asked has answered, nobody will have looked whether it is sound.
    /// That it is not on a car which carries it proves nothing; where that cannot be told, whoever
    /// looked since knows.
    fn is_left_by(self, answer: Option<&AnswerRecord>) -> bool {
        answer.is_some_and(|known| {
            known.answer == CarAnswer::NotCarried
                && (self.carries == Carries::It || known.at <= self.since)
        })
    }
}

/// How what a check looks for stands with cars.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CheckNow {
    /// The cars that carry it or may.
    pub carrying: BTreeMap<CarNumber, Carries>,
    /// Those of them of which none looked whether it is sound.
    pub not_looked_at: BTreeMap<CarNumber, Carries>,
}

impl CheckNow {
    /// What follows from what is on cars and from what the cars of the check answered.
    pub(crate) fn of(
        on_cars: &BTreeMap<CarNumber, OnCar>,
        answers: &BTreeMap<CarNumber, Option<AnswerRecord>>,
    ) -> Self {
        let carries = |(car, on_car): (&CarNumber, &OnCar)| (car.clone(), on_car.carries);
        let left = |(car, on_car): &(&CarNumber, &OnCar)| {
            let asked = answers.get(*car);
            asked.is_none_or(|answer| on_car.is_left_by(answer.as_ref()))
        };
        Self {
            carrying: on_cars.iter().map(carries).collect(),
            not_looked_at: on_cars.iter().filter(left).map(carries).collect(),
        }
    }
}

/// A check that asks a car, and is open or found it defective.
#[derive(Debug, Clone, PartialEq)]
pub struct AskedOfCar {
    /// The check.
    pub check: ListedCheck,
    /// What the car answered, last.
    pub answer: Option<AnswerRecord>,
}

impl AskedOfCar {
    /// Whether nothing is left to be done on the car: it answered, and not that it is defective.
    pub fn is_settled(&self) -> bool {
        let answer = self.answer.as_ref();
        answer.is_some_and(|answer| !answer.is_defective())
    }
}

row!(CarOfRow {
    unit_number: Option<String>,
    depot: String
});

fn listed(row: FleetCheckRow) -> Result<ListedCheck, sqlx::Error> {
    let (cars, defective) = (count(row.cars), count(row.defective));
    Ok(ListedCheck {
        record: row.record()?,
        cars,
        defective,
    })
}

impl View {
    /// All open checks, first to be answered first. Linear in them, which are few.
    pub async fn fleet_checks_open(&mut self) -> Result<Vec<ListedCheck>, StoreError> {
        let rows: Vec<FleetCheckRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FLEET_CHECK_COLUMNS);
            query.push(" from fleet_check where closed_at is null order by answer_by, id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let checks: Result<Vec<_>, _> = rows.into_iter().map(listed).collect();
        Ok(checks?)
    }

    /// Checks that are closed, last closed first, after one of them; one more than a page where
    /// there are more.
    pub async fn fleet_checks_closed(
        &mut self,
        after: Option<(Instant, Seq)>,
    ) -> Result<Vec<ListedCheck>, StoreError> {
        let rows: Vec<FleetCheckRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FLEET_CHECK_COLUMNS).push(" from fleet_check where closed_at is not null");
            if let Some((at, id)) = after {
                query.push(" and (closed_at, id) < (").push_bind(At(at));
                query.push(", ").push_bind(id.0).push(")");
            }
            query.push(" order by closed_at desc, id desc limit ").push_bind(limit(CHECKS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        let checks: Result<Vec<_>, _> = rows.into_iter().map(listed).collect();
        Ok(checks?)
    }

    /// One check, without its cars.
    pub async fn fleet_check(&mut self, id: Seq) -> Result<Option<ListedCheck>, StoreError> {
        let row: Option<FleetCheckRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FLEET_CHECK_COLUMNS).push(" from fleet_check where id = ").push_bind(id.0);
            query.build_query_as().fetch_optional(conn).await
        })?;
        Ok(row.map(listed).transpose()?)
    }

    /// The cars of a check by their numbers, after one of them; one more than asked for where
    /// there are more. Cost: the cars of the check.
    pub async fn fleet_check_cars(
        &mut self,
        id: Seq,
        (after, rows): (Option<&CarNumber>, usize),
    ) -> Result<Vec<CheckCar>, StoreError> {
        let rows: Vec<Both<CheckCarRow, CarOfRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.unit_number, car.depot, ");
            query.push(CHECK_CAR_COLUMNS);
            query.push(" from fleet_check_car join car on car.id = fleet_check_car.car_id where fleet_check_car.check_id = ");
            query.push_bind(id.0);
            if let Some(after) = after {
                query.push(" and car.number > ").push_bind(after.as_str());
            }
            query.push(" order by car.number limit ").push_bind(limit(rows));
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut cars = Vec::with_capacity(rows.len());
        for Both(row, of) in rows {
            let (car, answer) = row.answer()?;
            cars.push(CheckCar {
                car,
                unit: parsed_option(of.unit_number.as_deref())?,
                depot: parsed(&of.depot)?,
                answer,
            });
        }
        Ok(cars)
    }

    /// Which cars carry what a check looks for at a time, or may, and of which of these none looked
    /// whether it is sound: the check does not ask them, or they did not carry it when they answered.
    /// Nothing where the check does not say what it looks for. Cost: what carries it or may, and the
    /// cars of the check.
    pub async fn fleet_check_now(
        &mut self,
        check: &ListedCheck,
        as_at: AsAt,
    ) -> Result<Option<CheckNow>, StoreError> {
        let Some(sought) = &check.record.check.sought else {
            return Ok(None);
        };
        let on_cars = self.on_cars_since(sought, as_at).await?;
        let rows: Vec<CheckCarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CHECK_CAR_COLUMNS);
            query.push(" from fleet_check_car join car on car.id = fleet_check_car.car_id where fleet_check_car.check_id = ");
            query.push_bind(check.record.id.0);
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut answers = BTreeMap::new();
        for row in rows {
            let (car, answer) = row.answer()?;
            answers.insert(car, answer);
        }
        Ok(Some(CheckNow::of(&on_cars, &answers)))
    }

    /// The cars that carry what is looked for at a time, or of which that cannot be told, and since
    /// when: that of the last to come.
    pub(crate) async fn on_cars_since(
        &mut self,
        sought: &LookedFor,
        as_at: AsAt,
    ) -> Result<BTreeMap<CarNumber, OnCar>, StoreError> {
        let mut cars: BTreeMap<CarNumber, OnCar> = BTreeMap::new();
        let untold = sought.untold().map(|one| (one, Carries::CannotBeTold));
        let all = std::iter::once((sought.clone(), Carries::It)).chain(untold);
        for (looked_for, carries) in all {
            let mut filter = CarryingFilter {
                looked_for,
                as_at,
                after: None,
                rows: CARS_MAX,
            };
            loop {
                let mut rows = self.carrying(&filter).await?;
                let more = CARS_MAX < rows.len();
                rows.truncate(CARS_MAX);
                filter.after = rows.last().map(|row| row.at.clone());
                for row in rows {
                    let since = row.carried.since();
                    let known = cars.entry(row.at.car).or_insert(OnCar { carries, since });
                    known.since = since.max(known.since);
                }
                if !more {
                    break;
                }
            }
        }
        Ok(cars)
    }

    /// The open checks that ask a car, each with its answer if it has one, first to be answered
    /// first, and of the closed ones those that it answered as defective. One statement; linear in
    /// these and in the open checks, which are few.
    pub async fn fleet_checks_of_car(&mut self, car: Seq) -> Result<Vec<AskedOfCar>, StoreError> {
        let rows: Vec<Both<FleetCheckRow, CheckCarRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FLEET_CHECK_COLUMNS).push(", ").push(CHECK_CAR_COLUMNS);
            query.push(" from fleet_check join fleet_check_car on fleet_check_car.check_id = fleet_check.id join car on car.id = fleet_check_car.car_id where fleet_check_car.car_id = ");
            query.push_bind(car.0).push(" and (fleet_check.closed_at is null or fleet_check_car.answer = 'defective') order by fleet_check.answer_by, fleet_check.id");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut asked = Vec::with_capacity(rows.len());
        for Both(check, of_car) in rows {
            let (_, answer) = of_car.answer()?;
            let check = listed(check)?;
            asked.push(AskedOfCar { check, answer });
        }
        Ok(asked)
    }
}
