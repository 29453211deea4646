//! Work that was done, on components and on cars.

use super::car::OnCar;
use super::chance::Chance;
use super::component::SinceBirth;
use super::fitment::{Fate, Fitted, Stay};
use super::sink::Maybe;
use super::span::Moment;
use super::test_record::{Test, Tested};
use super::troubles::TASK_OVERDUE;
use super::wear::{self, Wear};
use super::{Generator, Result};
use crate::columns::TASKS_DONE;
use domain::due::task::{AppliesTo, ClockStart, Task, TaskKind};
use domain::identity::{PartNumber, TaskCode};
use domain::test_record::procedure::Procedure;
use domain::time::Day;
use std::collections::HashMap;

/// Intervals longer than this are not recorded for components whose first one still runs.
const LONG_INTERVAL_DAYS: i64 = 730;
/// No work is so long ago, in days.
const AGO_MAX: i64 = 10_000;
/// The most times that a task on a component is recorded.
const TIMES_ON_COMPONENT_MAX: i64 = 6;
/// The most times that a task on a car is recorded.
const TIMES_MAX: usize = 400;

impl Generator<'_> {
    /// Writes when the tasks on the fitted components, and on those that wait in the workshop,
    /// were done: components of one part on one car together, unless they came later.
    pub(super) fn write_work_on_components(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        all: &[Fitted<'_>],
    ) -> Result<()> {
        let mut last: HashMap<(PartNumber, &TaskCode), Day> = HashMap::new();
        for stay in all.iter().flat_map(|fitted| &fitted.stays) {
            let part = &stay.component.part;
            let until = match &stay.end {
                None => self.span.as_at,
                Some(end) if stay.fate == Fate::Waits => end.at.day,
                Some(_) => continue,
            };
            if stay.end.is_none() {
                self.summary.tasks += self.plan.count_of_part(part);
            }
            for (task, interval) in self.plan.on_car(part, on_car.life.rates) {
                let together = *last
                    .entry((part.clone(), &task.code))
                    .or_insert_with(|| self.last_done(chance, interval));
                let together = Some(together).filter(|day| *day < until);
                if let Some(day) = self.done_in(stay, until, (task, interval), together) {
                    self.write_times(chance, stay, task, (day, interval))?;
                }
            }
        }
        Ok(())
    }

    /// The day on which a task was last done on a component: with the others of its part, or by
    /// itself half an interval ago, where it came used and they were done before. None where its
    /// first interval still runs.
    fn done_in(
        &self,
        stay: &Stay,
        until: Day,
        (task, interval): (&Task, i64),
        together: Option<Day>,
    ) -> Option<Day> {
        let component = &stay.component;
        let from_birth = task.clock_start == ClockStart::Overhaul;
        let age = component.born.days_until(self.span.as_at);
        if from_birth && LONG_INTERVAL_DAYS < interval && age < interval * 9 / 10 {
            return None;
        }
        let fitted = stay.from.day.plus_days(1);
        let half_way = until.plus_days(-interval.min(AGO_MAX) / 2);
        match (together, component.since) {
            (Some(day), _) if fitted <= day => Some(day),
            (_, SinceBirth::InUse) if fitted < until => Some(fitted.max(half_way)),
            _ => None,
        }
    }

    /// Writes that a task was done on a component since it was fitted, the last time on some day;
    /// a test that has a procedure with its values.
    fn write_times(
        &mut self,
        chance: &mut Chance,
        stay: &Stay,
        task: &Task,
        (day, interval): (Day, i64),
    ) -> Result<()> {
        let part = AppliesTo::Part(stay.component.part.clone());
        let procedure = self.plan.procedure(&part);
        if let Some(procedure) = procedure.filter(|_| task.kind == TaskKind::Test) {
            return self.write_tests(chance, stay, (task, procedure), (day, interval));
        }
        let on = Tested::Component(&stay.component);
        for day in times_since(stay, (day, interval)) {
            self.write_done(&task.code, Moment::start_of(day), on, None)?;
        }
        Ok(())
    }

    /// Writes the tests of a component since it was fitted, the last on the day given.
    fn write_tests(
        &mut self,
        chance: &mut Chance,
        stay: &Stay,
        (task, procedure): (&Task, &Procedure),
        (last, interval): (Day, i64),
    ) -> Result<()> {
        let component = &stay.component;
        let wear = Wear::new(chance);
        let subject = Tested::Component(component);
        for day in times_since(stay, (last, interval)) {
            let worn = wear.on(day, component.born, self.span.as_at);
            let worn = wear::evenly(chance, procedure, worn);
            let at = Moment::fitting_on(day);
            let test = Test {
                subject,
                procedure,
                at,
            };
            self.write_passing(chance, &test, worn, &task.code)?;
        }
        Ok(())
    }

    /// Writes a test and, once it is passed, that the task was done, with the test record as
    /// evidence.
    fn write_passing(
        &mut self,
        chance: &mut Chance,
        test: &Test<'_>,
        worn: Vec<i64>,
        task: &TaskCode,
    ) -> Result<()> {
        let Some(passed) = self.write_test(chance, test, worn)? else {
            return Ok(());
        };
        let evidence = Some(format!("test record {}", passed.id));
        self.write_done(task, passed.at, test.subject, evidence)
    }

    /// The day on which a task was last done within the history.
    fn last_done(&self, chance: &mut Chance, interval: i64) -> Day {
        let used = if chance.per_mille(TASK_OVERDUE) {
            chance.between(1_001, 1_150)
        } else {
            chance.between(20, 935)
        };
        let days = interval.saturating_mul(used) / 1_000;
        let latest = self.span.days() - 2;
        let days = if days <= latest {
            days.max(1)
        } else {
            chance.between(30, latest)
        };
        self.span.ago(days)
    }

    /// Writes every time that the tasks on a car as a whole were done; brake tests with their
    /// values.
    pub(super) fn write_work_on_car(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
    ) -> Result<()> {
        let car = on_car.car;
        let brake_test = self.plan.brake_test(car.car_type);
        let tested = AppliesTo::CarType(car.car_type.name.clone());
        let procedure = self.plan.procedure(&tested);
        for (task, interval) in self.plan.of_car(car.car_type, on_car.life.rates) {
            self.summary.tasks += 1;
            let procedure = procedure.filter(|_| brake_test == Some(&task.code));
            for day in self.times_done(chance, interval).into_iter().rev() {
                let subject = Tested::Car(&car.number);
                let Some(procedure) = procedure else {
                    self.write_done(&task.code, Moment::start_of(day), subject, None)?;
                    continue;
                };
                let minute = chance.between(7 * 60, 15 * 60);
                let test = Test {
                    subject,
                    procedure,
                    at: Moment { day, minute },
                };
                let worn = wear::anyhow(chance, procedure);
                self.write_passing(chance, &test, worn, &task.code)?;
            }
        }
        Ok(())
    }

    /// The days within the history on which a task was done, the last first.
    fn times_done(&self, chance: &mut Chance, interval: i64) -> Vec<Day> {
        let mut days = Vec::new();
        let mut next = Some(self.last_done(chance, interval));
        while let Some(day) = next.filter(|day| self.span.begins < *day) {
            days.push(day);
            let before = interval.saturating_mul(chance.between(850, 1_000)) / 1_000;
            next = (days.len() < TIMES_MAX).then(|| day.plus_days(-before.max(1)));
        }
        days
    }

    /// Writes that a task was done; without evidence of its own an order is the evidence.
    pub(super) fn write_done(
        &mut self,
        task: &TaskCode,
        at: Moment,
        on: Tested<'_>,
        evidence: Option<String>,
    ) -> Result<()> {
        let evidence = evidence.unwrap_or_else(|| self.next_order());
        let (part, serial, car) = on.names();
        self.write(
            &TASKS_DONE,
            &[
                ("task", task),
                ("part", &Maybe(part)),
                ("serial", &Maybe(serial)),
                ("car", &Maybe(car)),
                ("at", &at),
                ("evidence", &evidence),
            ],
        )
    }

    /// An order of its own.
    pub(super) fn next_order(&mut self) -> String {
        self.orders += 1;
        format!("order {}", 100_000 + self.orders)
    }
}

/// The days on which a task was done on a component since it was fitted, the last of them given.
fn times_since(stay: &Stay, (last, interval): (Day, i64)) -> Vec<Day> {
    let days = (0..TIMES_ON_COMPONENT_MAX).map(|n| last.plus_days(-n * interval * 95 / 100));
    let mut days: Vec<Day> = days.take_while(|day| stay.from.day < *day).collect();
    days.reverse();
    days
}
