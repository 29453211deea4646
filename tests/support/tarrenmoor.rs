//! A small part of the invented Tarrenmoor fleet: its design data with both rule sets and the
//! procedures, two units and a push-pull set of it with a component at every position and set as
//! wanted, so that nothing departs, two trains. Without tasks, so that nothing has to be forecast.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use domain::configuration::car::{Car, OrderedCar, Orientation, Train, Unit, Vehicle};
use domain::configuration::car_type::CarType;
use domain::configuration::component::{ComponentRef, Condition, PositionRef};
use domain::configuration::host::{Host, HostPosition};
use domain::configuration::location::Sent;
use domain::configuration::part::Part;
use domain::configuration::setting::{SettingHow, SettingMade};
use domain::identity::PartNumber;
use domain::ledger::command::Command;
use domain::ledger::fact::{Brought, Fact, Fitting, Receipt};
use domain::ledger::record::founder;
use domain::time::Zone;
use exchange::input::{Input, Options};
use store::Store;
use uuid::Uuid;

use crate::car_type_text::read;
use crate::keep_all::KeepAll;

/// A car with its type and its orientation in the unit.
type CarOfUnit = (&'static str, &'static str, Orientation);

const FORWARD: Orientation = Orientation::Forward;
const REVERSED: Orientation = Orientation::Reversed;

/// Units with their cars from the first, as `formations.csv` puts them together.
const UNITS: [(&str, &[CarOfUnit]); 3] = [
    (
        "TM101",
        &[
            ("4101", "TM-DA", FORWARD),
            ("4102", "TM-T", FORWARD),
            ("4103", "TM-DB", FORWARD),
        ],
    ),
    (
        "TM102",
        &[
            ("4104", "TM-DA", FORWARD),
            ("4105", "TM-T", FORWARD),
            ("4106", "TM-DB", FORWARD),
        ],
    ),
    (
        "PC201",
        &[
            ("5101", "PC-L", FORWARD),
            ("5102", "PC-K", FORWARD),
            ("5103", "PC-C", REVERSED),
            ("5104", "PC-C", FORWARD),
            ("5105", "PC-K", REVERSED),
            ("5106", "PC-D", REVERSED),
        ],
    ),
];

/// When everything was formed and fitted.
const SINCE: &str = "2026-03-01T06:00:00Z";
/// When it is recorded.
const NOW: &str = "2026-11-20T08:00:00Z";

/// All of it: reading the files takes longer than recording what is wanted of them.
static COMMANDS: OnceLock<Vec<Command>> = OnceLock::new();

/// Records the fleet in an empty register: trains T1 of units TM101 and TM102, the second
/// reversed, and T2 of the set PC201.
pub async fn record(store: &Store) {
    let commands = COMMANDS.get_or_init(commands).iter().cloned();
    let commands = commands.map(|command| ((), command));
    let engineer = founder(read("import"));
    let outcome = store
        .import(&engineer, read(NOW), commands, &mut KeepAll)
        .await;
    outcome.expect("the fleet is recorded");
}

/// A command that records a fact at a time.
pub fn command(fact: Fact, at: &str) -> Command {
    Command {
        id: Uuid::now_v7(),
        effective_at: read(at),
        reason: String::new(),
        corrects: None,
        fact,
    }
}

fn seed_data() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../seed-data")
}

fn design() -> Vec<Command> {
    let options = Options {
        zone: Zone::UTC,
        shift_days: 0,
    };
    let input = Input::open(&seed_data(), options).expect("the design data");
    input
        .map(|item| item.expect("a row of the design").value)
        .collect()
}

fn commands() -> Vec<Command> {
    let mut commands = design();
    // Design data alone: whatever else the folder may hold is not for tests to depend on.
    let is_design = |command: &Command| {
        matches!(
            command.fact,
            Fact::CarTypeDefined(_)
                | Fact::PartDefined(_)
                | Fact::RuleSetIssued(_)
                | Fact::ProcedureDefined(_)
        )
    };
    commands.retain(is_design);
    for command in &mut commands {
        if let Fact::ProcedureDefined(procedure) = &mut command.fact {
            procedure.task = None;
        }
    }
    let car_types: Vec<CarType> = commands
        .iter()
        .filter_map(|command| match &command.fact {
            Fact::CarTypeDefined(car_type) => Some((**car_type).clone()),
            _ => None,
        })
        .collect();
    let parts: Vec<Part> = commands
        .iter()
        .filter_map(|command| match &command.fact {
            Fact::PartDefined(part) => Some(part.clone()),
            _ => None,
        })
        .collect();
    let mut facts = Vec::new();
    for (unit, cars) in UNITS {
        for (number, name, _) in cars {
            let car_type = car_types
                .iter()
                .find(|car_type| car_type.name.as_str() == *name);
            let car_type = car_type.expect("a car type of the design");
            facts.push(Fact::CarRegistered(car(number, car_type)));
            facts.extend(fitted(number, car_type, &parts));
        }
        facts.push(Fact::UnitFormed(unit_of(unit, cars)));
    }
    facts.push(train("T1", &[("TM101", FORWARD), ("TM102", REVERSED)]));
    facts.push(train("T2", &[("PC201", FORWARD)]));
    commands.extend(facts.into_iter().map(|fact| command(fact, SINCE)));
    commands
}

fn car(number: &str, car_type: &CarType) -> Car {
    Car {
        number: read(number),
        vehicle_number: None,
        entered_service_on: None,
        car_type: car_type.name.clone(),
        revision: car_type.revision.clone(),
        fleet: car_type.fleet.clone(),
        depot: read("Tarrenmoor"),
    }
}

/// A component of the first approved part at each position, with what is inside it, set as wanted.
fn fitted(car: &str, car_type: &CarType, parts: &[Part]) -> Vec<Fact> {
    let mut facts = Vec::new();
    for (place, position) in car_type.positions.iter().enumerate() {
        let at = PositionRef {
            car: read(car),
            position: position.code.clone(),
        };
        let serial = format!("{car}-{place:03}");
        put(
            &mut facts,
            parts,
            (&position.approved, &serial),
            at.clone().into(),
        );
        let set = position.settings.iter().map(|setting| {
            Fact::SettingMade(SettingMade {
                at: at.clone(),
                setting: setting.name().clone(),
                value: setting.wanted(),
                how: SettingHow::Made,
            })
        });
        facts.extend(set);
    }
    facts
}

/// A component of the first approved part, filled and then fitted.
fn put(
    facts: &mut Vec<Fact>,
    parts: &[Part],
    (approved, serial): (&[PartNumber], &str),
    at: HostPosition,
) {
    let part = approved.first().expect("an approved part");
    let component = ComponentRef {
        part: part.clone(),
        serial: read(serial),
    };
    facts.push(Fact::ComponentReceived(Receipt {
        component: component.clone(),
        condition: Condition::Serviceable,
        location: read("Tarrenmoor store"),
        manufactured_on: None,
        overhauled_on: None,
        brought: Brought::default(),
        since_overhaul: Brought::default(),
        certificate: None,
        modification: None,
        batch: None,
        release: None,
        sent: Sent::default(),
        alike_seen: None,
    }));
    let design = parts.iter().find(|known| known.number == *part);
    for inner in &design.expect("a part of the design").positions {
        let place = HostPosition {
            host: Host::Assembly(component.clone()),
            position: inner.code.clone(),
        };
        let serial = format!("{serial}{}", inner.code);
        put(facts, parts, (&inner.approved, &serial), place);
    }
    facts.push(Fact::Fitted(Fitting {
        component,
        at,
        concession: None,
        ended: None,
    }));
}

fn unit_of(number: &str, cars: &[CarOfUnit]) -> Unit {
    let place = |(car, _, orientation): &CarOfUnit| OrderedCar {
        car: read(car),
        orientation: *orientation,
    };
    Unit {
        number: read(number),
        cars: cars.iter().map(place).collect(),
    }
}

fn train(id: &str, units: &[(&str, Orientation)]) -> Fact {
    let vehicle =
        |(unit, orientation): &(&str, Orientation)| Vehicle::Unit(read(unit), *orientation);
    Fact::TrainFormed(Train {
        id: read(id),
        vehicles: units.iter().map(vehicle).collect(),
    })
}
