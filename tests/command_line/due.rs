//! `register due`: the same rows as the page, as text and for a spreadsheet.

use super::program::Place;
use crate::http::obligations::{swapped, tested};
use crate::http::sample::{SECOND, Served};
use serde_json::json;
use tests::each_database;

async fn rows_are_selected_as_on_the_page(url: &str) {
    let served = Served::with_fleet(url).await;
    let place = Place::on(url);
    for (option, field, value) in [
        ("--fleet", "fleet", "Fern"),
        ("--depot", "depot", "North"),
        ("--unit", "unit", "41"),
        ("--car", "car", "4101"),
        ("--part", "part", "DV/210"),
        ("--state", "state", "unknown"),
        ("--until", "until", "2026-12-01"),
        ("--place", "place", "on_cars"),
        ("--place", "place", "off_cars"),
    ] {
        let query = value.replace('/', "%2F");
        let exported = served
            .visitor()
            .get(&format!("/due.csv?{field}={query}"))
            .await;
        let listed = exported.body().lines().count() - 1;
        let csv = place.run_on_database(&["due", option, value, "--format", "csv"]);
        assert_eq!(csv.code, Some(0), "{csv:?}");
        assert_eq!(csv.out.lines().count(), 1 + listed, "{option} {value}");
        let columns = exported.body().lines().next();
        assert_eq!(csv.out.lines().next(), columns, "{option} {value}");
        let text = place.run_on_database(&["due", option, value]);
        let rows = if listed == 1 { "row" } else { "rows" };
        assert!(
            text.out.ends_with(&format!("{listed} {rows}.\n")),
            "{text:?}"
        );
    }
}

async fn the_limit_that_sets_a_date_is_named(url: &str) {
    let served = Served::with_fleet(url).await;
    let listed = served.visitor().get("/api/v1/due?car=4101").await.json();
    let by_calendar = listed["due"].as_array().unwrap().iter();
    let by_calendar = by_calendar.filter(|row| row["limit"]["set_by"] == "calendar");
    let expected = by_calendar.count();
    assert!(0 < expected, "{listed}");
    let told = Place::on(url).run_on_database(&["due", "--car", "4101"]);
    let rows = told
        .out
        .lines()
        .filter(|row| row.contains(" by calendar  "));
    assert_eq!(rows.count(), expected, "{told:?}");
}

async fn what_makes_work_due_at_once_is_told(url: &str) {
    let served = tested(url).await;
    served.import(vec![swapped()]).await;
    let told = Place::on(url).run_on_database(&["due", "--car", "4101"]);
    let mut rows = told.out.lines();
    let row = rows.find(|row| row.contains("BT-CAR")).unwrap();
    let why = "BT-CAR at once: something was exchanged on 2026-11-20; a test before is void since";
    assert!(row.contains(why), "{told:?}");
}

async fn what_ends_stands_before_the_work(url: &str) {
    let served = Served::with_fleet(url).await;
    let valve = json!({"part": "DV/200", "serial": "90"});
    let facts = [
        json!({"part_defined": {"number": "DV/200", "title": "earlier valve",
            "kind": "distributor_valve"}}),
        json!({"component_received": {"component": valve, "condition": "serviceable",
            "location": "Store North"}}),
        json!({"concession_granted": {"number": "C-9", "cars": [{"first": "4102", "last": "4102"}],
            "position": SECOND, "part": "DV/200", "reason": "until stock arrives",
            "until": "2024-12-31"}}),
        json!({"fitted": {"component": valve, "car": "4102", "position": SECOND,
            "concession": "C-9"}}),
        json!({"modification_issued": {"number": "M-7", "title": "another label",
            "scope": {"cars": {"car_type": "Motor car", "cars": [{"first": "4101", "last": "4102"}]}},
            "by": "2024-06-30", "source": "instruction 7"}}),
    ];
    let facts = facts.map(|fact| ("2024-02-01T08:00:00Z".to_owned(), fact));
    served.import(facts.into()).await;
    let place = Place::on(url);
    let asked = ["due", "--car", "4102", "--until", "2099-12-31"];
    let told = place.run_on_database(&asked);
    let lines: Vec<&str> = told.out.lines().collect();
    assert!(lines[0].starts_with("2024-06-30  overdue "), "{told:?}");
    assert!(
        lines[0].contains("modification M-7  another label"),
        "{told:?}"
    );
    assert!(lines[1].starts_with("2024-12-31  "), "{told:?}");
    assert!(
        lines[1].contains("concession C-9  until stock arrives"),
        "{told:?}"
    );
    assert!(lines[1].ends_with("1 position is under it"), "{told:?}");
    let file: Vec<&str> = asked.into_iter().chain(["--format", "csv"]).collect();
    let file = place.run_on_database(&file);
    assert_eq!(
        file.out.lines().count(),
        lines.len(),
        "a head, and no count: {file:?}"
    );
    let ends = file
        .out
        .lines()
        .filter(|line| line.contains("C-9") || line.contains("M-7"));
    assert_eq!(ends.count(), 2, "{file:?}");
    let elsewhere = place.run_on_database(&["due", "--car", "4201", "--until", "2099-12-31"]);
    assert!(!elsewhere.out.contains("C-9"), "{elsewhere:?}");
    assert!(!elsewhere.out.contains("M-7"), "{elsewhere:?}");
}

async fn what_is_not_in_the_register_is_an_error_and_no_empty_list(url: &str) {
    let _served = Served::with_fleet(url).await;
    for (option, value) in [("--car", "L99"), ("--unit", "99"), ("--part", "NOPE")] {
        let told = Place::on(url).run_on_database(&["due", option, value]);
        assert_eq!((told.code, told.out.as_str()), (Some(1), ""), "{told:?}");
        assert!(told.err.contains("is not in the register"), "{told:?}");
    }
}

async fn what_cannot_be_read_is_an_error_and_no_list(url: &str) {
    let _served = Served::with_fleet(url).await;
    for (option, value) in [
        ("--until", "2026-02-30"),
        ("--state", "late"),
        ("--place", "up"),
    ] {
        let told = Place::on(url).run_on_database(&["due", option, value]);
        assert_eq!((told.code, told.out.as_str()), (Some(1), ""), "{told:?}");
        assert!(told.err.contains(value), "{told:?}");
    }
}

each_database!(
    what_makes_work_due_at_once_is_told,
    the_limit_that_sets_a_date_is_named,
    rows_are_selected_as_on_the_page,
    what_ends_stands_before_the_work,
    what_cannot_be_read_is_an_error_and_no_list,
    what_is_not_in_the_register_is_an_error_and_no_empty_list,
);
