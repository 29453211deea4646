//! One entry after the other, each durable before it is answered.

use crate::client::Client;
use crate::figures::{Table, Times};
use crate::fleet::Fleet;
use domain::time::Instant;
use serde_json::{Value, json};
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use uuid::Uuid;

/// Entries of each kind.
const ENTRIES: usize = 500;
const TARGET: &str = "p99 < 10 ms";

/// Measures entries: a reading, a component taken off, and the same put on again.
pub(crate) fn measure(client: &mut Client, fleet: &Fleet, table: &mut Table) {
    let [mut readings, mut removals, mut fittings] = [const { Times::new() }; 3];
    let concessions = client.get("/api/v1/concessions").json();
    let mut cars = fleet.cars.iter().cycle().step_by(step(fleet));
    for _ in 0..ENTRIES {
        let car = cars.next().unwrap();
        let detail = client.get(&format!("/api/v1/cars/{car}")).json();
        if let Some(reading) = reading(car, &detail) {
            readings.add(record(client, &reading));
        }
        let overdue = client.get(&format!("/api/v1/due?car={car}&state=overdue"));
        let refused = (&concessions, &overdue.json());
        if let Some((removal, fitting)) = exchange(car, &detail, refused) {
            removals.add(record(client, &removal));
            fittings.add(record(client, &fitting));
        }
    }
    table.put("entry: a reading, ms", TARGET, readings.to_string());
    table.put(
        "entry: a component removed, ms",
        TARGET,
        removals.to_string(),
    );
    table.put(
        "entry: a component fitted, ms",
        TARGET,
        fittings.to_string(),
    );
}

/// So that the cars are spread over the fleet, and come again in a small one only after all.
fn step(fleet: &Fleet) -> usize {
    (fleet.cars.len() / ENTRIES).max(1)
}

/// A kilometre more than was read last.
fn reading(car: &str, detail: &Value) -> Option<Value> {
    let meters = detail["meters"].as_array()?;
    let odometer = meters.iter().find(|meter| meter["meter"] == "odometer")?;
    let shown = odometer["shown"]["value"].as_f64()?;
    #[expect(
        clippy::cast_possible_truncation,
        reason = "thousandths of a kilometre"
    )]
    let value = (shown * 1e3).round() as i64 + 1_000;
    Some(json!({"reading_taken": {"car": car, "meter": "odometer", "value": value}}))
}

/// The first component of a car that may be put on again as it is: of a part that needs no
/// concession, with nothing overdue on it or in it that may be the end of a life.
fn exchange(
    car: &str,
    detail: &Value,
    (concessions, overdue): (&Value, &Value),
) -> Option<(Value, Value)> {
    let positions = detail["positions"].as_array()?;
    let conceded = concessions["concessions"].as_array()?;
    let overdue = overdue["due"].as_array()?;
    let sound = |position: &&Value| {
        let part = &position["component"]["part"];
        let code = position["code"].as_str().unwrap_or_default();
        let within = |work: &Value| {
            work["position"]
                .as_str()
                .is_some_and(|at| at.starts_with(code))
        };
        position["condition"] == "serviceable"
            && conceded.iter().all(|one| one["part"] != *part)
            && !overdue.iter().any(within)
    };
    let position = positions.iter().find(sound)?;
    let (component, code) = (&position["component"], &position["code"]);
    let removal = json!({"removed": {
        "component": component,
        "reason": "access",
        "to": "Tarrenhead store",
        "condition": "serviceable",
        "evidence": "inspection",
    }});
    let fitting = json!({"fitted": {"component": component, "car": car, "position": code}});
    Some((removal, fitting))
}

fn record(client: &mut Client, fact: &Value) -> Duration {
    let entry = json!({"id": Uuid::new_v4(), "effective_at": now(), "fact": fact});
    let answer = client.post("/api/v1/entries", ("application/json", &entry.to_string()));
    assert_eq!(answer.status, 201, "{entry}: {}", answer.text());
    answer.took
}

fn now() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    let microseconds = since.as_micros().try_into().unwrap();
    Instant::from_microseconds(microseconds)
        .unwrap()
        .to_string()
}
