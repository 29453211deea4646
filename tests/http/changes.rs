//! Changes as they happen, over real HTTP: from one server to another, capped, and no hindrance
//! when the server is stopped.

use std::time::{Duration, Instant};

use domain::identity::TrainId;
use domain::people::Role;
use domain::time::Zone;
use reqwest::{Method, Response};
use serde_json::{Value, json};
use store::Store;
use tests::each_database;
use tests::server::RunningServer;
use tests::visitor::Visitor;
use tokio::time::timeout;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::{Served, reading, state};

/// How soon everybody must be told.
const SOON: Duration = Duration::from_secs(1);
/// How long to wait for what must come.
const PATIENCE: Duration = Duration::from_secs(20);

/// A stream of events that is being read.
struct Events {
    response: Response,
    read: String,
}

impl Events {
    async fn open(visitor: &Visitor) -> Self {
        let request = visitor.request(Method::GET, "/api/v1/changes");
        let response = request.send().await.unwrap();
        assert_eq!(response.status(), 200);
        let kind = response.headers()["content-type"].to_str().unwrap();
        assert_eq!(kind, "text/event-stream");
        Self {
            response,
            read: String::new(),
        }
    }

    /// The last change that the next event tells of; none at the end of the stream.
    async fn next(&mut self) -> Option<i64> {
        self.told().await?["last_change"].as_i64()
    }

    /// What the next event tells; none at the end of the stream.
    async fn told(&mut self) -> Option<Value> {
        loop {
            if let Some((event, rest)) = self.read.split_once("\n\n") {
                let data = event.lines().find_map(|line| line.strip_prefix("data: "));
                let told = data.map(|data| serde_json::from_str::<Value>(data).unwrap());
                self.read = String::from(rest);
                if told.is_some() {
                    return told;
                }
                continue;
            }
            let chunk = timeout(PATIENCE, self.response.chunk());
            let chunk = chunk.await.expect("a word every few seconds");
            let chunk = chunk.ok().flatten()?;
            self.read.push_str(std::str::from_utf8(&chunk).unwrap());
        }
    }

    /// The next event that tells of something later, and when it came.
    async fn after(&mut self, last: i64) -> (i64, Instant) {
        loop {
            let told = self.next().await.expect("the stream goes on");
            if last < told {
                return (told, Instant::now());
            }
        }
    }
}

async fn last_change(store: &Store) -> i64 {
    store.view().await.unwrap().last_change
}

/// Two servers on `PostgreSQL`; on a file one server, which two people use.
async fn other_server(url: &str, served: &Served) -> (Store, Option<RunningServer>) {
    if !url.starts_with("postgres:") {
        return (served.store.clone(), None);
    }
    let store = Store::open(url, Zone::UTC).await.unwrap();
    let running = RunningServer::start(web::router(state(&store))).await;
    (store, Some(running))
}

async fn whoever_waits_at_any_server_is_told_within_a_second(url: &str) {
    let served = Served::with_trains(url).await;
    let (other, second) = other_server(url, &served).await;
    let mut waiting = vec![Events::open(&served.visitor()).await];
    if let Some(server) = &second {
        waiting.push(Events::open(&Visitor::new(server)).await);
    }
    let before = last_change(&served.store).await;
    for events in &mut waiting {
        assert_eq!(events.next().await, Some(before), "the last one at once");
    }
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let recorded = Instant::now();
    for events in &mut waiting {
        let (told, at) = events.after(before).await;
        assert_eq!(told, last_change(&other).await);
        let delay = at.saturating_duration_since(recorded);
        println!("told {delay:?} after the answer to whoever recorded");
        assert!(delay < SOON, "{delay:?}");
    }
    other.close().await;
}

async fn the_day_is_told_since_rule_sets_come_into_force_at_midnight(url: &str) {
    let served = Served::with_trains(url).await;
    let mut events = Events::open(&served.visitor()).await;
    let first = events.told().await.expect("what is so now");
    let board = served.visitor().get("/isolations").await;
    let shown = board.attribute("#live", "data-day").map(str::to_owned);
    assert_eq!(first["today"].as_str(), shown.as_deref());
    served.pass(24 * 60 * 60);
    let second = events.told().await.expect("a word every few seconds");
    assert_eq!(second["last_change"], first["last_change"]);
    assert!(first["today"].as_str() < second["today"].as_str());
}

async fn only_what_can_change_what_is_said_about_trains_is_told(url: &str) {
    let served = Served::with_fleet(url).await;
    let before = last_change(&served.store).await;
    let mut events = Events::open(&served.visitor()).await;
    assert_eq!(events.next().await, Some(before));
    let reading = reading("4101", 640_000);
    let at = || "2026-11-24T08:00:00Z".to_owned();
    served.import(vec![(at(), reading)]).await;
    assert_eq!(last_change(&served.store).await, before, "a reading is not");
    let train = json!({"train_formed": {"id": "2T14", "vehicles": [{"unit": ["41", "forward"]}]}});
    served.import(vec![(at(), train)]).await;
    let formed = served.store.view().await.unwrap().last_entry;
    assert_eq!(events.after(before).await.0, formed);
    let id: TrainId = "2T14".parse().unwrap();
    let train = served.store.view().await.unwrap().train(&id).await.unwrap();
    assert_eq!(train.unwrap().by.0, formed);
}

async fn streams_end_when_the_server_is_to_stop(url: &str) {
    let served = Served::with_trains(url).await;
    let mut events = Events::open(&served.visitor()).await;
    assert!(events.next().await.is_some());
    served.store.end_changes();
    assert_eq!(events.next().await, None);
    let refused = served.visitor().get("/api/v1/changes").await;
    assert_eq!(refused.status(), 503);
    assert_eq!(refused.json()["type"], "/api#unavailable");
    served.store.close().await;
}

each_database!(
    whoever_waits_at_any_server_is_told_within_a_second,
    only_what_can_change_what_is_said_about_trains_is_told,
    the_day_is_told_since_rule_sets_come_into_force_at_midnight,
    streams_end_when_the_server_is_to_stop,
);
