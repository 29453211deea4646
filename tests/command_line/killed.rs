//! A server that is killed while several people record all sorts of things: what it acknowledged is
//! there once, nothing is there by half.

use super::clerk::{Clerk, make_account};
use super::program::{Place, Serving};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::ledger::fact::Fact;
use domain::time::Instant;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::hash::{DefaultHasher, Hash, Hasher};
use tests::each_database;
use tests::facts::{
    at, car_of_fleet, component, fitted, isolated, isolation_ended, leakage_tested, moved,
    position, read, receipt, removed, swapped,
};
use tests::fleet::{self, COCK, FIRST, SECOND, VALVE};
use tests::register::Register;
use tests::tables::Row;
use tokio::sync::mpsc;
use uuid::Uuid;

/// How often the server is killed.
const ROUNDS: u64 = 10;
/// Who records, each about a car of their own.
const WRITERS: [(&str, &str); 3] = [
    ("A. Keeper", "4104"),
    ("B. Keeper", "4105"),
    ("C. Keeper", "4106"),
];
/// The fewest and the most entries that are acknowledged before it is killed.
const ENTRIES: (u64, u64) = (5, 40);
/// The most turns that others are given between the last of these and the end.
const TURNS_MAX: u64 = 400;
const DAY: i64 = 86_400_000_000;
const MINUTE: i64 = 60_000_000;

/// What a writer records on one day of their car, in this order, each resting on what went before.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Step {
    ReceiveOne,
    ReceiveOther,
    FitOne,
    FitOther,
    Swap,
    Read,
    Isolate,
    Test,
    EndIsolation,
    CorrectReading,
    RemoveOne,
    MoveOther,
    RemoveOther,
    WithdrawRemoval,
    RemoveOtherAgain,
}

const STEPS: [Step; 15] = [
    Step::ReceiveOne,
    Step::ReceiveOther,
    Step::FitOne,
    Step::FitOther,
    Step::Swap,
    Step::Read,
    Step::Isolate,
    Step::Test,
    Step::EndIsolation,
    Step::CorrectReading,
    Step::RemoveOne,
    Step::MoveOther,
    Step::RemoveOther,
    Step::WithdrawRemoval,
    Step::RemoveOtherAgain,
];

/// Somebody who records one entry after the other. What was not acknowledged is sent again, as the
/// same entry.
struct Writer {
    clerk: Clerk,
    car: &'static str,
    /// Days that are recorded whole.
    days: i64,
    /// Steps of the next that are acknowledged, each with its entry.
    done: BTreeMap<Step, i64>,
    /// The identity of the entry that was sent and is not acknowledged.
    sent: Option<Uuid>,
    /// The entries that were acknowledged, by their identities.
    acknowledged: Vec<(Uuid, i64)>,
}

impl Writer {
    fn step(&self) -> Step {
        STEPS[self.done.len()]
    }

    /// One of the two valves of the day.
    fn valve(&self, which: u8) -> ComponentRef {
        component(VALVE, &format!("{}-{:03}-{which}", self.car, self.days))
    }

    fn place(&self, code: &str) -> PositionRef {
        position(self.car, code)
    }

    /// When a step became true: what is corrected or withdrawn, as it was recorded.
    fn when(&self, step: Step) -> Instant {
        let as_recorded = match step {
            Step::CorrectReading => Step::Read,
            Step::WithdrawRemoval => Step::RemoveOther,
            step => step,
        };
        let place = STEPS.iter().position(|other| *other == as_recorded);
        let minutes = i64::try_from(place.unwrap()).unwrap();
        let begin = at("2024-02-01T00:00Z").microseconds();
        Instant::from_microseconds(begin + self.days * DAY + minutes * MINUTE).unwrap()
    }

    fn fact(&self, step: Step) -> Fact {
        let (one, other) = (self.valve(1), self.valve(2));
        let test = format!("T-{}-{}", self.car, self.days);
        let km = self.days * 100;
        match step {
            Step::ReceiveOne => Fact::ComponentReceived(receipt(&one, "2023-01-01")),
            Step::ReceiveOther => Fact::ComponentReceived(receipt(&other, "2023-01-01")),
            Step::FitOne => fitted(&one, &self.place(FIRST)),
            Step::FitOther => fitted(&other, &self.place(SECOND)),
            Step::Swap => swapped(&one, &other),
            Step::Read => read(self.car, km),
            Step::Isolate => isolated(&self.place(COCK)),
            Step::Test => leakage_tested(&test, self.car, self.when(step), "0.1"),
            Step::EndIsolation => isolation_ended(&self.place(COCK), &test),
            Step::CorrectReading => read(self.car, km + 1),
            Step::RemoveOne => removed(&one),
            Step::MoveOther => moved(&other, &self.place(SECOND)),
            Step::RemoveOther | Step::RemoveOtherAgain => removed(&other),
            Step::WithdrawRemoval => Fact::Withdrawn,
        }
    }

    fn entry(&self, id: Uuid) -> Value {
        let step = self.step();
        let corrects = match step {
            Step::CorrectReading => Some(self.done[&Step::Read]),
            Step::WithdrawRemoval => Some(self.done[&Step::RemoveOther]),
            _ => None,
        };
        let reason = corrects.map_or("", |_| "written down wrongly");
        let at = self.when(step).to_string();
        json!({
            "id": id, "effective_at": at, "reason": reason, "corrects": corrects,
            "fact": self.fact(step),
        })
    }

    /// Sends the next entry, or again the one that nobody acknowledged. Tells whether it was
    /// acknowledged; it was not where the server is gone.
    async fn send(&mut self, address: &str) -> bool {
        let again = self.sent.is_some();
        let id = *self.sent.get_or_insert_with(Uuid::new_v4);
        let answer = self.clerk.record(address, &self.entry(id)).await;
        let Some((status, entry)) = answer else {
            return false;
        };
        // It may have been recorded though nobody heard of it.
        assert!(status == 201 || (again && status == 200), "{entry}");
        let number = entry["number"].as_i64().unwrap();
        self.acknowledged.push((id, number));
        self.sent = None;
        let step = self.step();
        self.done.insert(step, number);
        if self.done.len() == STEPS.len() {
            self.done.clear();
            self.days += 1;
        }
        true
    }

    async fn send_until_it_is_gone(
        mut self,
        address: String,
        acknowledged: mpsc::UnboundedSender<()>,
    ) -> Self {
        while self.send(&address).await {
            acknowledged.send(()).unwrap();
        }
        self
    }
}

/// A small fleet with a car for each writer, and their accounts. Gives how many entries that took.
async fn founded(place: &Place, url: &str) -> usize {
    let mut register = Register::open(url).await;
    register.now_is("2024-01-02T06:00Z");
    let since = "2024-01-01T00:00Z";
    fleet::found(&mut register, since).await;
    for (name, car) in WRITERS {
        register.record(since, car_of_fleet(car)).await;
        make_account(place, name, &["technician", "stores"]);
    }
    register.store.close().await;
    register.tables.rows("ledger").await.len()
}

fn serve(place: &Place, url: &str) -> Serving {
    place.serve(&["serve", "--listen", "127.0.0.1:0", "--database", url])
}

async fn signed_in(address: &str) -> Vec<Writer> {
    let mut writers = Vec::new();
    for (name, car) in WRITERS {
        writers.push(Writer {
            clerk: Clerk::signed_in(address, name).await,
            car,
            days: 0,
            done: BTreeMap::new(),
            sent: None,
            acknowledged: Vec::new(),
        });
    }
    writers
}

/// A number below a limit that follows from the seed and what it is drawn for.
fn drawn(seed: u64, what: (&str, u64), below: u64) -> u64 {
    let mut hasher = DefaultHasher::new();
    (seed, what).hash(&mut hasher);
    hasher.finish() % below
}

/// Kills the server somewhere in the stream of what all of them send.
async fn killed(
    mut server: Serving,
    writers: Vec<Writer>,
    (seed, round): (u64, u64),
) -> Vec<Writer> {
    let (fewest, most) = ENTRIES;
    let entries = fewest + drawn(seed, ("entries", round), most - fewest + 1);
    let turns = drawn(seed, ("turns", round), TURNS_MAX);
    let (sender, mut heard) = mpsc::unbounded_channel();
    let start = |writer: Writer| {
        tokio::spawn(writer.send_until_it_is_gone(server.address.clone(), sender.clone()))
    };
    let sending: Vec<_> = writers.into_iter().map(start).collect();
    drop(sender);
    for _ in 0..entries {
        // Nobody is left to be heard of if all of them failed, which joining them tells.
        if heard.recv().await.is_none() {
            break;
        }
    }
    for _ in 0..turns {
        tokio::task::yield_now().await;
    }
    server.kill();
    let mut left = Vec::new();
    for writer in sending {
        left.push(writer.await.unwrap());
    }
    left
}

fn text(row: &Row, column: &str) -> String {
    row[column].clone().unwrap()
}

/// Each entry that was acknowledged is in the ledger once, under the number that was told, and
/// besides what was there before there is nothing else.
async fn has_what_was_acknowledged(register: &mut Register, writers: &[Writer], before: usize) {
    let rows = register.tables.rows("ledger").await;
    let mut kept: Vec<(String, String)> = rows
        .iter()
        .map(|row| (text(row, "command"), text(row, "seq")))
        .collect();
    let of_writers = |row: &&Row| {
        let actor = text(row, "actor");
        WRITERS.iter().any(|(name, _)| *name == actor)
    };
    let kinds = rows.iter().filter(of_writers).map(|row| text(row, "kind"));
    let kinds: BTreeSet<String> = kinds.collect();
    let expected = [
        "component_received",
        "fitted",
        "isolated",
        "isolation_ended",
        "moved",
        "reading_taken",
        "removed",
        "swapped",
        "test_recorded",
        "withdrawn",
    ];
    assert_eq!(kinds, BTreeSet::from(expected.map(str::to_owned)));
    for (id, number) in writers.iter().flat_map(|writer| &writer.acknowledged) {
        let told = (id.simple().to_string(), number.to_string());
        let count = kept.len();
        kept.retain(|row| *row != told);
        assert_eq!(count - kept.len(), 1, "{told:?}");
    }
    assert_eq!(kept.len(), before, "{kept:?}");
}

async fn every_acknowledged_entry_outlives_a_killed_server_and_none_is_there_by_half(url: &str) {
    let place = Place::on(url);
    let before = founded(&place, url).await;
    let (seed, _) = Uuid::new_v4().as_u64_pair();
    println!("killed at points that follow from {seed}");

    let mut server = serve(&place, url);
    let mut writers = signed_in(&server.address).await;
    for round in 0..ROUNDS {
        writers = killed(server, writers, (seed, round)).await;
        server = serve(&place, url);
    }
    // What nobody acknowledged at the last end is sent again.
    for writer in &mut writers {
        assert!(writer.send(&server.address).await);
    }
    server.kill();

    let mut register = Register::open(url).await;
    has_what_was_acknowledged(&mut register, &writers, before).await;
    for proof in ["verify", "rebuild"] {
        let proven = place.run_on_database(&[proof]);
        assert_eq!(proven.code, Some(0), "{proven:?}");
    }
    register.proves().await;
}

each_database!(every_acknowledged_entry_outlives_a_killed_server_and_none_is_there_by_half);
