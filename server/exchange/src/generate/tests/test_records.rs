//! Tests and what they come to.

use super::{Row, commands, day, fleet, in_folder, options};
use domain::ledger::fact::Fact;
use domain::test_record::decimal::Decimal;
use domain::test_record::verdict::{TestOutcome, verdict};
use domain::time::{Instant, Zone};
use std::collections::{BTreeMap, BTreeSet};

#[test]
fn tests_of_components_wear_on_and_some_fail_or_do_not_count() {
    let (folder, _) = in_folder(options(240));
    let mut outcomes: BTreeMap<TestOutcome, usize> = BTreeMap::new();
    let mut strokes: BTreeMap<String, Vec<(Instant, Decimal)>> = BTreeMap::new();
    let mut procedures = BTreeMap::new();
    for command in commands(&folder) {
        match command.fact {
            Fact::ProcedureDefined(procedure) => {
                procedures.insert(procedure.code.clone(), procedure);
            }
            Fact::TestRecorded(record) => {
                let judged = verdict(&procedures[&record.procedure], &record, &Zone::UTC);
                let outcome = judged.expect("follows its procedure").outcome;
                *outcomes.entry(outcome).or_default() += 1;
                if record.procedure.as_str() == "C7-T" {
                    let of_component = strokes.entry(record.subject.to_string()).or_default();
                    of_component.push((record.at, record.values[0].value));
                }
            }
            _ => {}
        }
    }
    let count = |outcome| outcomes.get(&outcome).copied().unwrap_or(0);
    assert!(100 < count(TestOutcome::Passed), "{outcomes:?}");
    assert!(0 < count(TestOutcome::Failed), "{outcomes:?}");
    assert!(0 < count(TestOutcome::NotCounted), "{outcomes:?}");
    let series: Vec<_> = strokes
        .values()
        .filter(|values| 3 <= values.len())
        .collect();
    let rising = series
        .iter()
        .filter(|values| values[0].1 < values[values.len() - 1].1);
    assert!(10 < series.len());
    assert!(series.len() * 8 / 10 < rising.count());
}

/// The outcomes of the tests of each car in order of time, by the domain's rules.
fn outcomes_of_cars() -> BTreeMap<String, Vec<(Instant, TestOutcome)>> {
    let (folder, _) = in_folder(options(240));
    let mut procedures = BTreeMap::new();
    let mut of_cars: BTreeMap<String, Vec<(Instant, TestOutcome)>> = BTreeMap::new();
    for command in commands(&folder) {
        match command.fact {
            Fact::ProcedureDefined(procedure) => {
                procedures.insert(procedure.code.clone(), procedure);
            }
            Fact::TestRecorded(record) if record.procedure.as_str() == "TEST RM" => {
                let judged = verdict(&procedures[&record.procedure], &record, &Zone::UTC);
                let outcome = judged.expect("follows its procedure").outcome;
                let of_car = of_cars.entry(record.subject.to_string()).or_default();
                of_car.push((record.at, outcome));
            }
            _ => {}
        }
    }
    for tests in of_cars.values_mut() {
        tests.sort_unstable();
    }
    of_cars
}

#[test]
fn every_car_is_tested_and_what_does_not_pass_is_tested_again_in_days() {
    let of_cars = outcomes_of_cars();
    assert_eq!(of_cars.len(), 112, "all cars of the type");
    let mut seen = BTreeSet::new();
    let mut again = 0;
    for tests in of_cars.values() {
        assert!((4..=14).contains(&tests.len()), "{tests:?}");
        seen.extend(tests.iter().map(|(_, outcome)| *outcome));
        for pair in tests.windows(2) {
            if pair[0].1 != TestOutcome::Passed {
                again += 1;
                assert_eq!(pair[1].1, TestOutcome::Passed, "{tests:?}");
                assert!(pair[0].0.days_until(pair[1].0) < 7.0, "{tests:?}");
            }
        }
    }
    assert_eq!(seen.len(), TestOutcome::ALL.len(), "{seen:?}");
    let all: usize = of_cars.values().map(Vec::len).sum();
    assert!(again * 20 < all * 3, "{again} of {all} did not pass");
}

#[test]
fn a_test_that_passed_is_the_evidence_that_its_task_was_done() {
    let fleet = fleet();
    let mut records: BTreeMap<&str, &Row> = BTreeMap::new();
    for row in fleet.table("test_records") {
        records.insert(&row["test_record"], row);
    }
    let done = fleet.table("tasks_done").iter();
    let of_tests = done.filter(|row| ["RM-TEST", "C7-TEST"].contains(&row["task"].as_str()));
    let mut count = 0;
    for row in of_tests {
        let id = row["evidence"]
            .strip_prefix("test record ")
            .expect("a record");
        let record = records[id];
        for column in ["part", "serial", "car", "at"] {
            assert_eq!(record[column], row[column]);
        }
        count += 1;
    }
    assert!(400 < count, "{count}");
}

#[test]
fn the_calibrations_of_an_instrument_follow_one_another_every_year() {
    let fleet = fleet();
    let mut ends: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for row in fleet.table("test_records") {
        let of_instrument = ends.entry(&row["instrument"]).or_default();
        of_instrument.insert(&row["calibrated_until"]);
    }
    for of_instrument in ends.values() {
        let days: Vec<_> = of_instrument.iter().map(|end| day(end)).collect();
        let years = days.windows(2).map(|pair| pair[0].days_until(pair[1]));
        assert!(
            years.map(|days| days % 365).all(|rest| rest == 0),
            "{days:?}"
        );
    }
}
