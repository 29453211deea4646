//! Checks of the fleet on pages and for programs: from the question which cars carry it to the
//! last answer.

use domain::people::Role;
use tests::each_database;

use super::sample::{FIRST, Served, fitted};

async fn assert_seen_by_anybody(served: &Served, address: &str) {
    let visitor = served.visitor();
    let seen = visitor.get(address).await;
    assert_eq!(seen.count("form.fields"), 0);
    assert_eq!(visitor.get("/fleet-checks/999999").await.status(), 404);
    assert_eq!(
        visitor.get(&format!("{address}?after=%00")).await.status(),
        422
    );
}

async fn a_check_goes_from_the_cars_that_carry_it_to_the_last_answer(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let found = planner.get("/carrying?part=DV%2F210").await;
    let open = found.attribute("a[href^='/fleet-checks/new']", "href");
    let page = planner.get(open.unwrap()).await;
    let form = page.form("#new form");
    let form = form
        .fill("title", "cracked <seats>")
        .fill("instruction", "look at the seat");
    let early = planner.submit(&form.fill("answer_by", "2026-11-24")).await;
    assert_eq!(early.status(), 422);
    assert!(early.text(".refusal").contains("Nothing was changed"));
    let form = early.form("#new form").fill("answer_by", "2026-12-01");
    let check = planner.submit(&form).await;
    assert_eq!(check.text("h1"), "cracked <seats>");
    assert_eq!(check.texts("table tbody th"), ["4101", "4102"]);
    assert!(
        check
            .text(".caution")
            .contains("2 of 2 cars have not answered")
    );
    assert!(
        planner
            .get("/fleet-checks")
            .await
            .text("main")
            .contains("2 of 2")
    );

    let technician = served.signed_in(Role::Technician).await;
    let number = planner.get("/api/v1/fleet-checks").await.json()[0]["number"].clone();
    let address = format!("/fleet-checks/{number}");
    let answer = async |car: &str, answer: &str, remark: &str| {
        let page = technician.get(&format!("{address}?car={car}")).await;
        let form = page.form("#answer form");
        let form = form.fill("answer", answer).fill("remark", remark);
        technician.submit(&form).await
    };
    let unsaid = answer("4101", "", "looked at").await;
    assert_eq!(unsaid.status(), 422);
    assert!(
        unsaid.text(".wrong").contains("sound"),
        "{}",
        unsaid.text("main")
    );
    let silent = answer("4101", "defective", "").await;
    assert_eq!(silent.status(), 422);
    assert!(
        silent
            .text(".refusal")
            .starts_with("What was seen and done: leaving it empty"),
        "{}",
        silent.text("main")
    );
    answer("4101", "defective", "crack of 4 mm").await;
    let closed = answer("4102", "not_carried", "").await;
    assert!(
        closed.text(".done").contains("Closed"),
        "{}",
        closed.text("main")
    );
    let api = technician.get(&format!("/api/v1{address}")).await.json();
    assert_eq!(api["check"]["unanswered"], 0);
    assert_eq!(api["cars"][0]["answer"], "defective");
    assert_eq!(api["cars"][0]["remark"], "crack of 4 mm");
    assert_eq!(api["cars"][1]["answer"], "not_carried");
    assert_seen_by_anybody(&served, &address).await;
}

async fn a_car_shows_the_open_checks_that_ask_it_and_leads_to_the_answer(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/fleet-checks/new?part=DV%2F210").await;
    let form = page.form("#new form");
    let form = form
        .fill("title", "cracked seats")
        .fill("instruction", "look at the seat")
        .fill("answer_by", "2026-12-01");
    planner.submit(&form).await;
    let technician = served.signed_in(Role::Technician).await;
    let car = technician.get("/cars/4101").await;
    assert!(
        car.text(".checks .caution")
            .contains("This car has not answered"),
        "{}",
        car.text("main")
    );
    let answer = car.attribute(".checks .caution a[href*='#answer']", "href");
    let page = technician.get(answer.unwrap()).await;
    assert_eq!(
        page.attribute("#answer input[name=car]", "value"),
        Some("4101")
    );
    let form = page.form("#answer form").fill("answer", "sound");
    technician.submit(&form).await;
    let car = technician.get("/cars/4101").await;
    assert!(car.text(".checks .done").contains("has answered: sound"));
    let api = technician.get("/api/v1/cars/4101").await.json();
    assert_eq!(api["fleet_checks"][0]["answer"], "sound");
    let api = technician.get("/api/v1/cars/4102").await.json();
    assert_eq!(api["fleet_checks"][0]["answer"], serde_json::Value::Null);
    let other = technician.get("/cars/4201").await;
    assert_eq!(other.count(".checks"), 0);
    assert_eq!(
        technician
            .get("/cars/4101?at=2026-11-01")
            .await
            .count(".checks"),
        0
    );
    let page = technician.get("/cars/4102").await;
    let answer = page.attribute(".checks .caution a[href*='#answer']", "href");
    let page = technician.get(answer.unwrap()).await;
    technician
        .submit(&page.form("#answer form").fill("answer", "sound"))
        .await;
    // The last answer closed it.
    assert_eq!(technician.get("/cars/4101").await.count(".checks"), 0);
}

/// A valve goes on another car while the check is open: the last answer asks that car too.
async fn a_check_shows_the_cars_that_its_last_answer_asked_too(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/fleet-checks/new?part=DV%2F210").await;
    let form = page
        .form("#new form")
        .fill("title", "cracked seats")
        .fill("instruction", "look at the seat")
        .fill("cars", "4101, 4101 to 4102")
        .fill("answer_by", "2026-12-01");
    let range = planner.submit(&form).await;
    let says = range.text(".wrong");
    assert!(says.contains("4101 to 4102: expected each car"), "{says}");
    let form = range.form("#new form").fill("cars", "4101;4102");
    let check = planner.submit(&form).await;
    let address = check.path().to_owned();
    served.pass(60);
    let fit = fitted("4", "4201", FIRST);
    served
        .import(vec![("2026-11-25T12:00:00Z".to_owned(), fit)])
        .await;
    let technician = served.signed_in(Role::Technician).await;
    let answer = async |car: &str| {
        let page = technician.get(&format!("{address}?car={car}")).await;
        let form = page.form("#answer form").fill("answer", "sound");
        technician.submit(&form).await
    };
    let first = answer("4101").await;
    assert_eq!(first.texts("table tbody th"), ["4101", "4102"]);
    let open = answer("4102").await;
    assert_eq!(open.texts("table tbody th"), ["4101", "4102", "4201"]);
    let says = open.text(".caution");
    assert!(says.contains("1 of 3 cars have not answered"), "{says}");
    assert_eq!(open.count("#not-looked-at"), 0, "it is asked now");
    let row = "table tbody tr:nth-child(3) td:nth-of-type(4)";
    assert_eq!(open.text(row), "none yet");
    assert_eq!(open.texts("table tbody td.why"), ["carries it"; 3]);
    let entry = open.attribute("table tbody tr:nth-child(2) a[href^='/ledger/']", "href");
    let entry = technician.get(entry.unwrap()).await;
    let told = entry.text("main");
    assert!(told.contains("asked too, since they carry it"), "{told}");
    let closed = answer("4201").await;
    assert!(
        closed.text(".done").contains("Closed"),
        "{}",
        closed.text("main")
    );
}

async fn cars_that_must_answer_are_named_by_their_numbers_alone(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/fleet-checks/new").await;
    let form = page
        .form("#new form")
        .fill("title", "cracked seats")
        .fill("instruction", "look at the seat")
        .fill("looked_for", "by hand")
        .fill("answer_by", "2026-12-01");
    for (cars, expected) in [
        ("4101,,4102", "expected "),
        ("car 4101", "car 4101: expected its number alone"),
    ] {
        let refused = planner.submit(&form.clone().forge("cars", cars)).await;
        assert_eq!(refused.status(), 422, "{cars}");
        let says = refused.text("#new-cars-wrong");
        assert!(says.starts_with(expected), "{cars}: {says}");
    }
}

async fn a_check_is_told_as_it_stood_and_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get("/fleet-checks/new?part=DV%2F210").await;
    let form = page
        .form("#new form")
        .fill("title", "cracked seats")
        .fill("instruction", "look at the seat")
        .fill("answer_by", "2026-12-01");
    let address = planner.submit(&form).await.path().to_owned();
    let technician = served.signed_in(Role::Technician).await;
    for (car, answer) in [("4101", "defective"), ("4102", "sound")] {
        served.pass(60);
        let page = technician.get(&format!("{address}?car={car}")).await;
        let form = page.form("#answer form").fill("answer", answer);
        technician.submit(&form.fill("remark", "looked at")).await;
    }
    // Opened at 12:00, answered for at 12:01 and 12:02.
    for (times, open, answers) in [
        ("at=2026-11-25T12:00:30Z", 1, ["none yet", "none yet"]),
        ("at=2026-11-25T12:01:30Z", 1, ["defective", "none yet"]),
        ("at=2026-11-25T12:02:00Z", 0, ["defective", "sound"]),
        (
            "at=2026-11-25T12:02:00Z&known=2026-11-25T12:01:30Z",
            1,
            ["defective", "none yet"],
        ),
    ] {
        let one = technician.get(&format!("{address}?{times}")).await;
        assert_eq!(one.status(), 200, "{times}: {}", one.text("main"));
        assert_eq!(one.texts("tbody td:nth-of-type(4)"), answers, "{times}");
        assert!(one.texts(".caution")[0].contains("speaks of the past"));
        assert_eq!(one.count("#answer"), 0, "{times}");
        let list = technician.get(&format!("/fleet-checks?{times}")).await;
        let says = list.text("main");
        let nothing_open = says.contains("No check was open then");
        assert_eq!(nothing_open, open == 0, "{times}: {says}");
        let lists = list.attribute("tbody th a", "href");
        assert_eq!(lists, Some(&*format!("{address}?{}", encoded(times))));
        let program = format!("/api/v1/fleet-checks?{times}");
        let told = technician.get(&program).await.json();
        assert_eq!(told.as_array().unwrap().len(), open, "{times}");
        let program = format!("/api/v1{address}?{times}");
        let told = technician.get(&program).await.json();
        let left = answers.iter().filter(|answer| **answer == "none yet");
        assert_eq!(told["check"]["unanswered"], left.count(), "{times}");
    }
    let before = "at=2026-11-25T11:00:00Z";
    let early = technician.get(&format!("{address}?{before}")).await;
    assert_eq!(early.status(), 404);
    let list = technician.get(&format!("/fleet-checks?{before}")).await;
    assert!(list.text("main").contains("No check was open then"));
    // As at now is what stands now.
    let now = technician.get(&address).await.texts("table tbody tr");
    let as_at_now = format!("{address}?at=2026-11-25T12:02:00Z");
    assert_eq!(
        technician.get(&as_at_now).await.texts("table tbody tr"),
        now
    );
}

/// Times as an address has them.
fn encoded(times: &str) -> String {
    times.replace(':', "%3A")
}

each_database!(
    a_check_is_told_as_it_stood_and_as_it_was_known,
    cars_that_must_answer_are_named_by_their_numbers_alone,
    a_check_shows_the_cars_that_its_last_answer_asked_too,
    a_check_goes_from_the_cars_that_carry_it_to_the_last_answer,
    a_car_shows_the_open_checks_that_ask_it_and_leads_to_the_answer,
);
