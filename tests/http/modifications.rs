//! Modifications as pages and for programs: issued, embodied, and what is left of them.

use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::visitor::Visitor;

use super::looked_for::with_states;
use super::sample::{FIRST, SECOND, Served};

async fn a_campaign_on_cars_is_issued_and_comes_forward_car_by_car(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get("/modifications/new").await;
    let form = page.form("#new form");
    let form = form
        .fill("number", "M-7")
        .fill("title", "another label")
        .fill("car_type", "Motor car")
        .fill("cars", "4101 to 4199")
        .fill("by", "2026-11-01")
        .fill("source", "instruction 7");
    let both = engineer.submit(&form.clone().fill("part", "DV/210")).await;
    assert_eq!(both.status(), 422);
    let issued = engineer.submit(&form).await;
    assert_eq!(issued.path(), "/modifications/M-7");
    assert_eq!(issued.text("#progress"), "0 of 2");
    assert_eq!(issued.count("dl.facts .state-overdue"), 1);
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get("/modifications/M-7").await;
    let form = page.form("form[action*=\"/embodied\"]");
    let mute = technician.submit(&form.clone().fill("car", "4101")).await;
    assert_eq!(mute.status(), 422);
    let form = form.fill("car", "4101").fill("evidence", "order 12");
    let done = technician.submit(&form).await;
    assert_eq!(done.text("#progress"), "1 of 2");
    served.statements.take();
    let page = technician.get("/modifications/M-7").await;
    assert!(served.statements.take().len() < 10);
    let left = page.texts("[aria-label=\"What is left\"] tbody th");
    assert_eq!(left, ["car 4102"]);
    // The work on the car stands beside it, what is overdue first.
    let due = page.text("[aria-label=\"What is left\"] td.day");
    assert!(due.starts_with("overdue, was due "), "{due}");
    assert!(due.contains("next 2027-03-02"), "{due}");
    let rows = page.attribute("[aria-label=\"What is left\"] td.day > a", "href");
    let rows = technician.get(rows.unwrap()).await;
    assert_eq!(rows.count("table.due tbody tr"), 1);
    let answer = technician.get("/api/v1/modifications/M-7").await.json();
    assert_eq!(answer["units"][0]["embodied"], 1);
    assert_eq!(answer["left"][0]["car"], "4102");
    assert_eq!(answer["left"][0]["next_due"], "2027-03-02");
    assert!(answer["left"][0]["overdue"].is_string(), "{answer}");
    let list = technician.get("/api/v1/modifications").await.json();
    assert_eq!(list["modifications"][0]["number"], "M-7");
    assert_eq!(technician.get("/modifications/M-8").await.status(), 404);
    let listed = technician.get("/modifications").await;
    assert_eq!(listed.texts("tbody th"), ["M-7"]);
}

async fn what_a_campaign_on_cars_still_concerns_names_it_with_its_day(url: &str) {
    let served = Served::with_fleet(url).await;
    let issued = |number: &str, by: &str| {
        json!({"modification_issued": {"number": number, "title": "another label",
            "scope": {"cars": {"car_type": "Motor car", "cars": [{"first": "4101", "last": "4102"}]}},
            "by": by, "source": "instruction 7"}})
    };
    let embodied = |number: &str, car: &str| {
        json!({"embodied": {"modification": number, "subject": {"car": car},
            "evidence": "order 12"}})
    };
    let day = |day: &str| format!("2026-10-{day}T08:00:00Z");
    let facts = vec![
        (day("01"), issued("M-7", "2026-11-01")),
        (day("01"), issued("M-8", "2027-12-31")),
        (day("02"), embodied("M-7", "4101")),
        (day("02"), embodied("M-8", "4101")),
        (day("02"), embodied("M-8", "4102")),
    ];
    served.import(facts).await;
    let visitor = served.signed_in(Role::Planner).await;
    for (path, notes) in [
        ("/cars/4101", 0),
        ("/cars/4102", 1),
        ("/units/41", 1),
        ("/departures?car=4101", 0),
        ("/departures?car=4102", 1),
        ("/departures", 1),
        ("/due", 1),
        ("/due?car=4102", 1),
        ("/due?car=4101", 0),
        ("/due?unit=41", 1),
        ("/due?fleet=Fern", 0),
        ("/due?depot=North", 1),
        ("/due?state=overdue", 1),
        ("/due?state=in_window", 0),
        ("/due?place=off_cars", 0),
        ("/due?until=2026-10-31", 0),
        ("/cars/4102?at=2026-11-20", 0),
    ] {
        let page = visitor.get(path).await;
        let told = page.texts(".campaign");
        assert_eq!(told.len(), notes, "{path}: {told:?}");
        let named = |told: &String| {
            told.contains("modification M-7") && told.contains("Last day 2026-11-01 overdue")
        };
        assert!(told.iter().all(named), "{path}: {told:?}");
    }
    let unit = visitor.get("/units/41").await;
    assert!(
        unit.text(".campaign")
            .contains("in 1 component or car here")
    );
    let file = visitor.get("/due.csv?car=4102").await;
    let lines = file.body().lines();
    let lines = lines.filter(|line| line.contains("modification M-7"));
    let line: Vec<&str> = lines.collect();
    assert_eq!(line.len(), 1, "{}", file.body());
    assert!(line[0].starts_with("2026-11-01,"), "{line:?}");
    assert!(line[0].contains("last day of a modification"), "{line:?}");
    let answer = visitor.get("/api/v1/due?car=4102").await.json();
    let campaign = json!([{"modification": "M-7", "title": "another label", "by": "2026-11-01",
        "overdue": true, "left": 1}]);
    assert_eq!(answer["campaigns"], campaign);
    served.statements.take();
    visitor.get("/cars/4102").await;
    let sent = served.statements.take();
    assert!(sent.len() <= 10, "{sent:#?}");
    what_is_left_is_listed_first(&visitor).await;
}

async fn what_is_left_is_listed_first(visitor: &Visitor) {
    let listed = visitor.get("/modifications").await;
    assert_eq!(
        listed.texts("tbody th"),
        ["M-7", "M-8"],
        "what is left first"
    );
    let stand = listed.texts("tbody td:nth-child(3)");
    assert_eq!(stand, ["overdue", "nothing left"]);
    assert_eq!(listed.count("tbody .state-overdue"), 1);
    for (state, expected) in [
        ("overdue", vec!["M-7"]),
        ("open", Vec::new()),
        ("embodied", vec!["M-8"]),
        ("empty", Vec::new()),
    ] {
        let some = visitor.get(&format!("/modifications?state={state}")).await;
        assert_eq!(some.texts("tbody th"), expected, "{state}");
    }
    for wrong in ["state=late", "state=open&at=2026-11-01"] {
        let wrong = visitor.get(&format!("/modifications?{wrong}")).await;
        assert_eq!(wrong.status(), 422, "{}", wrong.text("main"));
    }
    let list = visitor.get("/api/v1/modifications").await.json();
    let told = |place: usize| {
        let one = &list["modifications"][place];
        (one["overdue"].clone(), one["embodied_everywhere"].clone())
    };
    assert_eq!(told(0), (json!(true), json!(false)));
    assert_eq!(told(1), (json!(false), json!(true)));
}

/// Of cars that are not in the register nobody knows that they were modified.
async fn a_campaign_in_whose_scope_nothing_is_says_so_and_is_withdrawn(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let issue = async |cars: &str| {
        let page = engineer.get("/modifications/new").await;
        let form = page.form("#new form");
        let form = form
            .fill("number", "M-9")
            .fill("title", "another label")
            .fill("car_type", "Motor car")
            .fill("cars", cars)
            .fill("by", "2026-11-01")
            .fill("source", "instruction 9");
        engineer.submit(&form).await
    };
    let slip = issue("4990 to 4999").await;
    assert_eq!(slip.path(), "/modifications/M-9");
    let nothing = "nothing in the register is in its scope";
    assert_eq!(slip.text("#progress"), nothing);
    assert_eq!(slip.count(".done"), 0, "{}", slip.text("main"));
    let listed = engineer.get("/modifications").await;
    assert_eq!(
        listed.texts("tbody td:nth-child(3)"),
        ["nothing in its scope"]
    );
    for (state, expected) in [("empty", vec!["M-9"]), ("embodied", Vec::new())] {
        let some = engineer.get(&format!("/modifications?state={state}")).await;
        assert_eq!(some.texts("tbody th"), expected, "{state}");
    }
    let list = engineer.get("/api/v1/modifications").await.json();
    let one = engineer.get("/api/v1/modifications/M-9").await.json();
    for told in [&list["modifications"][0], &one["modification"]] {
        assert_eq!(told["embodied_everywhere"], json!(null), "{told}");
        assert_eq!(told["nothing_in_scope"], json!(true), "{told}");
    }
    let entry = slip.attribute("p.caution a[href^='/ledger/']", "href");
    let page = engineer.get(entry.unwrap()).await;
    let form = page.form("form[action*='/withdraw']");
    let form = form.fill("reason", "the numbers of other cars");
    let withdrawn = engineer.submit_and_agree(&form).await;
    assert_eq!(withdrawn.status(), 200, "{}", withdrawn.text("main"));
    assert_eq!(engineer.get("/modifications/M-9").await.status(), 404);
    let right = issue("4101 to 4102").await;
    assert_eq!(right.text("#progress"), "0 of 2");
}

async fn what_a_campaign_on_components_still_concerns_names_it_with_its_day(url: &str) {
    let served = with_states(url).await;
    let visitor = served.visitor();
    let first = format!("/positions/4201/{}", FIRST.replace('=', "%3D"));
    let told = async |path: &str| visitor.get(path).await.texts(".campaign");
    let component = "/components/DV%2F230/71";
    for path in [first.as_str(), component] {
        let told = told(path).await;
        assert_eq!(told.len(), 1, "{path}: {told:?}");
        assert!(told[0].contains("modification M-7"), "{told:?}");
        assert!(
            told[0].ends_with("Last day 2026-12-31"),
            "not overdue: {told:?}"
        );
    }
    let car = told("/cars/4201").await;
    assert!(
        car[0].contains("in 2 components or cars here"),
        "one is not known: {car:?}"
    );
    assert_eq!(told("/due?car=4201").await.len(), 1);
    assert_eq!(told("/due?part=DV%2F210").await.len(), 0);
    let embodied = json!({"embodied": {"modification": "M-7",
        "subject": {"component": {"part": "DV/230", "serial": "71"}}, "evidence": "order 12"}});
    let at = "2026-06-01T08:00:00Z".to_owned();
    served.import(vec![(at, embodied)]).await;
    assert_eq!(told(&first).await, [""; 0]);
    assert_eq!(told(component).await, [""; 0]);
    let before = format!("{component}?at=2026-05-01");
    assert_eq!(told(&before).await.len(), 1, "as it was then");
    let car = told("/cars/4201").await;
    assert!(car[0].contains("in 1 component or car here"), "{car:?}");
}

async fn what_may_be_fitted_says_which_modification_it_still_needs(url: &str) {
    let served = with_states(url).await;
    let received = |serial: &str, state: &str| {
        json!({"component_received": {"component": {"part": "DV/230", "serial": serial},
            "condition": "serviceable", "location": "Store North", "modification": state}})
    };
    let removed = json!({"removed": {"component": {"part": "DV/230", "serial": "72"},
        "reason": "failed", "condition": "removed_to_be_judged", "to": "Store North"}});
    let facts = [removed, received("73", "A"), received("74", "B")];
    let facts = (1..)
        .zip(facts)
        .map(|(day, fact)| (format!("2026-05-0{day}T08:00:00Z"), fact));
    served.import(facts.collect()).await;
    let technician = served.signed_in(Role::Technician).await;
    let place = format!("/positions/4201/{}", SECOND.replace('=', "%3D"));
    let page = technician.get(&place).await;
    let offered = page.texts("table:has(a[href*='#fit']) tbody th");
    // What needs nothing comes first, though it came into the register later.
    let still = "DV/230 serial 73still to have modification M-7 by 2026-12-31";
    assert_eq!(offered, ["DV/230 serial 74", still]);
}

/// SQLite puts no more than 500 questions together in one statement.
async fn however_many_were_issued_each_says_whether_anything_is_left(url: &str) {
    let served = Served::with_fleet(url).await;
    let issued = (1..=501).map(|number| {
        let cars = json!([{"first": "4101", "last": "4102"}]);
        let issued = json!({"modification_issued": {"number": format!("M-{number}"),
            "title": "another label", "scope": {"cars": {"car_type": "Motor car", "cars": cars}},
            "by": "2026-12-31", "source": "invented for the tests"}});
        ("2026-05-02T08:00:00Z".to_owned(), issued)
    });
    served.import(issued.collect()).await;
    let list = served.visitor().get("/api/v1/modifications").await.json();
    let list = list["modifications"].as_array().unwrap();
    assert_eq!(list.len(), 501);
    let left = |one: &serde_json::Value| one["embodied_everywhere"] == json!(false);
    assert!(list.iter().all(left));
}

each_database!(
    a_campaign_in_whose_scope_nothing_is_says_so_and_is_withdrawn,
    however_many_were_issued_each_says_whether_anything_is_left,
    what_may_be_fitted_says_which_modification_it_still_needs,
    a_campaign_on_cars_is_issued_and_comes_forward_car_by_car,
    what_a_campaign_on_cars_still_concerns_names_it_with_its_day,
    what_a_campaign_on_components_still_concerns_names_it_with_its_day,
);
