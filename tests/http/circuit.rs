//! The drawing of a circuit, read over HTTP from the real invented designs.

use tests::each_database;
use tests::page::Page;

use super::sample::Served;

/// The codes of what is drawn with a class.
fn drawn(page: &Page, class: &str) -> Vec<String> {
    let parts = page.attributes(&format!("svg.sheet-wide .part{class}"), "data-code");
    let mut codes: Vec<String> = parts.into_iter().map(str::to_owned).collect();
    codes.sort();
    codes
}

/// What a cock on the drawing leads to.
fn turn(page: &Page, code: &str) -> String {
    let selector = format!("svg.sheet-wide a.part[data-code=\"{code}\"]");
    page.attribute(&selector, "href")
        .expect("a cock")
        .to_owned()
}

/// What belongs to the brake of bogie 1 behind its cylinder cock.
const BEHIND_B1: [&str; 12] = [
    "=BS1-BT1", "=BS1-BT2", "=BS1-MB1", "=BS1-MB2", "=BS1-MB3", "=BS1-MB4", "=BS1-QM1", "=BS1-QN6",
    "=BS1-QN7", "=BS1-WH1", "=BS1-WH2", "=BS1-XT1",
];

/// A distributor that gives nothing may hold its brakes on as well: the decision and each drawing say
/// so, whichever mode is drawn.
async fn the_drawing_says_of_a_brake_what_the_decision_says(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let off = "cannot be said to be off";
    let failed = "close=5103:%3DBS-QN1:failed";
    let decision = visitor.get(&format!("/trains/T2?{failed}")).await;
    assert_eq!(decision.text("main").matches(off).count(), 2);
    for mode in ["service", "emergency"] {
        let path = format!("/trains/T2/circuit?{failed}&car=5103&mode={mode}");
        let page = visitor.get(&path).await;
        assert_eq!(page.text("main").matches(off).count(), 2, "{mode}");
    }
}

async fn every_part_of_the_circuit_is_drawn_for_every_type_of_car(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    // Positions of the type, less those that its description leaves out of the circuit.
    for (train, car, parts) in [
        ("T1", "4101", 86 - 5),
        ("T1", "4102", 84 - 7),
        ("T1", "4103", 86 - 5),
        ("T2", "5101", 108 - 8),
        ("T2", "5102", 81 - 6),
        ("T2", "5103", 68 - 6),
        ("T2", "5106", 84 - 7),
    ] {
        let page = visitor
            .get(&format!("/trains/{train}/circuit?car={car}"))
            .await;
        assert_eq!(page.status(), 200);
        let apart = page.count("ul.outside li");
        assert_eq!(
            page.count("svg.sheet-wide .part[data-code]"),
            parts,
            "{car}, {apart} apart"
        );
        let struck = page.count("svg.sheet-wide .strike, svg.sheet-wide .crossed");
        assert_eq!(struck, 0, "{car}");
        assert_eq!(page.count(".blocks li"), 6, "{car}");
        assert!(page.text(".done").starts_with("✓ Nothing is lost"), "{car}");
        // Every part and line says what it is, and everything is said in words.
        let titles = page.count("svg.sheet-wide title");
        assert!(parts < titles, "{car}: {titles}");
        assert!(drawn(&page, ".lost").is_empty(), "{car}");
    }
}

async fn a_cock_closed_by_its_link_strikes_its_bogie_through_and_says_why(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/trains/T1/circuit?car=4101").await;
    assert_eq!(
        (page.count(".stands"), page.count(".what-if-banner")),
        (1, 0)
    );
    let shut = visitor.get(&turn(&page, "=BS1-QM1")).await;
    assert_eq!(
        (shut.count(".stands"), shut.count(".what-if-banner")),
        (0, 1)
    );
    assert!(shut.text(".what-if-tag").contains("no decision"));
    assert_eq!(drawn(&shut, ".lost"), BEHIND_B1);
    let why = "car 4101 =BS1-QM1, isolating cock, brake cylinders of bogie 1, vents: closed vented";
    let title = shut.text("svg.sheet-wide .part[data-code=\"=BS1-MB1\"] title");
    assert!(title.contains("lost") && title.contains(why), "{title}");
    // The same in words: the brakes, and the other parts.
    let brakes = shut.texts("table.losses tbody tr");
    assert_eq!(brakes.len(), 1);
    assert!(
        brakes[0].contains("bogie 1") && brakes[0].contains("=BS1-MB4"),
        "{brakes:?}"
    );
    let parts = shut.texts("table.parts tbody tr");
    assert!(
        parts[0].contains("=BS1-QN6") && parts[0].contains(why),
        "{parts:?}"
    );
    let blocks = shut.texts(".blocks li");
    assert!(blocks[0].contains("1 cut out") && blocks[0].contains("4 of 8"));
    assert!(blocks[1].contains("8 of 8"), "{blocks:?}");
    // The link takes it back again, and the register knows nothing of it.
    let open = visitor.get(&turn(&shut, "=BS1-QM1")).await;
    assert_eq!(open.count(".what-if-banner"), 0);
    assert!(drawn(&open, ".lost").is_empty());
}

async fn a_pilot_cock_takes_service_and_leaves_emergency(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let shut = "/trains/T1/circuit?car=4101&close=4101%3A%3DBS1-QM2%3Aclosed_vented";
    let service = visitor.get(&format!("{shut}&mode=service")).await;
    assert!(drawn(&service, ".lost").contains(&"=BS1-MB1".to_owned()));
    let emergency = visitor.get(&format!("{shut}&mode=emergency")).await;
    let lost = drawn(&emergency, ".lost");
    assert!(!lost.contains(&"=BS1-MB1".to_owned()), "{lost:?}");
    // The cock itself stands closed in both.
    assert_eq!(drawn(&emergency, ".cock-supposed"), ["=BS1-QM2"]);
}

async fn what_is_lost_later_is_shown_once_stored_air_is_used_up(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let shut = "/trains/T1/circuit?car=4101&close=4101%3A%3DBS-QM1%3Asupply_cut";
    let now = visitor.get(shut).await;
    assert_eq!(drawn(&now, ".lost"), ["=BS-HQ1", "=BS-QM1", "=BS-RM1"]);
    let later = visitor.get(&format!("{shut}&supply=exhausted")).await;
    assert!(drawn(&later, ".lost").contains(&"=BS2-MB4".to_owned()));
    assert!(later.texts(".blocks li")[0].contains("0 of 8"));
}

async fn cars_open_by_their_blocks_and_by_their_ends(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/trains/T1/circuit").await;
    assert!(page.text("#car h2").starts_with("Car 4101"));
    let blocks: Vec<String> = page
        .attributes(".blocks a", "href")
        .into_iter()
        .map(str::to_owned)
        .collect();
    let third = visitor.get(&blocks[2]).await;
    assert!(third.text("#car h2").starts_with("Car 4103"));
    // Unit TM102 is reversed: behind car 4103 comes car 4106, and there end 2 is in front.
    let next = third.texts("svg.sheet-wide .port a");
    assert!(next.iter().any(|car| car.contains("car 4106")), "{next:?}");
    let fourth = visitor.get(&blocks[3]).await;
    assert!(fourth.text("#car h2").ends_with("end 2 in front"));
    // The first car that something is the matter with is opened first.
    let shut = visitor
        .get("/trains/T1/circuit?close=4105%3A%3DBS1-QM1%3Aclosed_vented")
        .await;
    assert!(shut.text("#car h2").starts_with("Car 4105"));
}

async fn the_circuit_is_found_from_the_train_the_car_and_the_position(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let train = visitor
        .get("/trains/T1?close=4101%3A%3DBS1-QM1%3Aclosed_vented")
        .await;
    let links = train.attributes("nav.usual a", "href");
    let circuit = links
        .iter()
        .find(|href| href.starts_with("/trains/T1/circuit"));
    assert!(circuit.unwrap().contains("close="), "{links:?}");
    let car = visitor.get("/cars/4102").await;
    let links = car.attributes("a[href^=\"/decision/circuit\"]", "href");
    assert!(
        visitor
            .get(links[0])
            .await
            .text("#car h2")
            .starts_with("Car 4102")
    );
    let position = visitor.get("/positions/4102/%3DBS1-QN3").await;
    let links = position.attributes("a[href^=\"/decision/circuit\"]", "href");
    let marked = visitor.get(links[0]).await;
    assert_eq!(drawn(&marked, ".marked"), ["=BS1-QN3"]);
}

async fn a_car_that_nobody_can_command_is_drawn_without_an_answer(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    let page = visitor.get("/decision/circuit?formation=car%204102").await;
    assert!(
        page.text(".no_verdict li")
            .starts_with("a place of command")
    );
    assert_eq!(page.count("svg.sheet-wide .part.unknown"), 84 - 7);
    assert_eq!(
        page.count("svg.circuit .tip") - page.count("svg.key .tip"),
        0
    );
    assert_eq!(page.count(".done"), 0);
    for (query, expected) in [
        ("car=9999", 422),
        ("mode=flying", 422),
        ("supply=never", 422),
        ("position=X", 422),
        ("close=4101%3A%3DNO-QM1%3Afailed", 422),
    ] {
        let page = visitor.get(&format!("/trains/T1/circuit?{query}")).await;
        assert_eq!(page.status(), expected, "{query}");
    }
}

async fn a_drawing_costs_a_handful_of_statements(url: &str) {
    let served = Served::with_trains(url).await;
    let visitor = served.visitor();
    for path in [
        "/trains/T1/circuit",
        "/trains/T2/circuit?car=5101&close=5102%3A%3DBP-QM1%3Aclosed_trapped",
        "/decision/circuit?formation=unit%20TM101&car=4102",
    ] {
        visitor.get(path).await;
        served.statements.take();
        visitor.get(path).await;
        let sent = served.statements.take();
        assert!(sent.len() <= 6, "{path}: {sent:#?}");
    }
}

each_database!(
    the_drawing_says_of_a_brake_what_the_decision_says,
    every_part_of_the_circuit_is_drawn_for_every_type_of_car,
    a_cock_closed_by_its_link_strikes_its_bogie_through_and_says_why,
    a_pilot_cock_takes_service_and_leaves_emergency,
    what_is_lost_later_is_shown_once_stored_air_is_used_up,
    cars_open_by_their_blocks_and_by_their_ends,
    the_circuit_is_found_from_the_train_the_car_and_the_position,
    a_car_that_nobody_can_command_is_drawn_without_an_answer,
    a_drawing_costs_a_handful_of_statements,
);
