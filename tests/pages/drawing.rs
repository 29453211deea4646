//! The drawings of all car types of the invented fleets: no symbol covers another.

use std::path::Path;

use domain::configuration::car::Car;
use domain::ledger::fact::Fact;
use domain::time::Zone;
use exchange::input::{Input, Options};
use serde_json::{Value, json};
use tests::browser::in_browser;
use tests::sqlite::SqliteFile;

use crate::http::sample::Served;

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn no_symbol_covers_another_on_any_car_of_the_invented_fleets() {
    let database = SqliteFile::fresh();
    let served = Served::empty(database.url()).await;
    let design = design();
    let types = design.iter().filter_map(|fact| match fact {
        Fact::CarTypeDefined(car_type) => Some((car_type.name.clone(), car_type.positions.len())),
        _ => None,
    });
    let types: Vec<_> = types.collect();
    assert_eq!(types.len(), 7);
    let cars: Vec<Fact> = design
        .iter()
        .filter_map(|fact| match fact {
            Fact::CarTypeDefined(car_type) => Some(Fact::CarRegistered(Car {
                number: car_type.name.as_str().parse().unwrap(),
                vehicle_number: None,
                entered_service_on: None,
                car_type: car_type.name.clone(),
                revision: car_type.revision.clone(),
                fleet: car_type.fleet.clone(),
                depot: "North".parse().unwrap(),
            })),
            _ => None,
        })
        .collect();
    served.import(dated(design.iter().chain(&cars))).await;
    in_browser(async |browser| {
        for (name, positions) in &types {
            let address = format!("{}/cars/{name}", served.server.base());
            browser.open(&address).await;
            let drawn = browser.evaluate(OVERLAPS).await;
            assert_eq!(drawn, json!({"marks": positions, "overlaps": []}), "{name}");
        }
    })
    .await;
}

/// The symbols with their labels, and which of them share a spot. Neighbours may touch.
const OVERLAPS: &str = r#"
    const marks = [...document.querySelectorAll("svg.car-side a.mark")];
    const boxes = marks.map(mark => {
        const parts = [mark.querySelector("use"), mark.querySelector(".label")];
        return parts.map(part => part.getBoundingClientRect());
    }).flat();
    const apart = (a, b) => a.right <= b.left + 0.5 || b.right <= a.left + 0.5
        || a.bottom <= b.top + 0.5 || b.bottom <= a.top + 0.5;
    const overlaps = [];
    boxes.forEach((a, i) => boxes.slice(0, i).forEach((b, j) => {
        if (!apart(a, b)) overlaps.push([marks[i >> 1].textContent, marks[j >> 1].textContent]);
    }));
    return { marks: marks.length, overlaps };
"#;

/// The design of the invented fleets, as the folder of the demo has it.
fn design() -> Vec<Fact> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../seed-data");
    let options = Options {
        zone: Zone::UTC,
        shift_days: 0,
    };
    let facts = Input::open(&folder, options).unwrap();
    let facts = facts.map(|item| item.unwrap().value.fact);
    let is_design = |fact: &Fact| matches!(fact, Fact::PartDefined(_) | Fact::CarTypeDefined(_));
    facts.filter(is_design).collect()
}

fn dated<'a>(facts: impl Iterator<Item = &'a Fact>) -> Vec<(String, Value)> {
    let dated = |fact| {
        let fact = serde_json::to_value(fact).unwrap();
        ("2024-01-01T08:00:00Z".to_owned(), fact)
    };
    facts.map(dated).collect()
}
