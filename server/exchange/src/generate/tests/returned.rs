//! What became of components that came off.

use super::{Row, count, day, fleet};
use std::collections::BTreeMap;

/// The parts of the design that are overhauled.
const WITH_OVERHAUL: [&str; 3] = ["C7", "K10", "A5"];

type Key<'a> = (&'a str, &'a str);

fn key(row: &Row) -> Key<'_> {
    (&row["part"], &row["serial"])
}

#[test]
fn overhauled_components_are_released_and_lie_in_the_store_again() {
    let fleet = fleet();
    let mut judged: BTreeMap<Key, Vec<&Row>> = BTreeMap::new();
    for row in fleet.table("conditions") {
        judged.entry(key(row)).or_default().push(row);
    }
    let (back, away): (Vec<&Row>, Vec<&Row>) = fleet
        .table("relocations")
        .iter()
        .partition(|row| row["expected_on"].is_empty());
    assert!(20 < back.len(), "{} rows", back.len());
    assert!(!away.is_empty());
    for moved in back {
        let last = judged[&key(moved)].last().expect("a judgement");
        assert_eq!(last["condition"], "serviceable");
        assert!(last["at"] < moved["at"]);
        let overhauled = last["evidence"].ends_with("after overhaul");
        assert_eq!(overhauled, WITH_OVERHAUL.contains(&moved["part"].as_str()));
        let mut done = fleet.table("tasks_done").iter();
        assert!(
            !overhauled
                || done.any(|row| key(row) == key(moved) && day(&row["at"]) == day(&last["at"])),
            "{moved:?}"
        );
    }
}

#[test]
fn what_is_judged_came_off_before_and_in_that_order() {
    let fleet = fleet();
    let mut off: BTreeMap<Key, &str> = BTreeMap::new();
    for row in fleet.table("fitments") {
        if !row["until"].is_empty() {
            off.insert(key(row), &row["until"]);
        }
    }
    let mut before: BTreeMap<Key, &str> = BTreeMap::new();
    for row in fleet.table("conditions") {
        let last = before.insert(key(row), &row["at"]);
        let last = last.unwrap_or(off[&key(row)]);
        assert!(last < row["at"].as_str(), "{row:?}");
    }
    let scrapped = count(fleet.table("conditions"), |row| {
        row["condition"] == "scrapped"
    });
    assert!(0 < scrapped);
}

#[test]
fn a_suspected_component_is_found_good_and_fitted_again_where_it_was() {
    let fleet = fleet();
    let fitments = fleet.table("fitments");
    let suspected: Vec<&Row> = fitments
        .iter()
        .filter(|row| row["removal_reason"] == "suspected")
        .collect();
    // Every sixth car of 240, but where nothing on a small car is as it was in the beginning.
    assert!(
        (30..=40).contains(&suspected.len()),
        "{} rows",
        suspected.len()
    );
    for row in suspected {
        let again = fitments
            .iter()
            .find(|other| key(other) == key(row) && row["until"] < other["from"]);
        let again = again.expect("fitted again");
        assert_eq!(
            (&again["car"], &again["position"]),
            (&row["car"], &row["position"])
        );
        let mut judged = fleet.table("conditions").iter();
        let found = judged
            .find(|judged| key(judged) == key(row))
            .expect("judged");
        assert_eq!(found["condition"], "serviceable");
        assert!(row["until"] < found["at"] && found["at"] < again["from"]);
    }
}

#[test]
fn some_overhauled_components_are_fitted_to_another_car() {
    let fleet = fleet();
    let mut judged: BTreeMap<Key, &Row> = BTreeMap::new();
    for row in fleet.table("conditions") {
        judged.insert(key(row), row);
    }
    let again = fleet.table("fitments").iter().filter(|row| {
        let judged = judged.get(&key(row));
        judged.is_some_and(|judged| {
            judged["evidence"].ends_with("after overhaul") && judged["at"] < row["from"]
        })
    });
    assert!(3 < again.count());
}
