//! Every answer to a program is as the `OpenAPI` document describes it (`OpenAPI` Specification
//! 3.1.0, whose schemas are JSON Schema 2020-12), asked of the demo fleet: nothing that is
//! described is lacking, and nothing is there that is not described.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use tests::sqlite::SqliteFile;

use super::sample::Served;

/// Questions that the demo fleet answers; besides them, that of a check of the fleet by its number.
const QUESTIONS: [&str; 63] = [
    "/api/v1/due?state=overdue",
    "/api/v1/due?state=unknown",
    "/api/v1/due?car=4106",
    "/api/v1/due?car=4106&at=2026-06-01T00:00:00Z",
    "/api/v1/due?part=TRR-4301-02&at=2026-06-01T00:00:00Z",
    "/api/v1/fleets",
    "/api/v1/cars",
    "/api/v1/cars?at=2026-06-01T00:00:00Z",
    "/api/v1/cars/4106",
    "/api/v1/cars/4106?at=2025-06-01T00:00:00Z",
    "/api/v1/cars/4106/compare?then=2025-01-01T00:00:00Z",
    "/api/v1/units/TM3-001",
    "/api/v1/units/TM3-001?at=2026-06-01T00:00:00Z",
    "/api/v1/units/TM3-001/compare?then=2025-01-01T00:00:00Z",
    "/api/v1/away",
    "/api/v1/away?at=2026-06-01T00:00:00Z",
    "/api/v1/car-types",
    "/api/v1/car-types/PC-D/1/circuit",
    "/api/v1/car-types/PC-D/1/circuit?at=2026-06-01T00:00:00Z",
    "/api/v1/carrying?part=TRR-4141-01",
    "/api/v1/carrying?ask=batch&part=TRR-4141-01&batch=L21-3",
    "/api/v1/check?code=2222-2222-2222",
    "/api/v1/closing?train=9002&car=4104&position=%3DBS1-KF1",
    "/api/v1/components?batch=L21-3&part=TRR-4141-01",
    "/api/v1/components/TRR-4301-02/22-00013",
    "/api/v1/components/TRR-4141-01/26-00004",
    "/api/v1/components/TRR-4301-02/22-00013/life",
    "/api/v1/concessions",
    "/api/v1/concessions?at=2026-06-01T00:00:00Z",
    "/api/v1/decision?train=9009",
    "/api/v1/decision?train=9009&at=2026-11-20T00:00:00Z",
    "/api/v1/decision?train=9011",
    "/api/v1/decision?formation=TM3-001,TM3-002r&close=4101:%3DBS1-KF1:electrically_off",
    "/api/v1/departures",
    "/api/v1/departures?unit=TM3-001&at=2026-06-01T00:00:00Z",
    "/api/v1/entries",
    "/api/v1/entries?about=car&name=4106",
    "/api/v1/entries/1",
    "/api/v1/faults?train=9002&saw=4104:bogie%201:service:not_braking",
    "/api/v1/find?q=4106",
    "/api/v1/find?q=22-00013",
    "/api/v1/fleet-checks",
    "/api/v1/fleet-checks?at=2026-11-20T00:00:00Z",
    "/api/v1/holds",
    "/api/v1/holds?at=2026-11-20T00:00:00Z",
    "/api/v1/isolations",
    "/api/v1/modifications",
    "/api/v1/modifications/TRR-M-12",
    "/api/v1/path?train=9002&mode=service&car=4104&position=%3DBS1-MB1",
    "/api/v1/positions/4106/%3DBS1-KF1",
    "/api/v1/positions/4106/%3DBS1-KF1?at=2025-06-01T00:00:00Z",
    "/api/v1/revealed?train=9009",
    "/api/v1/rule-sets",
    "/api/v1/rule-sets/Example%20after%2049%20CFR%20238.15/A",
    "/api/v1/session",
    "/api/v1/test-records/TR-000001",
    "/api/v1/trains",
    "/api/v1/trains?at=2026-11-20T00:00:00Z",
    "/api/v1/trains/9009",
    "/api/v1/trains/9009?at=2026-11-20T00:00:00Z",
    "/api/v1/visits",
    "/api/v1/visits/TRR-V-001",
    "/api/v1/weak-points?train=9001",
];

/// Answered with a stream.
const NOT_ASKED: [&str; 1] = ["/api/v1/changes"];

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_answer_of_the_demo_fleet_is_as_it_is_described() {
    let database = SqliteFile::fresh();
    let served = Box::pin(Served::with_demo(database.url())).await;
    let visitor = served.visitor();
    let document = visitor.get("/api/v1/openapi.json").await.json();
    let checks = visitor.get("/api/v1/fleet-checks").await.json();
    let one_check = format!("/api/v1/fleet-checks/{}", checks[0]["number"]);
    let mut left: BTreeSet<&str> = asked(&document).collect();
    for path in NOT_ASKED {
        assert!(left.remove(path), "{path} is described");
    }
    let strict = strict(&document);
    for question in QUESTIONS.into_iter().chain([&*one_check]) {
        let path = described(&document, question);
        left.remove(path);
        let page = visitor.get(question).await;
        assert_eq!(page.status(), 200, "{question}: {}", page.body());
        let schema = answer_schema(&strict, path);
        let described = jsonschema::validator_for(&schema).unwrap();
        let answer = page.json();
        let wrong = described.iter_errors(&answer);
        let wrong: Vec<String> = wrong
            .map(|why| format!("{}: {why}", why.instance_path()))
            .collect();
        assert_eq!(wrong, [""; 0], "{question}");
    }
    assert!(left.is_empty(), "nobody asks {left:?}");
}

/// The paths that are asked something.
fn asked(document: &Value) -> impl Iterator<Item = &str> {
    let paths = document["paths"].as_object().unwrap().iter();
    let asked = paths.filter(|(_, methods)| methods.get("get").is_some());
    asked.map(|(path, _)| path.as_str())
}

/// The described path of a question: the one with the most words that are not in braces.
fn described<'d>(document: &'d Value, question: &str) -> &'d str {
    let address = question.split('?').next().unwrap();
    let matches = |path: &&str| {
        let (path, address): (Vec<_>, Vec<_>) =
            (path.split('/').collect(), address.split('/').collect());
        let mut both = path.iter().zip(&address);
        path.len() == address.len()
            && both.all(|(name, given)| name.starts_with('{') || name == given)
    };
    let found = asked(document).filter(matches);
    let found = found.min_by_key(|path| path.matches('{').count());
    found.unwrap_or_else(|| panic!("{question} is not described"))
}

fn answer_schema(document: &Value, path: &str) -> Value {
    let answer = &document["paths"][path]["get"]["responses"]["200"];
    let schema = &answer["content"]["application/json"]["schema"];
    assert!(schema.is_object(), "{path}: no schema");
    let mut schema = schema.clone();
    schema["components"] = document["components"].clone();
    schema
}

/// The document with every object closed to members that it does not describe. What is part of
/// another object stays open by itself: the whole is closed.
fn strict(document: &Value) -> Value {
    let mut parts = BTreeSet::new();
    collect_parts(document, &mut parts);
    let mut strict = document.clone();
    let schemas = strict["components"]["schemas"].as_object_mut().unwrap();
    for (name, schema) in schemas.iter_mut() {
        let refer = format!("#/components/schemas/{name}");
        if parts.contains(&refer) {
            close_inside(schema);
        } else {
            close(schema);
        }
    }
    strict
}

/// What objects are put together from.
fn collect_parts(value: &Value, parts: &mut BTreeSet<String>) {
    match value {
        Value::Object(members) => {
            let whole = members.get("allOf").and_then(Value::as_array);
            let named = whole.into_iter().flatten();
            let named = named.filter_map(|part| part["$ref"].as_str());
            parts.extend(named.map(str::to_owned));
            members
                .values()
                .for_each(|inner| collect_parts(inner, parts));
        }
        Value::Array(values) => values.iter().for_each(|inner| collect_parts(inner, parts)),
        _ => {}
    }
}

/// Closes an object and everything inside it.
fn close(schema: &mut Value) {
    close_inside(schema);
    let Value::Object(members) = schema else {
        return;
    };
    let described = members.contains_key("properties") || members.contains_key("allOf");
    if described && members.get("type") != Some(&json!("array")) {
        members.insert("unevaluatedProperties".to_owned(), Value::Bool(false));
    }
}

fn close_inside(schema: &mut Value) {
    match schema {
        Value::Object(members) => {
            for (name, inner) in members.iter_mut() {
                match (name.as_str(), inner) {
                    ("allOf", Value::Array(parts)) => {
                        for part in parts {
                            close_inside(part);
                        }
                    }
                    (_, inner) => close(inner),
                }
            }
        }
        Value::Array(values) => {
            for inner in values {
                close(inner);
            }
        }
        _ => {}
    }
}
