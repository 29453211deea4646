//! Two people who fit at the same instant, over HTTP: through two servers on `PostgreSQL`, through one
//! on a file. Exactly one of them wins, and the other is told by what. The store is asked far more
//! often, by `tests/ledger/concurrency.rs`.

use super::clerk::{Clerk, make_account};
use super::program::{Place, Serving};
use domain::configuration::component::ComponentRef;
use domain::ledger::fact::Fact;
use domain::time::Instant;
use serde_json::{Value, json};
use std::time::{SystemTime, UNIX_EPOCH};
use tests::each_database;
use tests::facts::{car_of_fleet, component, fitted_until, position, receipt};
use tests::fleet::{self, FIRST, VALVE};
use tests::register::Register;
use uuid::Uuid;

/// The instants, in turn at each of some cars, so that no history becomes long.
const INSTANTS: usize = 250;
const CARS: usize = 25;
const PEOPLE: [&str; 2] = ["A. Keeper", "B. Keeper"];
const MINUTE: i64 = 60_000_000;

/// Two people, each at a server, and what they fit.
struct Race {
    people: [Clerk; 2],
    /// The server of each.
    addresses: [String; 2],
    /// When the first instant is.
    begin: Instant,
    /// Cars, each with a valve of its own.
    own: Vec<(String, ComponentRef)>,
    /// They end with this value.
    _servers: Vec<Serving>,
}

/// A car and a valve for each place, and the accounts of the people.
async fn founded(place: &Place, url: &str) -> Vec<(String, ComponentRef)> {
    let mut register = Register::open(url).await;
    register.now_is("2024-01-02T06:00Z");
    let since = "2024-01-01T00:00Z";
    fleet::found(&mut register, since).await;
    let mut own = Vec::new();
    for number in 0..CARS {
        let car = format!("42{number:02}");
        let valve = component(VALVE, &format!("W{number}"));
        register.record(since, car_of_fleet(&car)).await;
        let receipt = Fact::ComponentReceived(receipt(&valve, "2020-01-01"));
        register.record(since, receipt).await;
        own.push((car, valve));
    }
    for name in PEOPLE {
        make_account(place, name, &["technician"]);
    }
    register.store.close().await;
    own
}

fn later(than: Instant, minutes: i64) -> Instant {
    Instant::from_microseconds(than.microseconds() + minutes * MINUTE).unwrap()
}

/// Twenty hours ago by the clock of the servers: what is told within a day is not told late.
fn earlier_today() -> Instant {
    let now = SystemTime::now().duration_since(UNIX_EPOCH).unwrap();
    let now = i64::try_from(now.as_micros()).unwrap();
    later(Instant::from_microseconds(now).unwrap(), -20 * 60)
}

impl Race {
    async fn begun(place: &Place, url: &str) -> Self {
        let own = founded(place, url).await;
        let serve = || place.serve(&["serve", "--listen", "127.0.0.1:0", "--database", url]);
        let one = serve();
        let other = url.starts_with("postgres:").then(serve);
        let address = other.as_ref().map_or(&one.address, |other| &other.address);
        let addresses = [one.address.clone(), address.clone()];
        let people = [
            Clerk::signed_in(&addresses[0], PEOPLE[0]).await,
            Clerk::signed_in(&addresses[1], PEOPLE[1]).await,
        ];
        Self {
            people,
            addresses,
            begin: earlier_today(),
            own,
            _servers: [one].into_iter().chain(other).collect(),
        }
    }

    /// When one of the instants is, and the next.
    fn instant(&self, number: usize) -> [Instant; 2] {
        let minutes = i64::try_from(number).unwrap();
        [minutes, minutes + 1].map(|minutes| later(self.begin, minutes))
    }

    /// Has a person record that a valve was at a car over an instant.
    async fn fit(
        &self,
        person: usize,
        (valve, car): (&ComponentRef, &str),
        number: usize,
    ) -> (u16, Value) {
        let [when, until] = self.instant(number);
        let fact = fitted_until(valve, &position(car, FIRST), until);
        let entry = json!({"id": Uuid::new_v4(), "effective_at": when.to_string(), "fact": fact});
        let answer = self.people[person].record(&self.addresses[person], &entry);
        answer.await.unwrap()
    }

    /// Has both record at once, one valve at one car each, and gives who won and what the other was
    /// told. Who is asked first is in turn one and the other.
    async fn both(&self, fits: [(&ComponentRef, &str); 2], number: usize) -> (usize, Value) {
        let (first, second) = (number % 2, 1 - number % 2);
        let (one, other) = tokio::join!(
            self.fit(first, fits[first], number),
            self.fit(second, fits[second], number)
        );
        let (winner, won, lost) = match (one.0, other.0) {
            (201, 409) => (first, one.1, other.1),
            (409, 201) => (second, other.1, one.1),
            _ => panic!("not one of two at instant {number}: {one:?}, {other:?}"),
        };
        assert_eq!(lost["entry"], won["number"], "{lost}");
        (winner, lost)
    }
}

/// As many were fitted as there were instants, and as many attempts are kept for auditors.
async fn each_instant_has_one_entry_and_one_refusal(url: &str, won: [usize; 2]) {
    assert_eq!(won[0] + won[1], INSTANTS);
    assert!(won.iter().all(|times| 0 < *times), "{won:?}");
    let mut register = Register::open(url).await;
    for counted in [
        "select count(*) from fitment",
        "select count(*) from refused_attempt where kind = 'record'",
    ] {
        let counted = register.tables.number(counted).await;
        assert_eq!(usize::try_from(counted), Ok(INSTANTS));
    }
    register.proves().await;
}

async fn of_two_people_who_fill_one_position_at_one_instant_one_wins(url: &str) {
    let place = Place::on(url);
    let race = Race::begun(&place, url).await;
    let mut won = [0, 0];
    for number in 0..INSTANTS {
        let (car, valve) = &race.own[number % CARS];
        let valves = [valve, &race.own[(number + 1) % CARS].1];
        let fits = valves.map(|valve| (valve, car.as_str()));
        let (winner, told) = race.both(fits, number).await;
        let why = told["detail"].as_str().unwrap();
        assert!(
            why.contains(&format!("holds {} then", valves[winner])),
            "{told}"
        );
        assert_eq!(told["field"], "position");
        won[winner] += 1;
    }
    each_instant_has_one_entry_and_one_refusal(url, won).await;
}

async fn of_two_people_who_fit_one_serial_at_one_instant_one_wins(url: &str) {
    let place = Place::on(url);
    let race = Race::begun(&place, url).await;
    let mut won = [0, 0];
    for number in 0..INSTANTS {
        let (car, valve) = &race.own[number % CARS];
        let cars = [car, &race.own[(number + 1) % CARS].0];
        let fits = cars.map(|car| (valve, car.as_str()));
        let (winner, told) = race.both(fits, number).await;
        let why = told["detail"].as_str().unwrap();
        let there = format!("is fitted at {} then", position(cars[winner], FIRST));
        assert!(why.contains(&there), "{told}");
        assert_eq!(told["field"], "serial");
        won[winner] += 1;
    }
    each_instant_has_one_entry_and_one_refusal(url, won).await;
}

each_database!(
    of_two_people_who_fill_one_position_at_one_instant_one_wins,
    of_two_people_who_fit_one_serial_at_one_instant_one_wins,
);
