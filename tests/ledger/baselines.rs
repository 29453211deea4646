//! Baselines on both databases: which revision is in force for a car on a day, which two people
//! said so, what is approved where in which modification state, and where cars depart from that.

use domain::configuration::car_type::{CarType, PositionKind};
use domain::configuration::part::{Interchange, StatesApproved};
use domain::ledger::fact::Fact;
use domain::people::{Actor, Role};
use domain::refusal::Refusal;
use tests::baselines::{effective, modified, proposed};
use tests::each_database;
use tests::facts::{at, car, component, fitted, position, receipt, removed};
use tests::fleet::{self, CARS, FIRST, RELAY, SECOND, VALVE};
use tests::register::{Register, command, person, second_engineer};

const SINCE: &str = "2029-01-01T00:00Z";
const FITTED: &str = "2029-02-01T00:00Z";

/// Revision C of the fleet's type: it approves the valve at the second position, as A does.
fn revision_c() -> CarType {
    let Fact::CarTypeDefined(design) = fleet::car_type_with("C", &[VALVE], None) else {
        panic!("a car type")
    };
    *design
}

async fn a_revision_is_in_force_by_two_people_from_its_day_on(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let alone = Fact::RevisionEffective(effective("B", "4101 to 4102", "2029-06-01"));
    let alone = register.refuses(FITTED, alone).await;
    assert!(matches!(alone, Refusal::NeedsTwoPeople { .. }), "{alone}");
    let registered = car("4101", "B", fleet::DEPOT);
    let registered = command(at(FITTED), registered);
    let registered = register
        .refuses_of(person(Role::BrakeEngineer), registered)
        .await;
    let two = matches!(registered, Refusal::NeedsTwoPeople { .. });
    assert!(two, "{registered}");
    let unknown = proposed("Z", "4101", "2029-06-01");
    let unknown = register.refuses(FITTED, unknown).await;
    assert!(matches!(unknown, Refusal::Unknown { .. }), "{unknown}");
    let proposal = proposed("B", "4101 to 4102", "2029-06-01");
    let proposal = register.record(FITTED, proposal).await;
    assert_eq!(register.revision("4101", "2029-07-01").await, "A");
    let proposer = Actor::account(person(Role::BrakeEngineer).name, Role::ALL.to_vec());
    let own = command(at(FITTED), Fact::Approved { proposal });
    let own = register.refuses_of(proposer, own).await;
    assert_eq!(own, Refusal::SamePerson { by: proposal });
    register.approve(proposal, FITTED).await;
    for (car, day, revision) in [
        ("4101", "2029-05-31", "A"),
        ("4101", "2029-06-01", "B"),
        ("4102", "2040-01-01", "B"),
        ("4103", "2040-01-01", "A"),
    ] {
        assert_eq!(register.revision(car, day).await, revision, "{car} {day}");
    }
    // It may still move to another depot; what it was registered with is kept and not in force.
    let moved = car("4101", "A", "South");
    register.record("2029-07-01T00:00Z", moved).await;
    assert_eq!(register.revision("4101", "2029-07-01").await, "B");
    register.proves().await;
}

async fn what_is_fitted_is_approved_by_the_revision_of_the_day(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let force = ("B", "4101", "2029-06-01");
    register.put_in_force(FITTED, force).await;
    let second = position("4101", SECOND);
    let valve = fitted(&components.valves[0], &second);
    // In revision B nothing is approved at the second position.
    let late = register.refuses("2029-06-01T00:00Z", valve.clone()).await;
    assert!(matches!(late, Refusal::NotApproved { .. }), "{late}");
    register.record("2029-05-31T23:59Z", valve).await;
    let departs = format!("{SECOND} not approved");
    let before = register.departures("4101", "2029-05-31").await;
    assert!(!before.contains(&departs), "{before:?}");
    let after = register.departures("4101", "2029-06-01").await;
    assert!(after.contains(&departs), "{after:?}");
    register.proves().await;
}

async fn departures_are_told_by_position_and_end_when_the_car_conforms(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let places = [FIRST, SECOND, RELAY];
    let unknown = places.map(|place| format!("{place} unknown"));
    let day = "2029-06-01";
    assert_eq!(register.departures("4101", day).await, unknown);
    let [one, two, ..] = &components.valves[..] else {
        unreachable!()
    };
    for (place, one) in places.iter().zip([one, two, &components.relay]) {
        let fitting = fitted(one, &position("4101", place));
        register.record(FITTED, fitting).await;
    }
    assert_eq!(register.departures("4101", day).await, [""; 0]);
    let removal = removed(&components.relay);
    let removal = register.record("2029-03-01T00:00Z", removal).await;
    let vacant = [format!("{RELAY} vacant")];
    assert_eq!(register.departures("4101", day).await, vacant);
    register.withdraw(removal).await;
    assert_eq!(register.departures("4101", day).await, [""; 0]);
    // Of another car nothing was ever recorded.
    assert_eq!(register.departures(CARS[2], day).await, unknown);
    register.proves().await;
}

async fn a_modification_state_is_part_of_what_is_approved(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let part = fleet::part("DV-230", PositionKind::DistributorValve);
    let part = modified(&part, &["A", "B"], None);
    register.record(SINCE, part).await;
    let mut design = revision_c();
    design.positions[0].approved.push("DV-230".parse().unwrap());
    design.positions[0].states.push(StatesApproved {
        part: "DV-230".parse().unwrap(),
        states: vec!["Z".parse().unwrap()],
    });
    let no_state = Fact::CarTypeDefined(Box::new(design.clone()));
    let no_state = register.refuses(SINCE, no_state).await;
    assert_eq!(no_state.field(), "modification_state", "{no_state}");
    design.positions[0].states[0].states = vec!["B".parse().unwrap()];
    let design = Fact::CarTypeDefined(Box::new(design));
    register.record(SINCE, design).await;
    let force = ("C", "4101", "2029-01-01");
    register.put_in_force(SINCE, force).await;
    let first = position("4101", FIRST);
    for (serial, state) in [("1", Some("A")), ("2", None), ("3", Some("B"))] {
        let one = component("DV-230", serial);
        let mut received = receipt(&one, "2020-01-01");
        received.modification = state.map(|state| state.parse().unwrap());
        let received = Fact::ComponentReceived(received);
        register.record(SINCE, received).await;
        let fitting = fitted(&one, &first);
        if state == Some("B") {
            register.record(FITTED, fitting).await;
        } else {
            let why = register.refuses(FITTED, fitting).await;
            assert!(matches!(why, Refusal::StateNotApproved { .. }), "{why}");
        }
    }
    let departs = register.departures("4101", "2029-06-01").await;
    let at_first = departs.iter().any(|one| one.starts_with(FIRST));
    assert!(!at_first, "{departs:?}");
    register.proves().await;
}

/// Interchangeability is one-way where the later part says so, and a chain says nothing of its
/// ends. Common practice, no source.
async fn an_earlier_part_does_not_come_back_where_a_later_one_was(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, SINCE).await;
    let mut design = revision_c();
    for (number, earlier) in [("DV-230", VALVE), ("DV-240", "DV-230")] {
        let part = fleet::part(number, PositionKind::DistributorValve);
        let part = modified(&part, &[], Some((earlier, Interchange::OneWay)));
        register.record(SINCE, part).await;
        design.positions[0].approved.push(number.parse().unwrap());
    }
    let design = Fact::CarTypeDefined(Box::new(design));
    register.record(SINCE, design).await;
    let force = ("C", "4101 to 4102", "2029-01-01");
    register.put_in_force(SINCE, force).await;
    let later = ["DV-230", "DV-240"].map(|part| component(part, "1"));
    for one in &later {
        let received = Fact::ComponentReceived(receipt(one, "2020-01-01"));
        register.record(SINCE, received).await;
    }
    let valves = &components.valves;
    let first = position("4101", FIRST);
    for (day, fact) in [
        ("01", fitted(&valves[0], &first)),
        ("02", removed(&valves[0])),
        ("03", fitted(&later[0], &first)),
        ("04", removed(&later[0])),
    ] {
        register
            .record(&format!("2029-02-{day}T00:00Z"), fact)
            .await;
    }
    let back = fitted(&valves[1], &first);
    let back = register.refuses("2029-02-05T00:00Z", back).await;
    assert!(matches!(back, Refusal::NotInterchangeable { .. }), "{back}");
    assert!(back.conflicting_entry().is_some());
    // DV-240 replaces DV-230 and that replaces the valve; of the two ends nothing is said.
    let elsewhere = position("4102", FIRST);
    for (day, fact) in [
        ("05", fitted(&later[1], &elsewhere)),
        ("06", removed(&later[1])),
        ("07", fitted(&valves[1], &elsewhere)),
    ] {
        register
            .record(&format!("2029-02-{day}T00:00Z"), fact)
            .await;
    }
    register.proves().await;
}

async fn what_moves_verdicts_is_not_put_in_force_ahead_of_its_day(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, SINCE).await;
    let mut design = revision_c();
    design.length_mm += 1;
    let design = Fact::CarTypeDefined(Box::new(design));
    register.record(SINCE, design).await;
    let proposal = proposed("C", "4101", "2029-06-01");
    let proposal = register.record(FITTED, proposal).await;
    let ahead = command(at(FITTED), Fact::Approved { proposal });
    let ahead = register.refuses_of(second_engineer(), ahead).await;
    assert_eq!(ahead.field(), "from", "{ahead}");
    register.approve(proposal, "2029-06-01T00:00Z").await;
    assert_eq!(register.revision("4101", "2029-06-01").await, "C");
    register.proves().await;
}

each_database!(
    a_revision_is_in_force_by_two_people_from_its_day_on,
    what_is_fitted_is_approved_by_the_revision_of_the_day,
    departures_are_told_by_position_and_end_when_the_car_conforms,
    a_modification_state_is_part_of_what_is_approved,
    an_earlier_part_does_not_come_back_where_a_later_one_was,
    what_moves_verdicts_is_not_put_in_force_ahead_of_its_day,
);
