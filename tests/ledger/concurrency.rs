//! Many who write at once, and callers who go away half-way.

use std::time::Duration;

use domain::configuration::component::ComponentRef;
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::refusal::Refusal;
use domain::time::{Instant, Zone};
use store::{Recorded, Store, StoreError};
use tests::each_database;
use tests::facts::{at, car_of_fleet, component, fitted_until, position, read, receipt};
use tests::fleet::{self, FIRST, VALVE};
use tests::keep_all::KeepAll;
use tests::postgres::PostgresDatabase;
use tests::register::{Register, command, person};
use tests::tables::Dialect;

/// The time at which everything is recorded.
const NOW: &str = "2030-01-02T06:00Z";

fn minutes_after(begin: &str, minutes: i64) -> Instant {
    Instant::from_microseconds(at(begin).microseconds() + minutes * 60_000_000).unwrap()
}

async fn record(store: &Store, command: Command) -> Result<Recorded, StoreError> {
    store
        .record(person(Role::BrakeEngineer), command, at(NOW))
        .await
}

/// A car and a valve of its own for each writer.
async fn found_for(register: &mut Register, writers: usize) -> Vec<(String, ComponentRef)> {
    fleet::found(register, "2029-01-01T00:00Z").await;
    let mut own = Vec::new();
    for writer in 0..writers {
        let (car, valve) = (
            format!("42{writer:02}"),
            component(VALVE, &format!("W{writer}")),
        );
        register
            .record("2029-01-01T00:00Z", car_of_fleet(&car))
            .await;
        let receipt = receipt(&valve, "2020-01-01");
        register
            .record("2029-01-01T00:00Z", Fact::ComponentReceived(receipt))
            .await;
        own.push((car, valve));
    }
    own
}

/// Two servers on `PostgreSQL`, one on a file.
async fn servers(url: &str) -> [Store; 2] {
    let one = Store::open(url, Zone::UTC).await.unwrap();
    let other = if url.starts_with("postgres:") {
        Store::open(url, Zone::UTC).await.unwrap()
    } else {
        one.clone()
    };
    [one, other]
}

async fn what_is_acknowledged_is_in_the_ledger_without_gaps(url: &str) {
    const WRITERS: usize = 8;
    const EACH: i64 = 50;
    let mut register = Register::open(url).await;
    let own = found_for(&mut register, WRITERS).await;
    let before = register.tables.number("select seq from ledger_head").await;
    let servers = servers(url).await;
    let write = |(writer, (car, valve)): (usize, (String, ComponentRef))| {
        let server = servers[writer % 2].clone();
        tokio::spawn(async move {
            let mut entries = Vec::new();
            for step in 0..EACH {
                let when = minutes_after("2029-02-01T00:00Z", step * 10);
                let until = minutes_after("2029-02-01T00:00Z", step * 10 + 5);
                let fact = if step % 2 == 0 {
                    read(&car, step)
                } else {
                    fitted_until(&valve, &position(&car, FIRST), until)
                };
                match record(&server, command(when, fact)).await {
                    Ok(Recorded::Now(entry)) => entries.push(entry.seq.0),
                    other => panic!("not recorded: {other:?}"),
                }
            }
            entries
        })
    };
    let writing: Vec<_> = own.into_iter().enumerate().map(write).collect();
    let mut acknowledged = Vec::new();
    for writer in writing {
        acknowledged.extend(writer.await.unwrap());
    }
    acknowledged.sort_unstable();
    let count = i64::try_from(WRITERS).unwrap() * EACH;
    let expected: Vec<i64> = (before + 1..=before + count).collect();
    assert_eq!(acknowledged, expected);
    let kept = register.tables.number("select count(*) from ledger").await;
    assert_eq!(kept, before + count);
    register.proves().await;
}

/// Many instants, in turn at each of some places, so that no history becomes long.
const PLACES: usize = 50;
const INSTANTS: usize = 1_000;

/// When one of them is, and the next.
fn instant(number: usize) -> [Instant; 2] {
    let minutes = i64::try_from(number).unwrap();
    [minutes, minutes + 1].map(|minutes| minutes_after("2030-01-01T06:30Z", minutes))
}

async fn of_two_who_fill_one_position_at_one_instant_exactly_one_wins(url: &str) {
    let mut register = Register::open(url).await;
    let own = found_for(&mut register, PLACES).await;
    let servers = servers(url).await;
    let mut won = [0, 0];
    for number in 0..INSTANTS {
        let (car, valve) = &own[number % PLACES];
        let valves = [valve, &own[(number + 1) % PLACES].1];
        let fill = |side: usize| {
            let [when, until] = instant(number);
            let fact = fitted_until(valves[side], &position(car, FIRST), until);
            let server = servers[side].clone();
            tokio::spawn(async move { record(&server, command(when, fact)).await })
        };
        let (one, other) = tokio::join!(fill(0), fill(1));
        let (winner, why) = match (one.unwrap(), other.unwrap()) {
            (Ok(Recorded::Now(_)), Err(StoreError::Refused(why))) => (0, why),
            (Err(StoreError::Refused(why)), Ok(Recorded::Now(_))) => (1, why),
            both => panic!("{both:?}"),
        };
        assert!(matches!(why, Refusal::PositionTaken { .. }), "{why}");
        won[winner] += 1;
    }
    assert_eq!(won[0] + won[1], INSTANTS);
    has_fitted_as_often(&mut register).await;
    register.proves().await;
}

async fn of_two_who_fit_one_serial_at_one_instant_exactly_one_wins(url: &str) {
    let mut register = Register::open(url).await;
    let own = found_for(&mut register, PLACES).await;
    let servers = servers(url).await;
    for number in 0..INSTANTS {
        let (car, valve) = &own[number % PLACES];
        let cars = [car, &own[(number + 1) % PLACES].0];
        let fit = |side: usize| {
            let [when, until] = instant(number);
            let fact = fitted_until(valve, &position(cars[side], FIRST), until);
            let server = servers[side].clone();
            tokio::spawn(async move { record(&server, command(when, fact)).await })
        };
        let (one, other) = tokio::join!(fit(0), fit(1));
        let ((Ok(Recorded::Now(entry)), Err(StoreError::Refused(why)))
        | (Err(StoreError::Refused(why)), Ok(Recorded::Now(entry)))) =
            (one.unwrap(), other.unwrap())
        else {
            panic!("not one of two at instant {number}");
        };
        // Whoever loses is told by whom the serial is taken.
        assert_eq!(why.conflicting_entry(), Some(entry.seq), "{why}");
    }
    has_fitted_as_often(&mut register).await;
    register.proves().await;
}

async fn has_fitted_as_often(register: &mut Register) {
    let fitted = "select count(*) from fitment";
    let fitted = register.tables.number(fitted).await;
    assert_eq!(usize::try_from(fitted), Ok(INSTANTS));
}

async fn a_caller_who_goes_away_leaves_nothing_half_done(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let before = register.tables.number("select count(*) from ledger").await;
    let reading = |place: i64| {
        command(
            minutes_after("2029-02-01T00:00Z", place),
            read("4101", place),
        )
    };
    let mut commands = Vec::new();
    for round in 0..30 {
        let abandoned = reading(round * 2);
        let caller = record(&register.store, abandoned.clone());
        let patience = Duration::from_micros(u64::try_from(round).unwrap() * 150);
        drop(tokio::time::timeout(patience, caller).await);
        let next = reading(round * 2 + 1);
        let next_of_another_car = Command {
            fact: read("4102", round),
            ..next
        };
        assert!(matches!(
            record(&register.store, next_of_another_car).await,
            Ok(Recorded::Now(_))
        ));
        commands.push(abandoned);
    }
    // Whether or not it was recorded then, it is recorded once.
    for command in &commands {
        record(&register.store, command.clone()).await.unwrap();
    }
    let after = register.tables.number("select count(*) from ledger").await;
    assert_eq!(after, before + 60);
    register.proves().await;
}

async fn an_import_whose_caller_goes_away_leaves_nothing(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let reading = |place: i64| {
        command(
            minutes_after("2029-02-01T00:00Z", place),
            read("4101", place),
        )
    };
    let readings: Vec<Command> = (0..1_500).map(reading).collect();
    let (mut kept, mut left) = (0, 0);
    for round in 0..12 {
        let before = register.tables.number("select count(*) from ledger").await;
        let commands = readings.iter().cloned().map(|command| ((), command));
        let engineer = person(Role::BrakeEngineer);
        let mut watch = KeepAll;
        let importing = register
            .store
            .import(&engineer, at(NOW), commands, &mut watch);
        let patience = Duration::from_micros(500 << round);
        if tokio::time::timeout(patience, importing).await.is_ok() {
            kept += 1;
        } else {
            left += 1;
            // Whoever leaves in the moment of the commit cannot know; it is whole or not at all.
            let after = register.tables.number("select count(*) from ledger").await;
            assert!(
                after == before || after == before + 1_500,
                "{before}, {after}"
            );
        }
        let next = command(
            minutes_after("2029-02-01T00:00Z", round),
            read("4102", round),
        );
        assert!(matches!(
            record(&register.store, next).await,
            Ok(Recorded::Now(_))
        ));
    }
    // The shortest patience is too short for a thousand readings, the longest is a second.
    assert!(0 < left && left + kept == 12);
    register.proves().await;
}

async fn a_command_waits_for_another_program_that_writes(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let lock = match register.tables.dialect() {
        Dialect::Sqlite => "begin immediate",
        Dialect::Postgres => "begin; update ledger_head set seq = seq",
    };
    register.tables.execute(lock).await;
    let server = register.store.clone();
    let reading = command(at("2029-02-01T00:00Z"), read("4101", 7));
    let writing = tokio::spawn(async move { record(&server, reading).await });
    // Others read meanwhile.
    let mut view = register.store.view().await.unwrap();
    assert!(view.car(&"4101".parse().unwrap()).await.unwrap().is_some());
    assert!(!writing.is_finished());
    register.tables.execute("commit").await;
    assert!(matches!(writing.await.unwrap(), Ok(Recorded::Now(_))));
}

#[tokio::test]
async fn a_server_that_loses_its_connections_makes_new_ones() {
    let database = PostgresDatabase::fresh().await;
    let mut register = Register::open(database.url()).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let end = "select pg_terminate_backend(pid) from pg_stat_activity
        where datname = current_database() and pid <> pg_backend_pid()";
    for km in 1..=5 {
        register.tables.execute(end).await;
        let reading = command(minutes_after("2029-02-01T00:00Z", km), read("4101", km));
        assert!(matches!(
            record(&register.store, reading).await,
            Ok(Recorded::Now(_))
        ));
    }
    register.proves().await;
}

each_database!(
    a_command_waits_for_another_program_that_writes,
    what_is_acknowledged_is_in_the_ledger_without_gaps,
    of_two_who_fill_one_position_at_one_instant_exactly_one_wins,
    of_two_who_fit_one_serial_at_one_instant_exactly_one_wins,
    a_caller_who_goes_away_leaves_nothing_half_done,
    an_import_whose_caller_goes_away_leaves_nothing,
);
