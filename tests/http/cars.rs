//! Cars, units and fleets as a technician sees them, their meters, and the car in the past.

use domain::people::Role;
use tests::each_database;
use tests::page::Page;

use super::sample::Served;

async fn cars_are_listed_with_their_type_unit_and_depot(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/cars").await;
    assert_eq!(page.texts("tbody th"), ["4101", "4102", "4201"]);
    let row = page.texts("tbody tr:nth-child(2) td");
    assert_eq!(
        row,
        ["Motor car revision A", "41 place 2", "Sedge", "North"]
    );
    for (path, expected) in [
        ("/cars?fleet=Fern", vec!["4201"]),
        ("/cars?depot=North", vec!["4101", "4102"]),
        ("/cars?fleet=Fern&depot=North", vec![]),
        ("/cars?after=4101", vec!["4102", "4201"]),
    ] {
        assert_eq!(
            visitor.get(path).await.texts("tbody th"),
            expected,
            "{path}"
        );
    }
}

async fn a_long_list_of_cars_comes_in_pages(url: &str) {
    let served = Served::with_fleet(url).await;
    let car = |number: usize| {
        let fact = serde_json::json!({"car_registered": {
            "number": format!("5{number:03}"), "car_type": "Motor car", "revision": "A",
            "fleet": "Fern", "depot": "South",
        }});
        ("2024-01-01T08:00:00Z".to_owned(), fact)
    };
    served.import((0..100).map(car).collect()).await;
    let visitor = served.visitor();
    let first = visitor.get("/cars?fleet=Fern").await;
    let second = visitor
        .get(first.attribute(".pages a", "href").unwrap())
        .await;
    let mut numbers = first.texts("tbody th");
    numbers.extend(second.texts("tbody th"));
    assert_eq!((numbers.len(), second.count(".pages a")), (101, 0));
    assert!(numbers.is_sorted());
    let fleet = visitor.get("/fleets/Fern").await;
    assert!(fleet.text("main").contains("and more; see all cars"));
}

async fn a_car_registered_by_mistake_is_withdrawn_on_the_page_of_its_entry(url: &str) {
    let served = Served::with_fleet(url).await;
    let fact = serde_json::json!({"car_registered": {"number": "4199", "car_type": "Motor car",
        "revision": "A", "fleet": "Fern", "depot": "South"}});
    let registered = vec![("2026-11-24T08:00:00Z".to_owned(), fact)];
    served.import(registered).await;
    let entry = served.store.view().await.unwrap().last_entry;
    let planner = served.signed_in(Role::Planner).await;
    assert_eq!(planner.get("/cars/4199").await.status(), 200);
    let page = planner.get(&format!("/ledger/{entry}")).await;
    let form = page.form("form[action$=\"/withdraw\"]");
    let form = form.fill("reason", "it has another number");
    let page = planner.submit_and_agree(&form).await;
    assert_eq!(page.status(), 200, "{}", page.text("main"));
    assert_eq!(planner.get("/cars/4199").await.status(), 404);
    let listed = planner.get("/cars?fleet=Fern").await;
    assert_eq!(listed.texts("tbody th"), ["4201"]);
}

async fn a_fleet_shows_its_units_depot_by_depot(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/fleets/Sedge").await;
    assert_eq!(page.texts(".narrow tbody td"), ["2"]);
    assert_eq!(page.text(".long tbody th"), "41");
    let told = page.texts(".long tbody td");
    // Three tests are overdue, and two inspections are due within the thirty days.
    let expected = ["4101 Motor car, 4102 Motor car", "3", "5", "none"];
    assert_eq!(told, expected);
    for (link, rows) in [("state=overdue", 3), ("until=", 5)] {
        let link = format!("table.units a[href*='{link}']");
        let link = page.attribute(&link, "href").unwrap();
        let list = served.visitor().get(link).await;
        assert_eq!(list.count("table.due tbody tr"), rows, "{link}");
    }
    assert_eq!(served.visitor().get("/fleets/Heron").await.status(), 404);
}

async fn a_unit_shows_its_cars_as_they_stand_and_what_stands_out(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/units/41").await;
    let drawn = page.texts("svg.unit-row a.car text");
    assert_eq!(
        drawn,
        ["4101", "end 1", "end 2", "4102", "end 2", "end 1"],
        "the second car is turned"
    );
    let turned = page.texts("tbody tr:nth-child(2) td");
    assert_eq!(turned[1], "end 2 first");
    // Valve 3 was last overhauled never and made in 2019: its test is overdue.
    assert!(turned[2].starts_with("overdue"), "{turned:?}");
    let empty = page.count("svg.unit-row a.mark.empty");
    assert_eq!(empty, 3, "one cock on each car, and a valve on the second");
    assert_eq!(served.visitor().get("/units/42").await.status(), 404);
}

async fn a_car_shows_its_meters_and_says_what_was_never_read(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/cars/4101").await;
    let meters = meter_cells(&page);
    // 500,000 km on 2025-12-01, 572,800 after 182 days, 632,000 after 153 more.
    assert_eq!(meters[0], "632,000 km");
    assert_eq!(meters[1], "2026-11-01 08:00 +00:00");
    assert_eq!(meters[4], "632,000 km");
    assert_eq!(meters[5..], ["never read", "never read"]);
    assert_eq!(page.fact("Mass, normal load"), "not known");
}

async fn every_position_is_drawn_and_listed_with_what_is_fitted(url: &str) {
    let served = Served::with_fleet(url).await;
    let page = served.visitor().get("/cars/4101").await;
    assert_eq!(page.count("svg.car-side a.mark"), 3);
    assert_eq!(page.count("svg.car-side a.mark.empty"), 1);
    let position = page.attribute("svg.car-side a.mark.empty", "href");
    assert_eq!(position, Some("/positions/4101/%3DBS1-Q1"));
    let title = page.text("svg.car-side a.mark.empty title");
    assert_eq!(
        title, "=BS1-Q1: isolating_cock; 5.0 m from end 1; empty",
        "the drawing says in words what it shows"
    );
    let row = page.texts("#positions ~ div tbody tr:first-child td");
    assert_eq!(row[1], "DV/210 serial 1since 2026-01-01");
    assert_eq!(row[2], "serviceable");
    let last = page.texts("#positions ~ div tbody tr:last-child td");
    assert_eq!(last[1], "empty");
}

async fn a_car_of_the_past_shows_what_was_fitted_by_both_times_and_takes_no_entry(url: &str) {
    let served = Served::with_fleet(url).await;
    let technician = served.signed_in(Role::Technician).await;
    // Fitted on 2026-01-01, recorded at the server's time, 2026-11-25 12:00.
    for (path, fitted_at_first) in [
        ("/cars/4101", true),
        ("/cars/4101?at=2025-12-31", false),
        ("/cars/4101?at=2026-01-01+08:00", true),
        ("/cars/4101?at=2026-02-01&known=2026-11-25+12:00", true),
    ] {
        let page = technician.get(path).await;
        let row = page.texts("#positions ~ div tbody tr:first-child");
        let row = row.concat();
        assert_eq!(row.contains("serial 1"), fitted_at_first, "{path}: {row}");
        let past = path.contains('?');
        assert_eq!(page.count("[role=status]"), usize::from(past), "{path}");
        assert_eq!(page.count("details.entry") == 0, past, "{path}");
        assert_eq!(page.text("main").contains("Due next then"), past, "{path}");
    }
    let ahead = technician.get("/cars/4101?at=2026-11-26").await;
    assert_eq!(ahead.status(), 422);
    assert!(ahead.text("main").contains("a time not after now"));
}

async fn a_cut_out_of_then_is_told_on_the_drawing(url: &str) {
    let served = Served::with_fleet(url).await;
    let closed = serde_json::json!({"isolated": {
        "car": "4101", "position": "=BS1-Q1", "state": "closed_vented", "cause": "leaks",
    }});
    served
        .import(vec![("2026-03-01T08:00:00Z".to_owned(), closed)])
        .await;
    let visitor = served.visitor();
    let now = visitor.get("/cars/4101").await;
    assert_eq!(now.count("svg.car-side a.cut-out"), 1);
    let then = visitor.get("/cars/4101?at=2026-03-02").await;
    assert_eq!(then.count("svg.car-side a.cut-out"), 1);
    let before = visitor.get("/cars/4101?at=2026-02-28").await;
    assert!(
        before
            .text("main")
            .contains("None is recorded on this car for then")
    );
    let known = visitor
        .get("/cars/4101?at=2026-03-02&known=2026-11-25+12:00")
        .await;
    assert_eq!(known.count("svg.car-side a.cut-out"), 1);
}

async fn a_reading_is_recorded_and_shown(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/cars/4101").await;
    let form = page.form("#readings form").fill("value", "640000.5");
    let page = planner.submit(&form).await;
    assert_eq!((page.status(), page.path()), (200, "/cars/4101"));
    assert_eq!(
        meter_cells(&page)[..2],
        ["640,000.5 km", "2026-11-25 12:00 +00:00"]
    );
    let before = served.store.view().await.unwrap().last_entry;
    let again = planner.submit(&form).await;
    assert_eq!(again.path(), "/cars/4101");
    let after = served.store.view().await.unwrap().last_entry;
    assert_eq!(after, before, "a form sent twice is recorded once");
}

async fn a_reading_that_cannot_be_is_shown_again_with_what_would_be_taken(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/cars/4101").await;
    let last = served.store.view().await.unwrap().last_entry;
    let typed = page.form("#readings form").fill("value", "64O000");
    let wrong = planner.submit(&typed).await;
    assert_eq!(wrong.status(), 422);
    assert!(
        wrong
            .text("#readings .wrong")
            .contains("at most three decimals")
    );
    assert_eq!(wrong.attribute("#readings-value", "value"), Some("64O000"));
    assert_eq!(
        wrong.attribute("#readings-value", "aria-invalid"),
        Some("true")
    );
    let lower = wrong.form("#readings form").fill("value", "600000");
    let lower = planner.submit(&lower).await;
    assert_eq!(lower.status(), 422);
    let refusal = lower.text("#readings .refusal");
    assert!(refusal.contains("Nothing was changed"), "{refusal}");
    let fast = lower.form("#readings form").fill("value", "700000");
    let fast = planner.submit(&fast).await;
    assert_eq!(fast.status(), 422);
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    let confirmed = fast.form("#readings form");
    let confirmed = confirmed.fill("confirmed", "hauled over the line by another");
    let page = planner.submit(&confirmed).await;
    assert_eq!(page.path(), "/cars/4101");
    assert_eq!(meter_cells(&page)[0], "700,000 km");
}

async fn a_replaced_meter_leaves_what_was_run_as_it_is(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let form = planner.get("/cars/4101").await.form("#meters form");
    let form = form.fill("last_value", "640000").fill("first_value", "12");
    let page = planner.submit(&form).await;
    let meters = meter_cells(&page);
    assert_eq!((&*meters[0], &*meters[4]), ("12 km", "640,000 km"));
    // The inspection of valve 1, fitted at 512,400 km, is due at 642,400 km: 2,400 km later.
    let valve = planner.get("/components/DV%2F210/1").await;
    let limits = valve.text("main");
    assert!(
        limits.contains("when the car’s meter shows 2,412 km"),
        "{limits}"
    );
}

async fn forms_are_shown_to_those_who_may_send_them(url: &str) {
    let served = Served::with_fleet(url).await;
    let auditor = served.signed_in(Role::Auditor).await;
    assert_eq!(auditor.get("/cars/4101").await.count("details.entry"), 0);
    let position = "/positions/4101/%3DBS1-K1";
    assert_eq!(auditor.get(position).await.count("details.entry"), 0);
    // A form of somebody else's page, with a token of the auditor's own.
    let page = auditor.get("/cars/4101").await;
    let token = page.form("[action='/sign-out']");
    let token = token.values("form_token")[0].to_owned();
    let fields = [
        ("form_token", &*token),
        ("meter", "odometer"),
        ("value", "640000"),
    ];
    let request = auditor.request(reqwest::Method::POST, "/cars/4101/readings");
    assert_eq!(auditor.send(request.form(&fields)).await.status(), 403);
}

async fn pages_stay_within_their_budget_of_statements(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    engineer.get("/cars").await;
    for (path, most) in [
        ("/cars", 4),
        ("/fleets/Sedge", 7),
        ("/units/41", 7),
        ("/cars/4101", 8),
        ("/cars/4101?at=2026-02-01", 21),
        ("/positions/4101/%3DBS1-K1", 9),
        ("/positions/4102/%3DBS2-K1", 8),
        ("/components", 3),
        ("/components?location=Store+North", 5),
        ("/components/DV%2F210/1", 9),
        ("/find?q=nothing", 7),
        ("/find?q=4101+nothing", 8),
    ] {
        served.statements.take();
        engineer.get(path).await;
        let sent = served.statements.take();
        let sent: Vec<_> = sent.iter().filter(|sent| sent.contains("from")).collect();
        assert!(sent.len() <= most, "{path}: {}\n{sent:#?}", sent.len());
    }
}

fn meter_cells(page: &Page) -> Vec<String> {
    page.texts("table.meters td")
}

each_database!(
    cars_are_listed_with_their_type_unit_and_depot,
    a_long_list_of_cars_comes_in_pages,
    a_car_registered_by_mistake_is_withdrawn_on_the_page_of_its_entry,
    a_fleet_shows_its_units_depot_by_depot,
    a_unit_shows_its_cars_as_they_stand_and_what_stands_out,
    a_car_shows_its_meters_and_says_what_was_never_read,
    every_position_is_drawn_and_listed_with_what_is_fitted,
    a_car_of_the_past_shows_what_was_fitted_by_both_times_and_takes_no_entry,
    a_cut_out_of_then_is_told_on_the_drawing,
    a_reading_is_recorded_and_shown,
    a_reading_that_cannot_be_is_shown_again_with_what_would_be_taken,
    a_replaced_meter_leaves_what_was_run_as_it_is,
    forms_are_shown_to_those_who_may_send_them,
    pages_stay_within_their_budget_of_statements,
);
