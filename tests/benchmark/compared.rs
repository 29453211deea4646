//! The same due question asked of the same data by other means: through a data-frame library
//! and an analytical SQL engine in one process.

use crate::client::{Client, escaped};
use crate::figures::{Table, Times};
use crate::fleet::Fleet;
use crate::process::Place;
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;
use std::time::Duration;

/// Questions asked.
const QUESTIONS: usize = 40;
/// The program that asks the others.
const COMPARE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/compare.py");

/// What of a depot's work is due by a day: the first page of it.
pub(crate) struct Question {
    depot: String,
    until: String,
    /// Day, task, and component or car, in order.
    answer: Vec<[String; 3]>,
    took: Duration,
}

/// Asks the register over HTTP.
pub(crate) fn ask(client: &mut Client, fleet: &Fleet, table: &mut Table) -> Vec<Question> {
    let mut questions = Vec::new();
    for number in 0..QUESTIONS {
        let depot = fleet.depots[number % fleet.depots.len()].clone();
        let until = format!("2026-{:02}-{:02}", 11 + number % 2, number % 28 + 1);
        let path = format!("/api/v1/due?depot={}&until={until}", escaped(&depot));
        let answered = client.get(&path);
        let (answer, took) = (rows(&answered.json()), answered.took);
        questions.push(Question {
            depot,
            until,
            answer,
            took,
        });
    }
    let what = "due question of a depot: the register over HTTP, ms";
    table.put(what, "", times(&questions).to_string());
    questions
}

fn times(questions: &[Question]) -> Times {
    let mut times = Times::new();
    for question in questions {
        times.add(question.took);
    }
    times
}

fn rows(answer: &Value) -> Vec<[String; 3]> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let row = |item: &Value| {
        let (part, serial) = (
            text(&item["component"]["part"]),
            text(&item["component"]["serial"]),
        );
        let subject = if part.is_empty() {
            text(&item["car"])
        } else {
            format!("{part} {serial}")
        };
        [text(&item["due_on"]), text(&item["task"]), subject]
    };
    answer["due"].as_array().unwrap().iter().map(row).collect()
}

/// Both databases answer alike; `asked` is empty before the second.
pub(crate) fn assert_same(asked: &[Question], answers: &[Question]) {
    for (one, other) in asked.iter().zip(answers) {
        assert_eq!(
            one.answer, other.answer,
            "{} until {}",
            one.depot, one.until
        );
    }
}

/// Asks the others the same of the data in a file of SQLite, and compares the answers.
pub(crate) fn ask_others(place: &Place, file: &Path, questions: &[Question], table: &mut Table) {
    let Some(python) = &place.python else {
        table.put(
            "due question of a depot: others",
            "",
            "no Python".to_owned(),
        );
        return;
    };
    let asked = questions.iter().map(|question| {
        let Question {
            depot,
            until,
            answer,
            ..
        } = question;
        json!({"depot": depot, "until": until, "answer": answer})
    });
    let asked = Value::Array(asked.collect());
    let folder = place.folder.join("compared");
    std::fs::create_dir_all(&folder).unwrap();
    let asked_file = folder.join("questions.json");
    std::fs::write(&asked_file, asked.to_string()).unwrap();
    let mut command = Command::new(python);
    let output = command
        .arg(COMPARE)
        .arg(file)
        .arg(&folder)
        .output()
        .unwrap();
    let wrong = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{wrong}");
    let told: Value = serde_json::from_slice(&output.stdout).unwrap();
    let register = times(questions).milliseconds_at(50);
    for (name, what) in OTHERS {
        let asking = told[name]["asking"].as_f64().unwrap();
        let loading = told[name]["loading"].as_f64().unwrap();
        let beside = |other: f64| format!("{other:.2} ({:.0} times)", other / register);
        table.put(what[0], "", beside(asking));
        table.put(what[1], "", beside(loading + asking));
    }
    std::fs::remove_dir_all(&folder).unwrap();
}

const OTHERS: [(&str, [&str; 2]); 2] = [
    (
        "polars",
        [
            "the same by polars, loaded before, ms",
            "the same by polars, loading included, ms",
        ],
    ),
    (
        "duckdb",
        [
            "the same by duckdb, loaded before, ms",
            "the same by duckdb, loading included, ms",
        ],
    ),
];
