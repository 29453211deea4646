//! A served register with a few invented cars and valves, for the tests of this folder.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use domain::circuit::Circuit;
use domain::ledger::command::Command;
use domain::ledger::fact::Fact;
use domain::ledger::record::founder;
use domain::people::Role;
use domain::people::roles::Roles;
use domain::time::{Instant, Zone};
use exchange::input::{Input, Options};
use reqwest::Method;
use serde_json::{Value, json};
use store::account::{Made, NewAccount, Secret};
use store::{Imported, Store};
use tests::keep_all::KeepAll;
use tests::server::RunningServer;
use tests::statements::Statements;
use tests::visitor::Visitor;
use uuid::Uuid;
use web::{Mode, WebState};

/// The time of the server. A Wednesday.
pub(crate) const NOW: &str = "2026-11-25T12:00:00Z";
/// Valves, by serial number; the first two are on car 4101, the third on car 4102.
pub(crate) const VALVES: usize = 60;
/// A distributor valve: overhaul `OH-DV` after 96 months or 600,000 km, test `TS-DV` after 12
/// months, inspection `IN-DV` after 130,000 km.
pub(crate) const VALVE: &str = "DV/210";
/// Where valves belong.
pub(crate) const FIRST: &str = "=BS1-K1";
/// The other place where valves belong.
pub(crate) const SECOND: &str = "=BS2-K1";

/// A register that is served and watched.
pub(crate) struct Served {
    pub(crate) store: Store,
    pub(crate) server: RunningServer,
    pub(crate) statements: Statements,
    /// Microseconds since 1970 by the server's clock.
    clock: Arc<AtomicI64>,
}

impl Served {
    /// An empty register with one account a role.
    pub(crate) async fn empty(url: &str) -> Self {
        let served = Self::of(url, Mode::Demo).await;
        served.make_accounts().await;
        served
    }

    /// An empty register with no account, as a railway runs it.
    pub(crate) async fn of(url: &str, mode: Mode) -> Self {
        Self::with(url, mode, |state, _| state).await
    }

    /// The same with something more, which may depend on the address of the server.
    pub(crate) async fn with(
        url: &str,
        mode: Mode,
        also: impl FnOnce(WebState, &str) -> WebState,
    ) -> Self {
        let store = Store::open(url, Zone::UTC).await.unwrap();
        let clock = Arc::new(AtomicI64::new(now().microseconds()));
        let ticking = Arc::clone(&clock);
        let time = move || Instant::from_microseconds(ticking.load(Ordering::Relaxed)).unwrap();
        let state = WebState::new(store.clone(), Zone::UTC, mode, Arc::new(time));
        let mut statements = None;
        let server = RunningServer::start_knowing(|base| {
            let (watched, routes) = Statements::watch(web::router(also(state, base)));
            statements = Some(watched);
            routes
        });
        let server = server.await;
        Self {
            store,
            server,
            statements: statements.unwrap(),
            clock,
        }
    }

    /// Lets so many seconds pass on the server's clock.
    pub(crate) fn pass(&self, seconds: i64) {
        self.clock.fetch_add(seconds * 1_000_000, Ordering::Relaxed);
    }

    async fn make_accounts(&self) {
        for role in Role::ALL {
            let account = NewAccount {
                name: role.name().parse().unwrap(),
                roles: Roles::one(*role),
                secret: Secret::None,
            };
            let by = "test".parse().unwrap();
            let made = self
                .store
                .make_account(&account, (&by, now()))
                .await
                .unwrap();
            assert_eq!(made, Made::Now);
        }
    }

    /// A register with the sample fleet.
    pub(crate) async fn with_fleet(url: &str) -> Self {
        let served = Self::empty(url).await;
        served.import(fleet()).await;
        served
    }

    /// A register with units of the real invented designs, as `tests::tarrenmoor` has them.
    pub(crate) async fn with_trains(url: &str) -> Self {
        tests::with_trains::put_at(url).await;
        Self::empty(url).await
    }

    /// A register with the demo fleet, as its files have it on the day they were written.
    pub(crate) async fn with_demo(url: &str) -> Self {
        let served = Self::empty(url).await;
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../seed-data");
        let options = Options {
            zone: Zone::UTC,
            shift_days: 0,
        };
        let items = Input::open(&folder, options).unwrap();
        let items = items.map(|item| ((), item.unwrap().value));
        let engineer = founder("import".parse().unwrap());
        let done = served
            .store
            .import(&engineer, now(), items, &mut KeepAll)
            .await;
        assert!(matches!(done.unwrap(), Imported::Kept(_)));
        served
    }

    /// Records facts, each as at a time; all of them must be allowed.
    pub(crate) async fn import(&self, facts: Vec<(String, Value)>) {
        let commands = facts.into_iter().map(|(at, fact)| ((), command(&at, fact)));
        let engineer = founder("import".parse().unwrap());
        let done = self
            .store
            .import(&engineer, now(), commands, &mut KeepAll)
            .await;
        assert!(matches!(done.unwrap(), Imported::Kept(_)));
    }

    /// A visitor without a session.
    pub(crate) fn visitor(&self) -> Visitor {
        Visitor::new(&self.server)
    }

    /// A visitor who is signed in with one role.
    pub(crate) async fn signed_in(&self, role: Role) -> Visitor {
        let visitor = self.visitor();
        let form = visitor.request(Method::POST, "/sign-in");
        let page = visitor.send(form.form(&[("name", role.name())])).await;
        assert_eq!(page.status(), 200);
        visitor
    }
}

/// What a server of a register knows.
pub(crate) fn state(store: &Store) -> WebState {
    WebState::new(store.clone(), Zone::UTC, Mode::Demo, Arc::new(now))
}

/// The time of the server.
pub(crate) fn now() -> Instant {
    NOW.parse().unwrap()
}

fn command(at: &str, fact: Value) -> Command {
    Command {
        id: Uuid::new_v4(),
        effective_at: at.parse().unwrap(),
        reason: "for the test".to_owned(),
        corrects: None,
        fact: serde_json::from_value::<Fact>(fact).unwrap(),
    }
}

fn fleet() -> Vec<(String, Value)> {
    let mut facts = design();
    let day = |day: &str| format!("{day}T08:00:00Z");
    for serial in 1..=VALVES {
        facts.push((day("2024-01-01"), receipt(serial)));
    }
    for (serial, car, position) in [
        ("1", "4101", FIRST),
        ("2", "4101", SECOND),
        ("3", "4102", FIRST),
    ] {
        facts.push((day("2026-01-01"), fitted(serial, car, position)));
    }
    for (on, value) in [
        ("2025-12-01", 500_000),
        ("2026-06-01", 572_800),
        ("2026-11-01", 632_000),
    ] {
        facts.push((day(on), reading("4101", value)));
    }
    facts
}

fn design() -> Vec<(String, Value)> {
    let position = |code: &str, kind: &str, approved: &[&str]| json!({"code": code, "title": kind, "kind": kind, "along_mm": 5_000, "approved": approved});
    let car_type = json!({
        "name": "Motor car", "revision": "A", "fleet": "Sedge", "title": "invented for the tests",
        "vehicle_kind": "car", "length_mm": 24_000, "speed_max_km_h": 140, "daily_km_max": 1_000,
        "bogies": [], "masses": [], "braked_weights": [], "circuit": Circuit::default(),
        "positions": [
            position(FIRST, "distributor_valve", &[VALVE]),
            position(SECOND, "distributor_valve", &[VALVE]),
            position("=BS1-Q1", "isolating_cock", &[]),
        ],
    });
    let limit = |interval: Value, early: i64, late: i64| json!({"interval": interval, "early": early, "late": late});
    let km = |km: i64| json!({"usage": ["odometer", km * 1_000]});
    let overhaul = [
        limit(json!({"months": 96}), 60, 30),
        limit(km(600_000), 20_000_000, 10_000_000),
    ];
    let facts = [
        json!({"part_defined": {"number": VALVE, "title": "distributor valve", "kind": "distributor_valve"}}),
        json!({"car_type_defined": car_type}),
        task("OH-DV", "overhaul", &overhaul),
        task("TS-DV", "test", &[limit(json!({"months": 12}), 30, 30)]),
        task(
            "IN-DV",
            "inspection",
            &[limit(km(130_000), 5_000_000, 5_000_000)],
        ),
        car("4101", "Sedge", "North"),
        car("4102", "Sedge", "North"),
        car("4201", "Fern", "South"),
        json!({"unit_formed": {"number": "41", "cars": [
            {"car": "4101", "orientation": "forward"}, {"car": "4102", "orientation": "reversed"}]}}),
    ];
    let at = "2023-12-01T08:00:00Z";
    facts.map(|fact| (at.to_owned(), fact)).into()
}

fn task(code: &str, kind: &str, limits: &[Value]) -> Value {
    json!({"task_defined": {
        "code": code, "revision": "A", "title": format!("{kind} of a distributor valve"), "kind": kind,
        "applies_to": {"part": VALVE}, "limits": limits, "counts_from": "done",
        "clock_start": "overhaul", "source": "invented for the tests",
    }})
}

fn car(number: &str, fleet: &str, depot: &str) -> Value {
    json!({"car_registered": {
        "number": number, "car_type": "Motor car", "revision": "A", "fleet": fleet, "depot": depot,
    }})
}

/// Valve 1 was made on 2019-01-01, each other 30 days after the one before.
fn receipt(serial: usize) -> Value {
    let made: domain::time::Day = "2019-01-01".parse().unwrap();
    let later = i64::try_from(serial - 1).unwrap() * 30;
    json!({"component_received": {
        "component": {"part": VALVE, "serial": serial.to_string()}, "condition": "serviceable",
        "location": "Store North", "manufactured_on": made.plus_days(later).to_string(),
        "brought": {"odometer": 0},
    }})
}

/// A valve is fitted.
pub(crate) fn fitted(serial: &str, car: &str, position: &str) -> Value {
    json!({"fitted": {"component": {"part": VALVE, "serial": serial}, "car": car, "position": position}})
}

/// An odometer is read, in kilometres.
pub(crate) fn reading(car: &str, km: i64) -> Value {
    json!({"reading_taken": {"car": car, "meter": "odometer", "value": km * 1_000}})
}
