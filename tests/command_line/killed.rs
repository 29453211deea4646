//! A server that is killed while several people record: what it acknowledged is there, nothing is
//! there by half.

use super::program::{GOOD, Place};
use reqwest::Client;
use serde_json::{Value, json};
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use tests::each_database;
use tests::register::Register;
use tokio::sync::Notify;
use uuid::Uuid;

/// How often the server is killed.
const ROUNDS: usize = 12;
const WRITERS: usize = 3;
/// The most entries that are acknowledged before it is killed.
const ENTRIES_MAX: usize = 40;
const PASSWORD: &str = "quail lantern over seven mud";

/// What the writers of all rounds know.
#[derive(Default)]
struct Writers {
    acknowledged: AtomicUsize,
    changed: Notify,
}

/// A receipt that nobody else records, and its serial number.
fn receipt() -> (Value, String) {
    let serial = Uuid::new_v4().simple().to_string();
    let fact = json!({"component_received": {
        "component": {"part": "C-7", "serial": serial},
        "condition": "serviceable", "location": "Marrowby store", "manufactured_on": "2023-01-01",
        "certificate": "release 1 of 2024",
    }});
    let entry = json!({"id": Uuid::new_v4(), "effective_at": "2024-02-01T00:00:00Z", "fact": fact});
    (entry, serial)
}

/// A client that is signed in, and the token that its forms need.
async fn signed_in(address: &str) -> (Client, String) {
    let client = tests::visitor::http().cookie_store(true).build().unwrap();
    let fields = [("name", "A. Keeper"), ("password", PASSWORD)];
    let sign_in = client.post(format!("{address}/sign-in")).form(&fields);
    assert!(sign_in.send().await.unwrap().status().is_success());
    let session = client.get(format!("{address}/api/v1/session")).send().await;
    let session: Value = serde_json::from_str(&session.unwrap().text().await.unwrap()).unwrap();
    let token = session["form_token"].as_str().unwrap().to_owned();
    (client, token)
}

/// Records one receipt after the other until the server is gone. Gives the entries that were
/// acknowledged, each with its serial number.
async fn write(
    (client, token): (Client, String),
    address: String,
    writers: Arc<Writers>,
) -> Vec<(i64, String)> {
    let mut acknowledged = Vec::new();
    loop {
        let (entry, serial) = receipt();
        let request = client
            .post(format!("{address}/api/v1/entries"))
            .header("x-form-token", &token)
            .header("content-type", "application/json")
            .body(entry.to_string());
        let Ok(answer) = request.send().await else {
            return acknowledged;
        };
        let created = answer.status() == 201;
        let Ok(text) = answer.text().await else {
            return acknowledged;
        };
        assert!(created, "{text}");
        let recorded: Value = serde_json::from_str(&text).unwrap();
        let seq = recorded["number"]
            .as_i64()
            .unwrap_or_else(|| panic!("{text}"));
        acknowledged.push((seq, serial));
        writers.acknowledged.fetch_add(1, Ordering::AcqRel);
        writers.changed.notify_one();
    }
}

async fn every_acknowledged_entry_outlives_a_killed_server_and_none_is_there_by_half(url: &str) {
    let place = Place::on(url);
    place.input("fleet", &GOOD);
    let done = place.run_on_database(&["import", "fleet"]);
    assert_eq!(done.code, Some(0), "{done:?}");
    let account = ["account", "A. Keeper", "--role", "stores"];
    let done = place.run_typing(&account, PASSWORD);
    assert_eq!(done.code, Some(0), "{done:?}");

    let mut acknowledged = Vec::new();
    for _ in 0..ROUNDS {
        let arguments = ["serve", "--listen", "127.0.0.1:0", "--database", url];
        let mut server = place.serve(&arguments);
        let address = server.address.trim_end_matches('/').to_owned();
        let client = signed_in(&address).await;
        let writers = Arc::new(Writers::default());
        let writing: Vec<_> = (0..WRITERS)
            .map(|_| tokio::spawn(write(client.clone(), address.clone(), Arc::clone(&writers))))
            .collect();
        let until = 1 + usize::from(Uuid::new_v4().as_bytes()[0]) % ENTRIES_MAX;
        while writers.acknowledged.load(Ordering::Acquire) < until {
            writers.changed.notified().await;
        }
        // Others are under way.
        server.kill();
        for writer in writing {
            acknowledged.extend(writer.await.unwrap());
        }
    }
    assert!(ROUNDS <= acknowledged.len());
    let proven = place.run_on_database(&["verify"]);
    assert_eq!(proven.code, Some(0), "{proven:?}");
    let mut register = Register::open(url).await;
    for (seq, serial) in &acknowledged {
        let kept =
            format!("select count(*) from ledger where seq = {seq} and body like '%{serial}%'");
        assert_eq!(register.tables.number(&kept).await, 1, "entry {seq}");
    }
    register.proves().await;
}

each_database!(every_acknowledged_entry_outlives_a_killed_server_and_none_is_there_by_half);
