//! `register due`: the same rows as the page, as text and for a spreadsheet.

use super::program::Place;
use crate::http::sample::Served;
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
    the_limit_that_sets_a_date_is_named,
    rows_are_selected_as_on_the_page,
    what_cannot_be_read_is_an_error_and_no_list,
    what_is_not_in_the_register_is_an_error_and_no_empty_list,
);
