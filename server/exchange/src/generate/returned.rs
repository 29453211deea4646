//! What became of components that came off: overhauled and in the store or on another car,
//! scrapped, or found good and back where they were.

use super::car::OnCar;
use super::chance::Chance;
use super::component::Component;
use super::disturbance::{TRAVELLING_MAX, Travelling, any_untouched};
use super::fitment::{End, Fitted, Stay};
use super::names;
use super::plan::CountsFromBirth;
use super::span::Moment;
use super::test_record::Tested;
use super::troubles::{FITTED_AGAIN, WORKED_ON};
use super::{Generator, Result};
use crate::columns::{CONDITIONS, RELOCATIONS};
use domain::configuration::component::{Condition, RemovalReason};
use domain::time::Day;
use std::fmt::Display;

/// The days that an overhaul takes, with waiting for it.
const OVERHAUL_DAYS: (i64, i64) = (20, 90);

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
        all: &[Fitted<'_>],
    ) -> Result<()> {
        for stay in all.iter().flat_map(|fitted| &fitted.stays) {
            match &stay.end {
                Some(end) if end.reason == RemovalReason::Suspected => {
                    let at = judging_on(end.at.day.plus_days(1));
                    let evidence = format!("bench test without finding, {}", self.next_order());
                    self.judge(&stay.component, (at, Condition::Serviceable), &evidence)?;
                }
                Some(end) if end.condition != Condition::Serviceable => {
                    self.write_fate(chance, on_car, (&stay.component, end))?;
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Writes what became of a worn component, if it has been worked on.
    fn write_fate(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        (component, end): (&Component, &End),
    ) -> Result<()> {
        let (least, most) = OVERHAUL_DAYS;
        let ready = end.at.day.plus_days(chance.between(least, most));
        if !chance.per_mille(WORKED_ON) || self.span.ago(2) <= ready {
            return Ok(());
        }
        if end.condition == Condition::RemovedToBeJudged {
            let opened = judging_on(end.at.day.plus_days(chance.between(2, least - 1)));
            let evidence = format!("opened in the workshop, {}", self.next_order());
            self.judge(component, (opened, Condition::Unserviceable), &evidence)?;
        }
        let exchange = self.plan.exchange(&component.part, on_car.life.rates);
        if exchange.is_some_and(|exchange| exchange.from == CountsFromBirth::Made) {
            let scrapped = (judging_on(ready), Condition::Scrapped);
            return self.judge(component, scrapped, &"end of its life");
        }
        let work = match self.plan.overhaul(&component.part) {
            Some(overhaul) => {
                let done = Moment::start_of(ready);
                self.write_done(overhaul, done, Tested::Component(component), None)?;
                "overhaul"
            }
            None => "repair",
        };
        let evidence = format!("release {} of {ready} after {work}", component.serial);
        let good = (judging_on(ready), Condition::Serviceable);
        self.judge(component, good, &evidence)?;
        if chance.per_mille(FITTED_AGAIN) && self.travelling.len() < TRAVELLING_MAX {
            let arrives = ready.plus_days(chance.between(5, 150));
            if arrives < self.span.ago(2) {
                let mut component = component.clone();
                component.born = ready;
                self.travelling.push(Travelling {
                    component,
                    arrives,
                    reason: "",
                });
                return Ok(());
            }
        }
        self.relocate(component, &names::store(on_car.depot), ready.plus_days(1))
    }

    fn relocate(&mut self, component: &Component, to: &str, day: Day) -> Result<()> {
        self.write(
            &RELOCATIONS,
            &[
                ("part", &component.part),
                ("serial", &component.serial),
                ("to", &to),
                ("at", &Moment::removal_on(day)),
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
