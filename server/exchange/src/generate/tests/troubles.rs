//! What goes wrong in a generated fleet.

use super::{Memory, Row, as_at, count, day, fleet, options};
use domain::time::Day;
use std::collections::{BTreeMap, BTreeSet, HashSet};

#[test]
fn some_cars_have_no_readings_and_some_none_for_half_a_year() {
    let fleet = fleet();
    let mut days: BTreeMap<&str, Vec<Day>> = BTreeMap::new();
    for row in fleet.table("readings") {
        if row["meter"] == "odometer" {
            days.entry(&row["car"]).or_default().push(day(&row["at"]));
        }
    }
    assert_eq!(days.len(), 240 - 3);
    let gaps = days.values().filter(|days| {
        days.windows(2)
            .any(|pair| 170 < pair[0].days_until(pair[1]))
    });
    assert_eq!(gaps.count(), 12);
}

#[test]
fn odometers_are_replaced() {
    let fleet = fleet();
    let replaced = fleet.table("meter_replacements");
    assert_eq!(replaced.len(), 10);
    assert!(replaced.iter().all(|row| row["meter"] == "odometer"));
}

#[test]
fn components_recorded_at_each_others_position_are_set_right_later() {
    let fleet = fleet();
    let fitments = fleet.table("fitments");
    let wrong: Vec<&Row> = fitments
        .iter()
        .filter(|row| row["removal_reason"] == "register_error")
        .collect();
    assert!(6 <= wrong.len(), "{} rows", wrong.len());
    for row in wrong {
        let again: Vec<&Row> = fitments
            .iter()
            .filter(|other| other["serial"] == row["serial"] && other["part"] == row["part"])
            .filter(|other| other["from"] == row["until"])
            .collect();
        assert_eq!(again.len(), 1);
        assert_ne!(again[0]["position"], row["position"]);
        assert_eq!(again[0]["car"], row["car"]);
    }
}

#[test]
fn components_turn_up_on_other_cars_months_later_or_robbed_on_the_next_day() {
    let fleet = fleet();
    let mut stays: BTreeMap<(&str, &str), Vec<&Row>> = BTreeMap::new();
    for row in fleet.table("fitments") {
        stays
            .entry((&row["part"], &row["serial"]))
            .or_default()
            .push(row);
    }
    let gap_after = |reason: &str| -> Vec<i64> {
        let pairs = stays.values().flat_map(|rows| rows.windows(2));
        pairs
            .filter(|pair| pair[0]["removal_reason"] == reason && pair[0]["car"] != pair[1]["car"])
            .map(|pair| day(&pair[0]["until"]).days_until(day(&pair[1]["from"])))
            .collect()
    };
    let unknown = gap_after("access");
    assert!(
        !unknown.is_empty() && unknown.iter().all(|days| 60 <= *days),
        "{unknown:?}"
    );
    let robbed = gap_after("robbed");
    assert!(
        !robbed.is_empty() && robbed.iter().all(|days| *days == 1),
        "{robbed:?}"
    );
}

#[test]
fn a_robbed_position_is_empty() {
    let fleet = fleet();
    let place = |row: &Row| (row["car"].clone(), row["position"].clone());
    let robbed = fleet
        .table("fitments")
        .iter()
        .filter(|row| row["removal_reason"] == "robbed");
    for row in robbed {
        let later = fleet
            .table("fitments")
            .iter()
            .filter(|other| place(other) == place(row));
        assert_eq!(
            later.filter(|other| row["until"] <= other["from"]).count(),
            0
        );
    }
}

#[test]
fn components_lie_in_stores_workshops_and_quarantine_in_every_condition() {
    let fleet = fleet();
    let fitted: HashSet<(&str, &str)> = fleet
        .table("fitments")
        .iter()
        .map(|row| (row["part"].as_str(), row["serial"].as_str()))
        .collect();
    let spare = |row: &&Row| !fitted.contains(&(row["part"].as_str(), row["serial"].as_str()));
    let spares: Vec<&Row> = fleet.table("components").iter().filter(spare).collect();
    let conditions: BTreeSet<&str> = spares.iter().map(|row| row["condition"].as_str()).collect();
    let expected = [
        "quarantined",
        "removed_to_be_judged",
        "serviceable",
        "unserviceable",
    ];
    assert!(
        expected
            .iter()
            .all(|condition| conditions.contains(condition)),
        "{conditions:?}"
    );
    assert!(
        spares
            .iter()
            .any(|row| row["location"].ends_with("quarantine"))
    );
}

#[test]
fn dates_and_use_are_unknown_for_a_few_in_a_thousand() {
    let fleet = fleet();
    let components = fleet.table("components");
    let unknown_use = count(components, |row| row["km"].is_empty());
    let unknown_dates = count(components, |row| {
        row["manufactured_on"].is_empty() && row["overhauled_on"].is_empty()
    });
    let share = |number: usize| number * 1_000 / components.len();
    assert!((3..20).contains(&share(unknown_use)), "{unknown_use}");
    assert!(
        0 < unknown_dates && share(unknown_dates) < 15,
        "{unknown_dates}"
    );
}

#[test]
fn a_few_overhauls_are_overdue_and_a_few_are_due_soon() {
    let fleet = Memory::of(options(600));
    let current: HashSet<&str> = fleet
        .table("fitments")
        .iter()
        .filter(|row| row["until"].is_empty() && row["part"] == "C7")
        .map(|row| row["serial"].as_str())
        .collect();
    // What was overhauled since it came counts from then.
    let judged: HashSet<(&str, &str)> = fleet
        .table("conditions")
        .iter()
        .map(|row| (row["part"].as_str(), row["serial"].as_str()))
        .collect();
    let components = fleet.table("components").iter();
    let since: Vec<i64> = components
        .filter(|row| row["part"] == "C7" && current.contains(row["serial"].as_str()))
        .filter(|row| !judged.contains(&("C7", row["serial"].as_str())))
        .filter_map(|row| {
            let dates = [&row["overhauled_on"], &row["manufactured_on"]];
            dates.into_iter().find(|date| !date.is_empty())
        })
        .map(|date| day(date).days_until(as_at()))
        .collect();
    let interval = 96 * 30_437 / 1_000;
    let share = |from: i64, until: i64| {
        since
            .iter()
            .filter(|days| (from..until).contains(days))
            .count()
            * 1_000
            / since.len()
    };
    let (overdue, soon) = (
        share(interval, i64::MAX),
        share(interval * 93 / 100, interval),
    );
    assert!(
        (5..60).contains(&overdue),
        "{overdue} of a thousand overdue"
    );
    assert!((5..70).contains(&soon), "{soon} of a thousand soon due");
}

#[test]
fn work_on_cars_and_on_fitted_components_is_recorded_once_they_are_there() {
    let fleet = fleet();
    let done = fleet.table("tasks_done");
    assert!(0 < count(done, |row| !row["car"].is_empty()));
    let mut from: BTreeMap<(&str, &str), Day> = BTreeMap::new();
    for row in fleet.table("fitments") {
        let key = (row["part"].as_str(), row["serial"].as_str());
        let day = day(&row["from"]);
        let first = from.entry(key).or_insert(day);
        *first = (*first).min(day);
    }
    let on_components = done.iter().filter(|row| row["car"].is_empty());
    for row in on_components {
        let fitted = from[&(row["part"].as_str(), row["serial"].as_str())];
        assert!(fitted < day(&row["at"]));
    }
}

#[test]
fn a_third_of_the_units_has_a_visit_to_come() {
    let fleet = fleet();
    let units: BTreeSet<&str> = fleet
        .table("units")
        .iter()
        .map(|row| &*row["unit"])
        .collect();
    let visits = fleet.table("visits");
    let of: BTreeSet<&str> = visits.iter().map(|row| &*row["unit"]).collect();
    assert!(of.is_subset(&units) && of.len() == visits.len());
    assert!(units.len().abs_diff(3 * visits.len()) <= 3);
    assert!(visits.iter().all(|row| as_at() < day(&row["from"])));
}
