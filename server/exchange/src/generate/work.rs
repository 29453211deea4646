//! Work that was done, on components and on cars.

use super::car::OnCar;
use super::chance::Chance;
use super::fitment::Fitted;
use super::troubles::TASK_OVERDUE;
use super::{Generator, Result};
use crate::columns::TASKS_DONE;
use domain::identity::{PartNumber, TaskCode};
use domain::time::Day;
use std::collections::HashMap;
use std::fmt::Display;

/// Intervals longer than this are not recorded for components whose first one still runs.
const LONG_INTERVAL_DAYS: i64 = 730;
/// The most times that a task on a car is recorded.
const TIMES_MAX: usize = 400;

impl Generator<'_> {
    /// Writes when the tasks on the fitted components were last done: components of one part
    /// on one car together, unless they came later.
    pub(super) fn write_work_on_components(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        all: &[Fitted<'_>],
    ) -> Result<()> {
        let mut last: HashMap<(PartNumber, &TaskCode), Option<Day>> = HashMap::new();
        for stay in all.iter().filter_map(Fitted::current) {
            let component = &stay.component;
            self.summary.tasks += self.plan.count_of_part(&component.part);
            for (task, interval) in self.plan.on_car(&component.part, on_car.life.rates) {
                let key = (component.part.clone(), task);
                let done = *last
                    .entry(key)
                    .or_insert_with(|| self.last_done(chance, interval));
                let age = component.born.days_until(self.span.as_at);
                let first_runs = LONG_INTERVAL_DAYS < interval && age < interval * 9 / 10;
                if let Some(day) = done.filter(|day| stay.from.day < *day && !first_runs) {
                    let subject: [(&str, &dyn Display); 2] =
                        [("part", &component.part), ("serial", &component.serial)];
                    self.write_done(task, day, &subject)?;
                }
            }
        }
        Ok(())
    }

    /// The day on which a task was last done within the history.
    fn last_done(&self, chance: &mut Chance, interval: i64) -> Option<Day> {
        let used = if chance.per_mille(TASK_OVERDUE) {
            chance.between(1_001, 1_150)
        } else {
            chance.between(20, 990)
        };
        let days = interval.saturating_mul(used) / 1_000;
        let latest = self.span.days() - 2;
        if days <= latest {
            Some(self.span.ago(days.max(1)))
        } else if used < 1_000 {
            Some(self.span.ago(chance.between(30, latest)))
        } else {
            None
        }
    }

    /// Writes every time that the tasks on a car as a whole were done.
    pub(super) fn write_work_on_car(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
    ) -> Result<()> {
        let car = on_car.car;
        for (task, interval) in self.plan.of_car(car.car_type, on_car.life.rates) {
            self.summary.tasks += 1;
            let mut days = Vec::new();
            let mut next = self.last_done(chance, interval);
            while let Some(day) = next.filter(|day| self.span.begins < *day) {
                days.push(day);
                let before = interval.saturating_mul(chance.between(850, 1_000)) / 1_000;
                next = (days.len() < TIMES_MAX).then(|| day.plus_days(-before.max(1)));
            }
            for day in days.into_iter().rev() {
                self.write_done(task, day, &[("car", &car.number)])?;
            }
        }
        Ok(())
    }

    fn write_done(
        &mut self,
        task: &TaskCode,
        day: Day,
        subject: &[(&str, &dyn Display)],
    ) -> Result<()> {
        self.orders += 1;
        let evidence = format!("order {}", 100_000 + self.orders);
        let mut values: Vec<(&str, &dyn Display)> = subject.to_vec();
        values.extend([
            ("task", task as &dyn Display),
            ("at", &day),
            ("evidence", &evidence),
        ]);
        self.write(&TASKS_DONE, &values)
    }
}
