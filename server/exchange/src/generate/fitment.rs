//! What was fitted at each position of a car over the history.

use super::car::OnCar;
use super::chance::Chance;
use super::component::{Arrival, Component, SinceBirth};
use super::names;
use super::sink::Maybe;
use super::span::Moment;
use super::troubles::{FAILED, OVERDUE, SOON_DUE, SPARES};
use super::{Generator, Result};
use crate::columns::FITMENTS;
use domain::configuration::car_type::Position;
use domain::configuration::component::{Condition, RemovalReason};
use domain::identity::PartNumber;
use domain::time::Day;

/// A position of a car with the components that were fitted there, one after the other.
pub(super) struct Fitted<'a> {
    pub(super) position: &'a Position,
    pub(super) stays: Vec<Stay>,
}

/// A component at a position over a period.
pub(super) struct Stay {
    pub(super) component: Component,
    pub(super) from: Moment,
    pub(super) end: Option<End>,
    pub(super) reason: &'static str,
    /// The concession that allows it, if it needs one.
    pub(super) concession: Option<String>,
    pub(super) fate: Fate,
}

/// What became of a component after a stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fate {
    /// It is fitted, or its further way is known.
    Settled,
    /// It came off worn and waits in the workshop.
    Waits,
}

/// How a stay ended.
pub(super) struct End {
    pub(super) at: Moment,
    pub(super) reason: RemovalReason,
    pub(super) to: String,
    pub(super) condition: Condition,
}

impl Stay {
    pub(super) fn new(component: Component, from: Moment) -> Self {
        Self {
            component,
            from,
            end: None,
            reason: "",
            concession: None,
            fate: Fate::Settled,
        }
    }
}

impl Fitted<'_> {
    /// The stay that lasts, if the position is not empty.
    pub(super) fn current(&self) -> Option<&Stay> {
        self.stays.last().filter(|stay| stay.end.is_none())
    }

    /// The only stay there ever was, if it lasts: nothing has happened here yet.
    pub(super) fn untouched(&mut self) -> Option<&mut Stay> {
        match self.stays.as_mut_slice() {
            [stay] if stay.end.is_none() => Some(stay),
            _ => None,
        }
    }
}

/// How many days before the history the first components came into the register.
const RECEIVED_BEFORE: i64 = 7;
/// The oldest component, in days.
const AGE_MAX_DAYS: i64 = 9_000;

impl Generator<'_> {
    /// Fits all positions of a car, lets happen what happens, and writes the fitments.
    pub(super) fn fit_car<'a>(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'a>,
    ) -> Result<Vec<Fitted<'a>>> {
        let mut all = Vec::new();
        for position in &on_car.car.car_type.positions {
            let part = if chance.per_mille(850) {
                position.approved.first()
            } else {
                chance.pick(&position.approved)
            };
            let stays = match part {
                Some(part) => self.stays(chance, on_car, part)?,
                None => Vec::new(),
            };
            all.push(Fitted { position, stays });
        }
        self.disturb(chance, on_car, &mut all)?;
        self.fit_substitute(on_car, &mut all)?;
        for fitted in &all {
            self.summary.fitted += u64::from(fitted.current().is_some());
            for stay in &fitted.stays {
                self.write_fitment(&on_car.car.number, fitted.position, stay)?;
            }
        }
        self.write_settings(on_car, &all)?;
        self.write_embodied(&all)?;
        self.asked.note(&on_car.car.number, &all);
        self.write_fates(chance, on_car, &mut all)?;
        Ok(all)
    }

    /// The components of a part at a position: one all the time, or one that was exchanged
    /// when it fell due or failed, and its successor.
    fn stays(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        part: &PartNumber,
    ) -> Result<Vec<Stay>> {
        let begins = self.span.begins;
        let interval = self.plan.exchange(part, on_car.life.rates).map(|e| e.days);
        let age = age(chance, interval);
        let failed = chance.per_mille(FAILED);
        if self.span.days() + RECEIVED_BEFORE <= age && !failed {
            let component = self.initial(chance, on_car, part, self.span.ago(age))?;
            return Ok(vec![Stay::new(component, Moment::start_of(begins))]);
        }
        let in_store = chance.between(6, interval.unwrap_or(1_000).min(1_000) / 10 + 6);
        let latest = self.span.days() - 30;
        let (reason, days_ago) = if failed {
            (RemovalReason::Failed, chance.between(10, latest))
        } else {
            (RemovalReason::Due, (age - in_store).clamp(3, latest))
        };
        let day = self.span.ago(days_ago);
        let worn = interval.unwrap_or(2_000) * chance.between(950, 1_030) / 1_000;
        let before = begins.plus_days(-chance.between(60, 600));
        let born = day.plus_days(-worn.min(AGE_MAX_DAYS)).min(before);
        let component = self.initial(chance, on_car, part, born)?;
        let mut first = Stay::new(component, Moment::start_of(begins));
        let judged = chance.per_mille(800);
        first.end = Some(End {
            at: Moment::removal_on(day),
            reason,
            to: names::workshop(on_car.depot),
            condition: if judged {
                Condition::Unserviceable
            } else {
                Condition::RemovedToBeJudged
            },
        });
        let successor = self.successor(chance, on_car, part, (day, in_store))?;
        Ok(vec![first, successor])
    }

    /// A component that was on the car when the register began.
    fn initial(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        part: &PartNumber,
        born: Day,
    ) -> Result<Component> {
        let arrival = Arrival {
            born,
            since: SinceBirth::InUse,
            received: self.span.begins.plus_days(-RECEIVED_BEFORE),
            condition: Condition::Serviceable,
            location: names::store(on_car.depot),
        };
        self.receive(chance, part, &on_car.life, &arrival)
    }

    /// A component that takes a place which became empty that day: one that was overhauled
    /// before, or a new one after so many days in store since it was made or overhauled.
    pub(super) fn successor(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        part: &PartNumber,
        (day, in_store): (Day, i64),
    ) -> Result<Stay> {
        if let Some(component) = self.stock.take(part, day) {
            return Ok(Stay::new(component, Moment::fitting_on(day)));
        }
        let arrival = Arrival {
            born: day.plus_days(-in_store),
            since: SinceBirth::InStore,
            received: day.plus_days(-chance.between(1, in_store - 1)),
            condition: Condition::Serviceable,
            location: names::store(on_car.depot),
        };
        let component = self.receive(chance, part, &on_car.life, &arrival)?;
        Ok(Stay::new(component, Moment::fitting_on(day)))
    }

    fn write_fitment(&mut self, car: &str, position: &Position, stay: &Stay) -> Result<()> {
        let end = stay.end.as_ref();
        self.write(
            &FITMENTS,
            &[
                ("car", &car),
                ("position", &position.code),
                ("part", &stay.component.part),
                ("serial", &stay.component.serial),
                ("from", &stay.from),
                ("until", &Maybe(end.map(|end| end.at))),
                ("removal_reason", &Maybe(end.map(|end| end.reason.name()))),
                ("removed_to", &Maybe(end.map(|end| &end.to))),
                (
                    "condition_after",
                    &Maybe(end.map(|end| end.condition.name())),
                ),
                ("concession", &Maybe(stay.concession.as_ref())),
                ("reason", &stay.reason),
            ],
        )
    }

    /// Writes components in stores, in the workshop and in quarantine.
    pub(super) fn write_spares(&mut self, chance: &mut Chance, on_car: &OnCar<'_>) -> Result<()> {
        for position in &on_car.car.car_type.positions {
            let Some(part) = chance
                .pick(&position.approved)
                .filter(|_| chance.per_mille(SPARES))
            else {
                continue;
            };
            let depot = on_car.depot;
            let (condition, location) = match chance.between(0, 19) {
                0..=13 => (Condition::Serviceable, names::store(depot)),
                14..=15 => (Condition::RemovedToBeJudged, names::workshop(depot)),
                16..=17 => (Condition::Unserviceable, names::workshop(depot)),
                18 => (Condition::Quarantined, names::quarantine(depot)),
                _ => (Condition::Scrapped, names::workshop(depot)),
            };
            let received = self.span.ago(chance.between(10, 250));
            let arrival = Arrival {
                born: received.plus_days(-chance.between(20, 300)),
                since: match condition {
                    Condition::Serviceable => SinceBirth::InStore,
                    _ => SinceBirth::InUse,
                },
                received,
                condition,
                location,
            };
            let component = self.receive(chance, part, &on_car.life, &arrival)?;
            if condition == Condition::Quarantined {
                self.hold(on_car, &component)?;
            }
        }
        Ok(())
    }
}

/// How old a component is now, since it was made or overhauled.
fn age(chance: &mut Chance, interval: Option<i64>) -> i64 {
    let Some(interval) = interval else {
        return chance.between(200, 4_500);
    };
    let state = chance.between(0, 999);
    let used = match state {
        _ if state < OVERDUE => chance.between(1_001, 1_080),
        _ if state < OVERDUE + SOON_DUE => chance.between(935, 999),
        _ => chance.between(30, 930),
    };
    (interval.saturating_mul(used) / 1_000).min(AGE_MAX_DAYS)
}
