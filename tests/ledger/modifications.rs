//! Modifications on both databases: a campaign, its embodiment in one thing after another, what is
//! left, and what that does to departures.

use domain::configuration::car_type::{CarType, PositionKind};
use domain::configuration::component::{ComponentRef, Subject};
use domain::configuration::modification::{Modification, ModificationScope};
use domain::configuration::part::StatesApproved;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use tests::baselines::modified;
use tests::each_database;
use tests::facts::{component, fitted, position, receipt};
use tests::fleet::{self, CAR_TYPE, FIRST, VALVE};
use tests::register::Register;

const SINCE: &str = "2029-01-01T00:00Z";
const PART: &str = "DV-230";

fn issued(number: &str, scope: ModificationScope) -> Modification {
    Modification {
        number: number.parse().unwrap(),
        title: "a stiffer spring".to_owned(),
        scope,
        by: "2029-12-31".parse().unwrap(),
        source: "invented for the tests".to_owned(),
    }
}

/// A campaign on the valves.
pub(super) fn of_valves() -> Modification {
    let scope = ModificationScope::Components {
        part: PART.parse().unwrap(),
        state: "B".parse().unwrap(),
        positions: Vec::new(),
        cars: None,
    };
    issued("M-1", scope)
}

/// A campaign on the cars.
pub(super) fn of_cars() -> Modification {
    let scope = ModificationScope::Cars {
        car_type: CAR_TYPE.parse().unwrap(),
        cars: "4101 to 4103".parse().unwrap(),
    };
    issued("M-2", scope)
}

/// A modification was embodied.
pub(super) fn embodied(number: &str, subject: Subject) -> Fact {
    Fact::Embodied {
        modification: number.parse().unwrap(),
        subject,
        evidence: "order 12".to_owned(),
    }
}

/// A valve in a modification state, received.
async fn valve(register: &mut Register, serial: &str, state: Option<&str>) -> ComponentRef {
    let one = component(PART, serial);
    let mut received = receipt(&one, "2020-01-01");
    received.modification = state.map(|state| state.parse().unwrap());
    let received = Fact::ComponentReceived(received);
    register.record(SINCE, received).await;
    one
}

/// The fleet, with a part in the states A, B and C.
async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let part = fleet::part(PART, PositionKind::DistributorValve);
    let part = modified(&part, &["A", "B", "C"], None);
    register.record(SINCE, part).await;
    for modification in [of_valves(), of_cars()] {
        let issued = Fact::ModificationIssued(modification);
        register.record(SINCE, issued).await;
    }
    register
}

/// How many are in the scope of a modification, and in how many it is embodied.
async fn progress(register: &Register, modification: &Modification) -> (i64, i64) {
    let mut view = register.store.view().await.unwrap();
    let units = view.modification_progress(modification).await.unwrap();
    let all = units.iter().map(|unit| unit.all).sum();
    (all, units.iter().map(|unit| unit.done).sum())
}

async fn left(register: &Register, modification: &Modification) -> Vec<String> {
    let mut view = register.store.view().await.unwrap();
    let day = "2029-06-01".parse().unwrap();
    let left = view.modification_left(modification, (None, day)).await;
    let left = left.unwrap().into_iter();
    left.map(|left| left.subject.to_string()).collect()
}

async fn what_is_left_is_all_that_is_not_in_the_state(url: &str) {
    let mut register = founded(url).await;
    let mut valves = Vec::new();
    for (serial, state) in [
        ("1", Some("A")),
        ("2", None),
        ("3", Some("B")),
        ("4", Some("C")),
    ] {
        valves.push(valve(&mut register, serial, state).await);
    }
    let campaign = of_valves();
    assert_eq!(progress(&register, &campaign).await, (4, 2));
    let two = ["DV-230 serial 1", "DV-230 serial 2"];
    assert_eq!(left(&register, &campaign).await, two);
    for one in [&valves[2], &valves[3]] {
        let done = embodied("M-1", Subject::Component(one.clone()));
        let done = register.refuses("2029-02-01T00:00Z", done).await;
        assert_eq!(done.field(), "modification", "{done}");
    }
    let other = embodied("M-1", Subject::Component(component(VALVE, "1")));
    let other = register.refuses("2029-02-01T00:00Z", other).await;
    assert_eq!(other.field(), "modification", "{other}");
    let first = embodied("M-1", Subject::Component(valves[0].clone()));
    let entry = register.record("2029-02-01T00:00Z", first.clone()).await;
    assert_eq!(left(&register, &campaign).await, &two[1..]);
    let again = register.refuses("2029-02-02T00:00Z", first).await;
    assert!(matches!(again, Refusal::Impossible { .. }), "{again}");
    register.withdraw(entry).await;
    assert_eq!(left(&register, &campaign).await, two);
    register.proves().await;
}

async fn a_car_is_modified_once(url: &str) {
    let mut register = founded(url).await;
    let campaign = of_cars();
    assert_eq!(progress(&register, &campaign).await, (3, 0));
    let car = || Subject::Car("4102".parse().unwrap());
    let entry = register
        .record("2029-02-01T00:00Z", embodied("M-2", car()))
        .await;
    assert_eq!(left(&register, &campaign).await, ["car 4101", "car 4103"]);
    let again = embodied("M-2", car());
    let again = register.refuses("2029-02-02T00:00Z", again).await;
    assert_eq!(again.conflicting_entry(), Some(entry), "{again}");
    let not_of_cars = embodied("M-1", car());
    let not_of_cars = register.refuses("2029-02-02T00:00Z", not_of_cars).await;
    assert_eq!(not_of_cars.field(), "modification", "{not_of_cars}");
    register.withdraw(entry).await;
    assert_eq!(progress(&register, &campaign).await, (3, 0));
    register
        .record("2029-02-03T00:00Z", embodied("M-2", car()))
        .await;
    register.proves().await;
}

async fn an_embodiment_ends_the_departure_of_what_is_fitted(url: &str) {
    let mut register = founded(url).await;
    let valve = valve(&mut register, "1", Some("A")).await;
    for (revision, state) in [("C", "A"), ("D", "B")] {
        let Fact::CarTypeDefined(mut design) = fleet::car_type_with(revision, &[VALVE], None)
        else {
            unreachable!()
        };
        approve(&mut design, state);
        register.record(SINCE, Fact::CarTypeDefined(design)).await;
    }
    register
        .put_in_force(SINCE, ("C", "4101", "2029-01-01"))
        .await;
    let fitting = fitted(&valve, &position("4101", FIRST));
    register.record("2029-02-01T00:00Z", fitting).await;
    register
        .put_in_force("2029-03-01T00:00Z", ("D", "4101", "2029-03-01"))
        .await;
    let wrong = format!("{FIRST} wrong modification state");
    let departs = register.departures("4101", "2029-03-02").await;
    assert!(departs.contains(&wrong), "{departs:?}");
    let done = embodied("M-1", Subject::Component(valve));
    register.record("2029-04-01T00:00Z", done).await;
    let departs = register.departures("4101", "2029-04-02").await;
    assert!(!departs.contains(&wrong), "{departs:?}");
    register.proves().await;
}

/// At a code that no car has, nothing would ever be left to embody.
async fn none_is_issued_for_a_position_that_no_car_has(url: &str) {
    let mut register = founded(url).await;
    let at = |code: &str| {
        let scope = ModificationScope::Components {
            part: PART.parse().unwrap(),
            state: "B".parse().unwrap(),
            positions: vec![code.parse().unwrap()],
            cars: None,
        };
        Fact::ModificationIssued(issued("M-3", scope))
    };
    let refused = register.refuses(SINCE, at("=XX1")).await;
    assert_eq!(refused.field(), "positions", "{refused}");
    assert!(refused.to_string().contains("=XX1"), "{refused}");
    register.record(SINCE, at(FIRST)).await;
    register.proves().await;
}

async fn one_issued_by_mistake_is_withdrawn_while_nothing_rests_on_it(url: &str) {
    let mut register = founded(url).await;
    let on_cars = |cars: &str| {
        let scope = ModificationScope::Cars {
            car_type: CAR_TYPE.parse().unwrap(),
            cars: cars.parse().unwrap(),
        };
        Fact::ModificationIssued(issued("M-3", scope))
    };
    let slip = register.record(SINCE, on_cars("4990 to 4999")).await;
    let right = on_cars("4101 to 4102");
    let refused = register.refuses_correction(slip, SINCE, right.clone());
    let refused = refused.await;
    assert_eq!(refused.field(), "corrects", "{refused}");
    register.withdraw(slip).await;
    register.proves().await;
    // Its number is free.
    let again = register.record(SINCE, right).await;
    let done = embodied("M-3", Subject::Car("4101".parse().unwrap()));
    let done = register.record("2029-02-01T00:00Z", done).await;
    let refused = register.refuses_withdrawal(again).await;
    assert_eq!(refused.conflicting_entry(), Some(done), "{refused}");
    register.withdraw(done).await;
    register.withdraw(again).await;
    let view = register.store.view().await.unwrap();
    let number = "M-3".parse().unwrap();
    assert!(!view.documents.modifications.contains_key(&number));
    drop(view);
    register.proves().await;
}

/// At the first position the part is approved in one modification state.
fn approve(design: &mut CarType, state: &str) {
    let part = PART.parse().unwrap();
    design.positions[0].approved.push(part);
    design.positions[0].states.push(StatesApproved {
        part: PART.parse().unwrap(),
        states: vec![state.parse().unwrap()],
    });
}

each_database!(
    what_is_left_is_all_that_is_not_in_the_state,
    a_car_is_modified_once,
    an_embodiment_ends_the_departure_of_what_is_fitted,
    none_is_issued_for_a_position_that_no_car_has,
    one_issued_by_mistake_is_withdrawn_while_nothing_rests_on_it,
);
