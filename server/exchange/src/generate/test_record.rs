//! Test records: of cars whose isolation ended, and of components over the years.

use super::chance::Chance;
use super::component::Component;
use super::procedure::value;
use super::sink::Maybe;
use super::span::Moment;
use super::troubles::{NOT_CALIBRATED, WORN_OUT};
use super::{Generator, Result};
use crate::columns::TEST_RECORDS;
use domain::configuration::car_type::LoadState;
use domain::identity::PartNumber;
use domain::test_record::procedure::{MeasurandRole, Procedure};
use domain::time::Day;
use std::fmt::Display;

/// What is tested.
#[derive(Clone, Copy)]
pub(super) enum Tested<'a> {
    Car(&'a str),
    Component(&'a Component),
}

impl<'a> Tested<'a> {
    /// The part, the serial number and the car, as far as they belong to it.
    pub(super) fn names(self) -> (Option<&'a PartNumber>, Option<&'a str>, Option<&'a str>) {
        match self {
            Self::Car(car) => (None, None, Some(car)),
            Self::Component(component) => (Some(&component.part), Some(&component.serial), None),
        }
    }
}

/// How worn a component is: thousandths of the way from good values to the limit, at its birth
/// and on the last day of the history.
pub(super) struct Wear {
    at_birth: i64,
    at_end: i64,
}

/// How worn a car or component is where its isolation has just ended.
pub(super) const RESTORED: i64 = 150;

const TESTERS: [&str; 4] = ["A. Marl", "B. Quill", "C. Thrift", "D. Sallow"];

impl Wear {
    pub(super) fn new(chance: &mut Chance) -> Self {
        let worn_out = chance.per_mille(WORN_OUT);
        let at_birth = chance.between(50, 300);
        let at_end = if worn_out {
            chance.between(1_100, 1_200)
        } else {
            chance.between(320, 850)
        };
        Self { at_birth, at_end }
    }

    /// How worn it is on a day between the two.
    pub(super) fn on(&self, day: Day, born: Day, end: Day) -> i64 {
        let days = born.days_until(end).max(1);
        let gone = born.days_until(day).clamp(0, days);
        self.at_birth + (self.at_end - self.at_birth) * gone / days
    }
}

impl Generator<'_> {
    /// Writes a test record and gives its identity and whether the test counts as passed.
    pub(super) fn write_test(
        &mut self,
        chance: &mut Chance,
        subject: Tested<'_>,
        procedure: &Procedure,
        (at, wear): (Moment, i64),
    ) -> Result<(String, Outcome)> {
        self.records += 1;
        let id = format!("TR-{:06}", self.records);
        let (part, serial, car) = subject.names();
        let tester = chance.pick(&TESTERS).copied().unwrap_or_default();
        let instrument = format!("G-{:02}", chance.between(1, 30));
        let lapsed = part.is_some() && chance.per_mille(NOT_CALIBRATED);
        let calibrated = chance.between(5, 300) * if lapsed { -1 } else { 1 };
        for measurand in procedure.measurands.iter() {
            let wear = match measurand.role {
                MeasurandRole::Result => wear + chance.between(-20, 20),
                MeasurandRole::Condition => chance.between(0, 400),
            };
            let values: [(&str, &dyn Display); 12] = [
                ("test_record", &id),
                ("procedure", &procedure.code),
                ("revision", &procedure.revision),
                ("part", &Maybe(part)),
                ("serial", &Maybe(serial)),
                ("car", &Maybe(car)),
                ("at", &at),
                ("tester", &tester),
                ("instrument", &instrument),
                ("calibrated_until", &at.day.plus_days(calibrated)),
                ("measurand", &measurand.name),
                ("value", &Maybe(value(&measurand.bounds, wear))),
            ];
            let load = Maybe(measurand.load.map(LoadState::name));
            let load: [(&str, &dyn Display); 1] = [("load", &load)];
            self.write(&TEST_RECORDS, &[&values[..], &load].concat())?;
        }
        let passed = !lapsed && wear < 980;
        let outcome = if passed {
            Outcome::Passed
        } else {
            Outcome::NotPassed
        };
        Ok((id, outcome))
    }
}

/// What a test came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    Passed,
    NotPassed,
}
