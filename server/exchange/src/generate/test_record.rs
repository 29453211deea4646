//! Test records: of cars and components over the years, and of cars whose isolation ended.

use super::chance::Chance;
use super::component::Component;
use super::sink::Maybe;
use super::span::Moment;
use super::troubles::{NOT_CALIBRATED, TEST_FAILED, TEST_INCOMPLETE};
use super::wear::{is_within, value};
use super::{Generator, Result};
use crate::columns::TEST_RECORDS;
use domain::configuration::car_type::LoadState;
use domain::identity::PartNumber;
use domain::test_record::procedure::{Measurand, MeasurandRole, Procedure};
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

/// A test: of what, by which procedure, when.
#[derive(Clone, Copy)]
pub(super) struct Test<'a> {
    pub(super) subject: Tested<'a>,
    pub(super) procedure: &'a Procedure,
    pub(super) at: Moment,
}

/// A test that passed.
pub(super) struct Passed {
    pub(super) id: String,
    pub(super) at: Moment,
}

/// Why a test does not count or is not passed, so that it is made again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Trouble {
    /// A value is beyond its limit until something is repaired.
    Failed,
    /// The instrument's calibration had lapsed.
    Lapsed,
    /// A value was not taken.
    Incomplete,
}

/// How worn what was repaired is.
const RESTORED: i64 = 150;
/// The most days until a test is made again.
const AGAIN_DAYS_MAX: i64 = 6;

const TESTERS: [&str; 4] = ["A. Marl", "B. Quill", "C. Thrift", "D. Sallow"];
/// How many instruments there are.
const INSTRUMENTS: i64 = 30;
/// How often an instrument is calibrated.
const CALIBRATION_DAYS: i64 = 365;

impl Generator<'_> {
    /// Writes a test of something that is so worn, measurand by measurand; where something came
    /// in between, also the same test some days later. Gives the one that passed.
    pub(super) fn write_test(
        &mut self,
        chance: &mut Chance,
        test: &Test<'_>,
        worn: Vec<i64>,
    ) -> Result<Option<Passed>> {
        let Some(trouble) = trouble(chance, test.subject) else {
            return self.write_record(chance, test, &worn);
        };
        let (mut now, mut later) = (worn.clone(), worn);
        if trouble == Trouble::Failed
            && let Some(&place) = chance.pick(&results(test.procedure))
        {
            now[place] = chance.between(1_060, 1_300);
            later[place] = RESTORED;
        }
        self.write_troubled(chance, test, &now, Some(trouble))?;
        let again = Moment {
            day: test.at.day.plus_days(chance.between(1, AGAIN_DAYS_MAX)),
            ..test.at
        };
        if self.span.as_at <= again.day {
            return Ok(None);
        }
        self.write_record(chance, &Test { at: again, ..*test }, &later)
    }

    /// Writes a test in which nothing comes in between.
    pub(super) fn write_record(
        &mut self,
        chance: &mut Chance,
        test: &Test<'_>,
        worn: &[i64],
    ) -> Result<Option<Passed>> {
        self.write_troubled(chance, test, worn, None)
    }

    fn write_troubled(
        &mut self,
        chance: &mut Chance,
        test: &Test<'_>,
        worn: &[i64],
        trouble: Option<Trouble>,
    ) -> Result<Option<Passed>> {
        self.records += 1;
        let id = format!("TR-{:06}", self.records);
        let tester = chance.pick(&TESTERS).copied().unwrap_or_default();
        let instrument = chance.between(1, INSTRUMENTS);
        let calibrated_until = self.calibrated_until(instrument, test.at.day, trouble);
        let instrument = format!("G-{instrument:02}");
        let of_whole: [(&str, &dyn Display); 4] = [
            ("test_record", &id),
            ("tester", &tester),
            ("instrument", &instrument),
            ("calibrated_until", &calibrated_until),
        ];
        let mut within = trouble.is_none();
        let left_out = usize::from(trouble == Some(Trouble::Incomplete));
        let count = (test.procedure.measurands.len() - left_out).max(1);
        let measurands = test.procedure.measurands.iter().take(count);
        for (measurand, wear) in measurands.zip(worn) {
            let value = value(&measurand.bounds, *wear);
            within &= value.is_some_and(|value| is_within(&measurand.bounds, value));
            self.write_value(test, &of_whole, (measurand, &Maybe(value)))?;
        }
        let at = test.at;
        Ok(within.then_some(Passed { id, at }))
    }

    fn write_value(
        &mut self,
        test: &Test<'_>,
        of_whole: &[(&str, &dyn Display)],
        (measurand, value): (&Measurand, &dyn Display),
    ) -> Result<()> {
        let (part, serial, car) = test.subject.names();
        let of_value: [(&str, &dyn Display); 9] = [
            ("procedure", &test.procedure.code),
            ("revision", &test.procedure.revision),
            ("part", &Maybe(part)),
            ("serial", &Maybe(serial)),
            ("car", &Maybe(car)),
            ("at", &test.at),
            ("measurand", &measurand.name),
            ("load", &Maybe(measurand.load.map(LoadState::name))),
            ("value", value),
        ];
        self.write(&TEST_RECORDS, &[of_whole, &of_value].concat())
    }

    /// The last day of an instrument's calibration, as seen on a day: its calibrations follow one
    /// another every year.
    fn calibrated_until(&self, instrument: i64, day: Day, trouble: Option<Trouble>) -> Day {
        let ends = self.span.ago(instrument * CALIBRATION_DAYS / INSTRUMENTS);
        let left = day.days_until(ends).rem_euclid(CALIBRATION_DAYS);
        let until = day.plus_days(left);
        match trouble {
            Some(Trouble::Lapsed) => until.plus_days(-CALIBRATION_DAYS),
            _ => until,
        }
    }
}

/// What comes in between at a test. Components fail by their wear and not by chance.
fn trouble(chance: &mut Chance, subject: Tested<'_>) -> Option<Trouble> {
    let failed = match subject {
        Tested::Car(_) => TEST_FAILED,
        Tested::Component(_) => 0,
    };
    let drawn = chance.between(0, 999);
    let shares = [
        (Trouble::Failed, failed),
        (Trouble::Lapsed, NOT_CALIBRATED),
        (Trouble::Incomplete, TEST_INCOMPLETE),
    ];
    let mut below = 0;
    shares.into_iter().find_map(|(trouble, share)| {
        below += share;
        (drawn < below).then_some(trouble)
    })
}

/// The places of the measurands that judge what is tested.
fn results(procedure: &Procedure) -> Vec<usize> {
    let measurands = procedure.measurands.iter().enumerate();
    let results = measurands.filter(|(_, measurand)| measurand.role == MeasurandRole::Result);
    results.map(|(place, _)| place).collect()
}
