//! The due list as a planner sees it.

use std::collections::BTreeSet;
use std::io::Cursor;

use calamine::{Data, Reader, Xlsx};
use domain::people::Role;
use reqwest::Method;
use serde_json::json;
use tests::each_database;
use tests::page::Page;
use tests::visitor::Visitor;

use super::sample::{FIRST, Served, VALVE, VALVES, fitted, reading};

/// Rows with a date: test and overhaul of each valve, and the inspection of those on the car
/// whose odometer was read.
pub(super) const DATED: usize = 2 * VALVES + 2;

async fn pages_give_each_row_once_in_the_order_of_dates(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    for (path, expected) in [
        ("/due", DATED),
        ("/due?fleet=Sedge", 8),
        ("/due?depot=North", 8),
        ("/due?part=DV%2F210", DATED),
        ("/due?state=overdue", VALVES),
    ] {
        let pages = all_pages(&visitor, path).await;
        let rows: Vec<_> = pages.iter().flat_map(rows).collect();
        let once: BTreeSet<_> = rows.iter().collect();
        assert_eq!((rows.len(), once.len()), (expected, expected), "{path}");
        assert!(rows.is_sorted_by_key(|(on, ..)| on.clone()), "{path}");
    }
    let second = visitor.get("/due").await;
    let second = visitor
        .get(second.attribute("a[rel=next]", "href").unwrap())
        .await;
    let first = second.attribute("a[rel=first]", "href");
    assert_eq!(first, Some("/due"));
}

async fn filters_look_where_they_say(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    for (path, expected) in [
        ("/due?unit=41", 9),
        ("/due?car=4101", 6),
        ("/due?car=4102", 3),
        ("/due?depot=South", 0),
        ("/due?fleet=Sedge&car=4102&part=DV%2F210", 3),
        ("/due?car=4101&until=2026-12-01", 4),
        ("/due?car=4101&state=in_window", 3),
        ("/due?state=due", 0),
        ("/due?state=unknown", 2),
        ("/due?state=unknown&depot=North", 2),
        ("/due?state=unknown&fleet=Fern", 0),
    ] {
        let page = visitor.get(path).await;
        assert_eq!(
            (page.status(), page.count("table.due tbody tr")),
            (200, expected),
            "{path}"
        );
    }
}

async fn a_row_says_when_by_which_limit_on_what_and_where(url: &str) {
    let served = Served::with_fleet(url).await;
    // Valve 1 was fitted at 512,400 km, half-way between readings 400 km a day apart.
    let page = served
        .visitor()
        .get("/due?car=4101&until=2026-12-01&state=in_window")
        .await;
    let cells = page.texts("table.due tbody tr:first-child td");
    assert!(cells[0].starts_with("2026-11-27"), "{cells:?}");
    assert_eq!(cells[1], "in window");
    assert_eq!(cells[2], "IN-DVinspection of a distributor valve");
    assert_eq!(
        cells[3],
        "odometer at 642,400 km10,400 km left on 2026-11-01"
    );
    assert_eq!(cells[4], format!("{VALVE} serial 1"));
    assert_eq!(cells[5], format!("car 4101 {FIRST} unit 41"));
    assert_eq!(cells[6], "North");
    let links = [
        "/components/DV%2F210/1",
        "/cars/4101",
        "/units/41",
        "/positions/4101/%3DBS1-K1",
    ];
    for link in links {
        assert_eq!(
            page.count(&format!("tr:first-child a[href=\"{link}\"]")),
            1,
            "{link}"
        );
    }
}

async fn a_limit_that_cannot_be_told_is_said_beside_the_date_of_another(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/due?car=4102").await;
    let overhaul = page.text("table.due tbody tr:nth-child(2)");
    assert!(overhaul.starts_with("2027-03-02"), "{overhaul}");
    assert!(overhaul.contains("unknown"), "{overhaul}");
    let said = "Earlier is possible: odometer: no reading at fitting or removal to count from.";
    assert!(overhaul.contains(said), "{overhaul}");
    let page = visitor.get("/due?state=unknown").await;
    assert_eq!(page.count("table.due tbody tr"), 2);
    assert!(
        page.text("main")
            .contains("Not known: odometer: no reading at fitting or removal")
    );
}

async fn due_dates_follow_a_reading_and_a_fitting_at_once(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let inspection = "/due?car=4101&state=in_window&until=2027-12-31";
    let before = visitor.get(inspection).await;
    served
        .import(vec![(
            "2026-11-24T08:00:00Z".to_owned(),
            reading("4101", 650_000),
        )])
        .await;
    let overdue = visitor.get("/due?car=4101&state=overdue").await;
    assert!(before.text("table.due").contains("10,400 km left"));
    assert!(
        overdue
            .text("table.due")
            .contains("passed by 7,600 km on 2026-11-24")
    );

    assert_eq!(
        visitor
            .get("/due?depot=South")
            .await
            .count("table.due tbody tr"),
        0
    );
    let fitted = fitted("9", "4201", FIRST);
    served
        .import(vec![("2026-11-20T08:00:00Z".to_owned(), fitted)])
        .await;
    let south = visitor.get("/due?depot=South&part=DV%2F210").await;
    assert_eq!(
        south.texts("table.due tbody td:nth-child(5)"),
        vec![format!("{VALVE} serial 9"); 2]
    );
}

async fn what_cannot_be_read_is_said_and_nothing_is_listed(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/due?until=tomorrow&car=4101").await;
    assert_eq!((page.status(), page.count("table.due")), (422, 0));
    assert!(
        page.text("#wrong-until")
            .starts_with("until: expected a date that exists")
    );
    assert_eq!(page.attribute("input[name=car]", "value"), Some("4101"));
    let page = served.visitor().get("/due.csv?until=tomorrow").await;
    assert_eq!(page.status(), 422);
}

async fn work_without_a_date_ends_the_list_of_a_car_and_is_linked_elsewhere(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let no_reading = visitor.get("/due?state=unknown").await;
    assert_eq!(no_reading.count("table.due tbody tr"), 2);
    for (path, last) in [("/due?car=4102", "no date"), ("/due?unit=41", "no date")] {
        let pages = all_pages(&visitor, path).await;
        let rows: Vec<String> = pages
            .iter()
            .flat_map(|page| page.texts("table.due tbody td:nth-child(1)"))
            .collect();
        assert!(rows.last().unwrap().starts_with(last), "{path}: {rows:?}");
        let dated = rows.iter().take_while(|on| !on.starts_with(last)).count();
        assert!(rows[dated..].iter().all(|on| on.starts_with(last)));
    }
    let everywhere = visitor.get("/due").await;
    assert!(
        everywhere
            .text("main")
            .contains("What has no date is not in it")
    );
}

async fn a_place_that_is_not_in_the_register_gives_no_empty_list(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    for (field, value) in [
        ("fleet", "Nope"),
        ("depot", "Nope"),
        ("unit", "99"),
        ("car", "9999"),
        ("part", "NOPE"),
    ] {
        let page = visitor.get(&format!("/due?{field}={value}")).await;
        assert_eq!(page.status(), 422, "{field}");
        let said = format!("{field}: expected one that is in the register");
        assert_eq!(page.text(&format!("#wrong-{field}")), said);
        let told = visitor.get(&format!("/api/v1/due?{field}={value}")).await;
        assert_eq!((told.status(), &told.json()["field"]), (422, &field.into()));
    }
}

async fn an_empty_list_says_what_to_do_next(url: &str) {
    let served = Served::empty(url).await;
    let page = served.visitor().get("/due").await;
    assert_eq!((page.status(), page.count("table.due")), (200, 0));
    assert!(page.text("ul.next").contains("register import FOLDER"));
}

async fn the_picture_counts_the_tasks_of_each_week(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/due").await;
    let rows = page.texts("figure.weeks tbody tr");
    assert_eq!(rows.len(), 27);
    assert_eq!(rows[0], format!("past due{VALVES}"));
    assert_eq!(rows[1], "week from 2026-11-232");
    assert_eq!(
        served
            .visitor()
            .get("/due?state=unknown")
            .await
            .count("figure.weeks"),
        0
    );
}

async fn the_picture_of_a_unit_counts_what_that_of_its_fleet_does(url: &str) {
    let served = Served::with_fleet(url).await;
    let picture = async |asked: &str| {
        let page = served.visitor().get(&format!("/due?{asked}")).await;
        page.texts("figure.weeks tbody tr")
    };
    // The unit is all of its fleet.
    let of_unit = picture("unit=41").await;
    assert_eq!(of_unit, picture("fleet=Sedge&place=on_cars").await);
    assert_eq!(of_unit[0], "past due3");
    assert_eq!(picture("car=4101").await[0], "past due2");
}

async fn the_list_as_csv_holds_every_row_and_no_formula(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/due.csv").await;
    assert_eq!(page.header("content-type"), Some("text/csv; charset=utf-8"));
    let named = page.header("content-disposition").unwrap();
    assert_eq!(named, "attachment; filename=\"due-2026-11-25.csv\"");
    assert_eq!(page.body().lines().count(), 1 + DATED);
    let inspection = page
        .body()
        .lines()
        .find(|line| line.contains("IN-DV"))
        .unwrap();
    let expected = "642400,632000,2026-11-01,km,DV/210,1,4101,41,'=BS1-K1,,North,,,";
    assert!(
        inspection.starts_with("2026-11-27,") && inspection.ends_with(expected),
        "{inspection}"
    );
    let south = served.visitor().get("/due.csv?depot=South").await;
    assert_eq!(south.body().lines().count(), 1);
}

async fn a_file_tells_what_makes_work_due_at_once(url: &str) {
    let served = Served::with_fleet(url).await;
    let removed = json!({"removed": {"component": {"part": "DV/210", "serial": "1"},
        "reason": "failed", "to": "Store North", "condition": "removed_to_be_judged"}});
    served
        .import(vec![("2026-11-20T08:00:00Z".to_owned(), removed)])
        .await;
    let file = served.visitor().get("/due.csv?state=due").await;
    let rows = file.body().lines();
    let told: Vec<_> = rows.filter(|row| row.contains("DV/210,1,")).collect();
    let [row] = told[..] else {
        panic!("{told:?}");
    };
    let said = "at once: it was taken off as failed on 2026-11-20,";
    assert!(row.ends_with(said), "{row}");
}

async fn the_list_as_xlsx_keeps_dates_numbers_and_texts_apart(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let request = visitor.request(
        Method::GET,
        "/due.xlsx?car=4101&until=2026-12-01&state=in_window",
    );
    let bytes = request.send().await.unwrap().bytes().await.unwrap();
    let mut book = Xlsx::new(Cursor::new(bytes)).unwrap();
    let sheet = book.worksheet_range("due").unwrap();
    let rows: Vec<&[Data]> = sheet.rows().collect();
    let column = |name: &str| {
        rows[0]
            .iter()
            .position(|title| *title == Data::String(name.to_owned()))
            .unwrap()
    };
    assert!(matches!(rows[1][column("due on")], Data::DateTime(_)));
    assert_eq!(rows[1][column("limit at")], Data::Float(642_400.0));
    assert_eq!(rows[1][column("position")], Data::String(FIRST.to_owned()));
}

async fn a_list_costs_a_handful_of_statements_whoever_reads_it(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.signed_in(Role::Planner).await;
    visitor.get("/due").await;
    let pages = [
        ("/due", 5),
        ("/due?fleet=Sedge&state=overdue", 5),
        ("/due?unit=41", 5),
        ("/due?state=unknown", 4),
    ];
    for (path, most) in pages {
        served.statements.take();
        visitor.get(path).await;
        let sent = served.statements.take();
        assert!(
            (1..=most).contains(&sent.len()),
            "{path}: {} statements: {sent:#?}",
            sent.len()
        );
    }
}

async fn a_file_that_cannot_be_written_says_once_what_was_expected(url: &str) {
    let served = Served::with_fleet(url).await;
    let refused = served.visitor().get("/due.csv?state=soon").await;
    assert_eq!(refused.status(), 422);
    let told = refused.text("main");
    assert!(
        told.contains("expected") && !told.contains("expected expected"),
        "{told}"
    );
}

each_database!(
    a_place_that_is_not_in_the_register_gives_no_empty_list,
    work_without_a_date_ends_the_list_of_a_car_and_is_linked_elsewhere,
    a_file_that_cannot_be_written_says_once_what_was_expected,
    pages_give_each_row_once_in_the_order_of_dates,
    filters_look_where_they_say,
    a_row_says_when_by_which_limit_on_what_and_where,
    a_limit_that_cannot_be_told_is_said_beside_the_date_of_another,
    due_dates_follow_a_reading_and_a_fitting_at_once,
    what_cannot_be_read_is_said_and_nothing_is_listed,
    an_empty_list_says_what_to_do_next,
    the_picture_counts_the_tasks_of_each_week,
    the_picture_of_a_unit_counts_what_that_of_its_fleet_does,
    the_list_as_csv_holds_every_row_and_no_formula,
    a_file_tells_what_makes_work_due_at_once,
    the_list_as_xlsx_keeps_dates_numbers_and_texts_apart,
    a_list_costs_a_handful_of_statements_whoever_reads_it,
);

/// A list from its first page to its last.
pub(super) async fn all_pages(visitor: &Visitor, path: &str) -> Vec<Page> {
    let mut pages = vec![visitor.get(path).await];
    while let Some(next) = next(pages.last().unwrap()) {
        pages.push(visitor.get(&next).await);
        assert!(pages.len() < 10, "{path} has no end");
    }
    pages
}

fn next(page: &Page) -> Option<String> {
    let has_next = page.count("a[rel=next]") == 1;
    has_next.then(|| page.attribute("a[rel=next]", "href").unwrap().to_owned())
}

/// Day, task and subject of each row.
fn rows(page: &Page) -> Vec<(String, String, String)> {
    let column = |number: usize| page.texts(&format!("table.due tbody td:nth-child({number})"));
    let first_word = |text: String| text[..10].to_owned();
    let days = column(1).into_iter().map(first_word);
    let rest = column(3).into_iter().zip(column(5));
    days.zip(rest)
        .map(|(on, (task, subject))| (on, task, subject))
        .collect()
}
