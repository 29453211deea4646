//! What became of components that came off: overhauled and in the store or on another car,
//! scrapped, or found good and back where they were.

use super::car::OnCar;
use super::chance::Chance;
use super::component::{Component, SinceBirth};
use super::disturbance::any_untouched;
use super::fitment::{End, Fate, Fitted, Stay};
use super::names;
use super::plan::CountsFromBirth;
use super::span::Moment;
use super::stock::Ready;
use super::test_record::Tested;
use super::troubles::WORKED_ON;
use super::{Generator, Result};
use crate::columns::{CONDITIONS, RELOCATIONS};
use domain::configuration::component::{Condition, RemovalReason};
use domain::time::Day;
use std::fmt::Display;

/// The days that an overhaul takes, with waiting for it.
const OVERHAUL_DAYS: (i64, i64) = (10, 60);
/// After so many days everything has been worked on.
const WAITING_DAYS_MAX: i64 = 150;

/// When somebody judges a component on a day.
fn judging_on(day: Day) -> Moment {
    let minute = 14 * 60;
    Moment { day, minute }
}

impl Generator<'_> {
    /// Lets a component be taken off on suspicion, found good, and fitted again two days later.
    pub(super) fn suspect(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        all: &mut [Fitted<'_>],
    ) {
        let day = self.span.ago(chance.between(10, self.span.days() - 30));
        let Some(fitted) = any_untouched(chance, all) else {
            return;
        };
        let Some(stay) = fitted.untouched() else {
            return;
        };
        stay.end = Some(End {
            at: Moment::removal_on(day),
            reason: RemovalReason::Suspected,
            to: names::workshop(on_car.depot),
            condition: Condition::RemovedToBeJudged,
        });
        let again = Moment::fitting_on(day.plus_days(2));
        let mut back = Stay::new(stay.component.clone(), again);
        back.reason = "found good on the bench";
        fitted.stays.push(back);
    }

    /// Writes what became of the components that came off a car.
    pub(super) fn write_fates(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        all: &mut [Fitted<'_>],
    ) -> Result<()> {
        for stay in all.iter_mut().flat_map(|fitted| &mut fitted.stays) {
            match &stay.end {
                Some(end) if end.reason == RemovalReason::Suspected => {
                    let at = judging_on(end.at.day.plus_days(1));
                    let evidence = format!("bench test without finding, {}", self.next_order());
                    self.judge(&stay.component, (at, Condition::Serviceable), &evidence)?;
                }
                Some(end) if end.condition != Condition::Serviceable => {
                    stay.fate = self.write_fate(chance, on_car, (&stay.component, end))?;
                    if stay.fate == Fate::Waits {
                        self.send_away(&stay.component, end, on_car.depot)?;
                    }
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Writes what became of a worn component, if it has been worked on. What was overhauled is in
    /// the store and can take a later place.
    fn write_fate(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        (component, end): (&Component, &End),
    ) -> Result<Fate> {
        let (least, most) = OVERHAUL_DAYS;
        let ready = end.at.day.plus_days(chance.between(least, most));
        let left = !chance.per_mille(WORKED_ON) && self.span.ago(WAITING_DAYS_MAX) < end.at.day;
        if left || self.span.ago(2) <= ready {
            return Ok(Fate::Waits);
        }
        if end.condition == Condition::RemovedToBeJudged {
            let opened = judging_on(end.at.day.plus_days(chance.between(2, least - 1)));
            let evidence = format!("opened in the workshop, {}", self.next_order());
            self.judge(component, (opened, Condition::Unserviceable), &evidence)?;
        }
        let exchange = self.plan.exchange(&component.part, on_car.life.rates);
        if exchange.is_some_and(|exchange| exchange.from == CountsFromBirth::Made) {
            let scrapped = (judging_on(ready), Condition::Scrapped);
            self.judge(component, scrapped, &"end of its life")?;
            return Ok(Fate::Settled);
        }
        let work = self.restore(on_car, component, ready)?;
        let evidence = format!("release {} after {work}", component.serial);
        let good = (judging_on(ready), Condition::Serviceable);
        self.judge(component, good, &evidence)?;
        let overhauled = Component {
            born: ready,
            since: SinceBirth::InStore,
            ..component.clone()
        };
        let too_many = self.stock.put(Ready {
            component: overhauled,
            from: ready.plus_days(1),
            store: names::store(on_car.depot),
        });
        if let Some(ready) = too_many {
            self.relocate(&ready)?;
        }
        Ok(Fate::Settled)
    }

    /// Writes the work that puts a worn component right, and says what it was.
    fn restore(
        &mut self,
        on_car: &OnCar<'_>,
        component: &Component,
        ready: Day,
    ) -> Result<&'static str> {
        let (done, on) = (Moment::start_of(ready), Tested::Component(component));
        if let Some(overhaul) = self.plan.overhaul(&component.part) {
            self.write_done(overhaul, done, on, None)?;
            return Ok("overhaul");
        }
        for (task, _) in self.plan.on_car(&component.part, on_car.life.rates) {
            self.write_done(&task.code, done, on, None)?;
        }
        Ok("repair")
    }

    /// Writes that what no place was found for lies in the stores.
    pub(super) fn write_stock(&mut self) -> Result<()> {
        for ready in self.stock.empty() {
            self.relocate(&ready)?;
        }
        Ok(())
    }

    fn relocate(&mut self, ready: &Ready) -> Result<()> {
        self.write(
            &RELOCATIONS,
            &[
                ("part", &ready.component.part),
                ("serial", &ready.component.serial),
                ("to", &ready.store),
                ("at", &Moment::removal_on(ready.from)),
            ],
        )
    }

    fn judge(
        &mut self,
        component: &Component,
        (at, condition): (Moment, Condition),
        evidence: &dyn Display,
    ) -> Result<()> {
        self.write(
            &CONDITIONS,
            &[
                ("part", &component.part),
                ("serial", &component.serial),
                ("condition", &condition.name()),
                ("evidence", evidence),
                ("at", &at),
            ],
        )
    }
}
