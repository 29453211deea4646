//! A small fleet, invented for the tests: three cars of one type, two of them a unit, with the
//! parts, tasks and the procedure that belong to them.

use domain::circuit::Circuit;
use domain::configuration::brake_forces::BrakeForces;
use domain::configuration::car_type::{CarType, Position, PositionKind, VehicleKind};
use domain::configuration::component::ComponentRef;
use domain::configuration::part::Part;
use domain::due::task::{AppliesTo, ClockStart, CountsFrom, Interval, Limit, Task, TaskKind};
use domain::ledger::fact::Fact;
use domain::test_record::procedure::{Bounds, Measurand, MeasurandRole, Procedure};
use domain::units::{Amount, Meter};

use crate::facts::{car_of_fleet, component, receipt, unit};
use crate::register::Register;

/// The fleet.
pub const FLEET: &str = "Sedge";
/// The depot that keeps it.
pub const DEPOT: &str = "North";
/// The type of its cars, in revisions A and B. In B nothing is approved at [`SECOND`].
pub const CAR_TYPE: &str = "Motor car";
/// Its cars; the first two are a unit.
pub const CARS: [&str; 3] = ["4101", "4102", "4103"];
/// The unit of the first two cars.
pub const UNIT: &str = "41";

/// A distributor valve with tasks, approved at [`FIRST`] and [`SECOND`].
pub const VALVE: &str = "DV-210";
/// A distributor valve of a later design with no task, approved at [`FIRST`] only.
pub const LATER_VALVE: &str = "DV-220";
/// A relay valve, approved at [`RELAY`].
pub const RELAY_VALVE: &str = "RV-100";

/// Position of the first distributor valve.
pub const FIRST: &str = "=BS-K1";
/// Position of the second distributor valve.
pub const SECOND: &str = "=BS-K2";
/// Position of the relay valve.
pub const RELAY: &str = "=BS-K3";
/// Position of an isolating cock.
pub const COCK: &str = "=BS-Q1";

/// Overhaul of a [`VALVE`]: 96 months or 600,000 km.
pub const OVERHAUL: &str = "OH-DV";
/// The end of a [`VALVE`]'s life: 1,800,000 km.
pub const LIFE: &str = "LL-DV";
/// Brake test of a car: 12 months.
pub const BRAKE_TEST: &str = "BT-CAR";
/// The procedure of a car's leakage test, in revision A: at most 0.2 bar a minute.
pub const PROCEDURE: &str = "LT-CAR";
/// What it measures.
pub const LEAKAGE: &str = "brake pipe leakage";

/// The most kilometres a day that are taken without confirmation.
pub const DAILY_KM_MAX: u32 = 1_000;

/// The components of the fleet; all are new and in store at first.
#[derive(Debug, Clone)]
pub struct Components {
    /// Of part [`VALVE`].
    pub valves: Vec<ComponentRef>,
    /// Of part [`LATER_VALVE`].
    pub later: ComponentRef,
    /// Of part [`RELAY_VALVE`].
    pub relay: ComponentRef,
}

/// What has to be known before anything is fitted: parts, car type, tasks, procedure, cars, unit.
pub fn design() -> Vec<Fact> {
    let mut facts = vec![
        part(VALVE, PositionKind::DistributorValve),
        part(LATER_VALVE, PositionKind::DistributorValve),
        part(RELAY_VALVE, PositionKind::RelayValve),
        car_type("A", &[VALVE]),
        car_type("B", &[]),
        Fact::TaskDefined(overhaul("A", 96)),
        Fact::TaskDefined(life()),
        Fact::TaskDefined(brake_test()),
        procedure(),
    ];
    facts.extend(CARS.map(car_of_fleet));
    facts.push(unit(UNIT, &CARS[..2]));
    facts
}

/// The receipts of the components, all made on 2020-01-01.
pub fn receipts(components: &Components) -> Vec<Fact> {
    let singles = [&components.later, &components.relay];
    let all = components.valves.iter().chain(singles);
    all.map(|one| Fact::ComponentReceived(receipt(one, "2020-01-01")))
        .collect()
}

/// The components, by name only.
pub fn components() -> Components {
    Components {
        valves: ["1", "2", "3", "4"]
            .map(|serial| component(VALVE, serial))
            .into(),
        later: component(LATER_VALVE, "1"),
        relay: component(RELAY_VALVE, "1"),
    }
}

/// Records the whole fleet as at a time.
pub async fn found(register: &mut Register, since: &str) -> Components {
    let components = components();
    for fact in design().into_iter().chain(receipts(&components)) {
        register.record(since, fact).await;
    }
    components
}

/// A part without tasks.
pub fn part(number: &str, kind: PositionKind) -> Fact {
    Fact::PartDefined(Part {
        number: number.parse().expect("a part number"),
        title: kind.to_string(),
        kind,
        positions: Vec::new(),
        modification_states: Vec::new(),
        replaces: Vec::new(),
    })
}

fn car_type(revision: &str, approved_at_second: &[&str]) -> Fact {
    car_type_with(revision, approved_at_second, None)
}

/// A revision of [`CAR_TYPE`], perhaps with another position.
pub fn car_type_with(
    revision: &str,
    approved_at_second: &[&str],
    another: impl IntoIterator<Item = Position>,
) -> Fact {
    use PositionKind::{DistributorValve, IsolatingCock, RelayValve};
    let usual = [
        place(FIRST, DistributorValve, &[VALVE, LATER_VALVE]),
        place(SECOND, DistributorValve, approved_at_second),
        place(RELAY, RelayValve, &[RELAY_VALVE]),
        place(COCK, IsolatingCock, &[]),
    ];
    Fact::CarTypeDefined(Box::new(CarType {
        name: CAR_TYPE.parse().expect("a car type"),
        revision: revision.parse().expect("a revision"),
        fleet: FLEET.parse().expect("a fleet"),
        title: "invented for the tests".to_owned(),
        vehicle_kind: VehicleKind::Car,
        hand_brake: None,
        load_signal_lost: None,
        usual_brake_position: None,
        length_mm: 24_000,
        speed_max_km_h: 140,
        daily_km_max: DAILY_KM_MAX,
        bogies: Vec::new(),
        masses: Vec::new(),
        positions: usual.into_iter().chain(another).collect(),
        circuit: Circuit::default(),
        braked_weights: Vec::new(),
        forces: BrakeForces::default(),
    }))
}

/// A position where parts are approved.
pub fn place(code: &str, kind: PositionKind, approved: &[&str]) -> Position {
    Position {
        code: code.parse().expect("a position code"),
        title: kind.to_string(),
        kind,
        bogie: None,
        axle: None,
        end: None,
        side: None,
        along_mm: 5_000,
        approved: approved
            .iter()
            .map(|part| part.parse().expect("a part number"))
            .collect(),
        states: Vec::new(),
        settings: Vec::new(),
        aliases: Vec::new(),
    }
}

/// The overhaul of a [`VALVE`] in a revision with its months.
pub fn overhaul(revision: &str, months: u32) -> Task {
    let applies_to = AppliesTo::Part(VALVE.parse().expect("a part number"));
    let limits = [Interval::Months(months), kilometres(600_000)];
    Task {
        revision: revision.parse().expect("a revision"),
        ..task(OVERHAUL, TaskKind::Overhaul, applies_to, &limits)
    }
}

/// The limit of a [`VALVE`]'s life.
pub fn life() -> Task {
    let applies_to = AppliesTo::Part(VALVE.parse().expect("a part number"));
    task(
        LIFE,
        TaskKind::LifeLimit,
        applies_to,
        &[kilometres(1_800_000)],
    )
}

fn brake_test() -> Task {
    let applies_to = AppliesTo::CarType(CAR_TYPE.parse().expect("a car type"));
    task(
        BRAKE_TEST,
        TaskKind::Test,
        applies_to,
        &[Interval::Months(12)],
    )
}

/// The brake test in another revision, due at once after some work on the car.
pub fn brake_test_after(revision: &str, after: &[&str]) -> Task {
    let after = after.iter();
    let after = after.map(|text| text.parse().expect("an obligation"));
    Task {
        revision: revision.parse().expect("a revision"),
        obligations: after.collect(),
        ..brake_test()
    }
}

fn kilometres(km: i64) -> Interval {
    Interval::Usage(Meter::Odometer, Amount::whole(km))
}

fn task(code: &str, kind: TaskKind, applies_to: AppliesTo, intervals: &[Interval]) -> Task {
    let limit = |&interval| Limit {
        interval,
        early: 0,
        late: 0,
    };
    let limits: Vec<Limit> = intervals.iter().map(limit).collect();
    Task {
        code: code.parse().expect("a task code"),
        revision: "A".parse().expect("a revision"),
        title: kind.to_string(),
        kind,
        applies_to,
        limits: limits.try_into().expect("limits of a task"),
        counts_from: CountsFrom::Done,
        clock_start: ClockStart::Overhaul,
        longest_in_store_days: None,
        satisfies: Vec::new(),
        obligations: Vec::new(),
        source: "invented for the tests".to_owned(),
    }
}

/// The procedure [`PROCEDURE`].
pub fn procedure() -> Fact {
    let upper = Some("0.2".parse().expect("a decimal"));
    let leakage = Measurand {
        name: LEAKAGE.parse().expect("a measurand"),
        load: None,
        role: MeasurandRole::Result,
        unit: "bar/min".to_owned(),
        bounds: Bounds::new(None, upper).expect("an upper bound"),
        measured_at: Vec::new(),
        during: None,
    };
    Fact::ProcedureDefined(Procedure {
        code: PROCEDURE.parse().expect("a procedure's code"),
        revision: "A".parse().expect("a revision"),
        title: "leakage of the brake pipe".to_owned(),
        applies_to: AppliesTo::CarType(CAR_TYPE.parse().expect("a car type")),
        measurands: vec![leakage].try_into().expect("one measurand"),
        task: Some(BRAKE_TEST.parse().expect("a task's code")),
        source: "invented for the tests".to_owned(),
    })
}
