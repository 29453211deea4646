//! The board of cut-outs where there are many: what it costs, and its pages.

use domain::people::Role;
use serde_json::json;
use tests::each_database;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::Served;
use super::sheets::decide;

/// A register with so many cars that are in no unit, each with a cut-out, the first the oldest.
async fn with_single_cars(url: &str, cars: usize) -> Served {
    let served = Served::with_trains(url).await;
    let facts = (0..cars).flat_map(|place| {
        let number = format!("9{place:03}");
        let car = json!({"car_registered": {
            "number": number, "car_type": "PC-C", "revision": "1", "fleet": "Fern", "depot": "South",
        }});
        let cut_out = json!({"isolated": {
            "car": number, "position": "=BS-QM1", "state": "closed_vented", "cause": "stored",
        }});
        let at = format!("2026-11-{:02}T0{}:{:02}:00Z", 1 + place / 600, place / 60 % 10, place % 60);
        [("2026-03-01T08:00:00Z".to_owned(), car), (at, cut_out)]
    });
    served.import(facts.collect()).await;
    served
}

async fn the_board_costs_the_same_statements_however_many_trains_it_shows(url: &str) {
    let served = with_single_cars(url, 3).await;
    let visitor = served.signed_in(Role::Controller).await;
    let count = async |expected: usize| {
        visitor.get("/isolations").await;
        served.statements.take();
        let page = visitor.get("/isolations").await;
        assert_eq!(page.count(".board-place"), expected);
        served.statements.take().len()
    };
    let few = count(3).await;
    record(&visitor, "4102", &CYLINDER_COCK).await;
    record(&visitor, "5104", &CYLINDER_COCK).await;
    let more = count(5).await;
    assert!(more <= 10, "{more} statements");
    assert!(
        more <= few + 3,
        "trains, units and decisions are read together: {few}, then {more}"
    );
    let sheet = decide(&visitor, "/trains/T1/decide").await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let decided = count(5).await;
    assert_eq!(decided, more, "with who told everybody of the decisions");
}

async fn a_long_board_comes_in_pages_and_forgets_nobody(url: &str) {
    let served = with_single_cars(url, 70).await;
    let visitor = served.visitor();
    let (first, second) = (
        visitor.get("/isolations").await,
        visitor.get("/isolations?page=2").await,
    );
    assert_eq!(
        (first.count(".board-place"), second.count(".board-place")),
        (60, 10)
    );
    assert!(first.text("main").contains("70 cut-outs"));
    let mut cars = first.texts(".cut-outs th[scope=row]");
    cars.extend(second.texts(".cut-outs th[scope=row]"));
    let expected: Vec<String> = (0..70).map(|place| format!("9{place:03}")).collect();
    assert_eq!(cars, expected);
    // A coach by itself has no place of command: that is said, and not guessed away.
    let line = first.texts(".verdict-line");
    assert_eq!(
        line[0],
        "? No verdict missing: a place of command for emergency braking of the train"
    );
    // The oldest of all may run with restrictions, and so comes after those with no verdict.
    let at =
        json!({"car": "4102", "position": "=BS1-QM1", "state": "closed_vented", "cause": "stuck"});
    let oldest = ("2026-10-30T08:00:00Z".to_owned(), json!({"isolated": at}));
    served.import(vec![oldest]).await;
    let last = visitor.get("/isolations?page=2").await;
    assert_eq!(last.texts(".board-place h2").pop().unwrap(), "Train T1");
}

each_database!(
    the_board_costs_the_same_statements_however_many_trains_it_shows,
    a_long_board_comes_in_pages_and_forgets_nobody,
);
