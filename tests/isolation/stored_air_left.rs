//! How many applications the air behind a closed cock or with a dead compressor still allows, of a
//! constructed unit: 125 l at 8.5 bar and 14 l of cylinders on each car, filled to 3.8 bar. Each
//! takes (3.8 + 1) · 14 / 125 = 0.5376 bar; eight leave 4.1992, the ninth would fall below 4.1,
//! which is 0.3 above the cylinders. Sources: Boyle's law; Regulation (EU) 321/2013, appendix C.9(f).

use domain::configuration::brake_forces::{ActsOn, ActuatorGroup, CylinderPressure};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, CarType, LoadState};
use domain::configuration::component::PositionRef;
use domain::decision::checks::{Check, CheckKind};
use domain::decision::stored::StoredIn;
use domain::decision::{CutOutInTrain, Question, TrainCar, Way, decide};
use domain::isolation::CutOutState::{self, ClosedTrapped, ClosedVented, Failed, SupplyCut};
use domain::units::Thousandths;
use std::sync::Arc;
use tests::car_type_text::read;
use tests::reference_unit::{ParkingAir, compiled, end_car, middle_car};

/// Cylinders of 1.75 l filled to 3.8 bar, and main air of 8.5 bar or more.
fn with_air(mut car_type: CarType) -> CarType {
    let calipers = (1..=4).flat_map(|axle| [1, 2].map(|one| read(&format!("=A{axle}-C{one}"))));
    let group = ActuatorGroup {
        name: read("calipers"),
        positions: calipers.collect(),
        acts_on: ActsOn::Tread,
        piston_area_mm2: 30_000,
        cylinder_efficiency: Thousandths(950),
        spring_n: 500,
        ratio: Thousandths(2500),
        adjuster_n: 0,
        efficiency: Thousandths(950),
        friction: Thousandths(350),
        stop_energy_max_kj: None,
        cylinder_volume_ml: Some(1750),
        pressures: vec![CylinderPressure {
            brake_position: BrakePosition::P,
            load: LoadState::Normal,
            pressure_mbar: 3800,
            delay_ms: 500,
            rise_ms: 3000,
        }],
    };
    car_type.forces.groups = vec![group];
    car_type.forces.main_air_least_mbar = Some(8500);
    car_type
}

/// The unit with something cut out, by the place of the car.
pub(super) fn question(
    cut_outs: &[(usize, &str, CutOutState)],
    change: fn(&mut CarType),
) -> Question {
    let types = [
        (
            end_car(48_000, 64_000, ParkingAir::MainPipe),
            Orientation::Forward,
        ),
        (middle_car(44_000, 64_000), Orientation::Forward),
        (
            end_car(48_000, 64_000, ParkingAir::MainPipe),
            Orientation::Reversed,
        ),
    ];
    let cars = types
        .into_iter()
        .enumerate()
        .map(|(place, (car_type, orientation))| {
            let mut car_type = with_air(car_type);
            change(&mut car_type);
            let of_car = cut_outs.iter().filter(|one| one.0 == place);
            TrainCar {
                number: read(&(place + 1).to_string()),
                orientation,
                circuit: Arc::clone(&compiled(&car_type)),
                vacant: Vec::new(),
                shortcomings: Vec::new(),
                conceded: Vec::new(),
                not_conceded: Vec::new(),
                failed_tests: Vec::new(),
                due_at_once: Vec::new(),
                overdue: domain::decision::overdue::Overdue::Nothing,
                judge_again: Vec::new(),
                vacated: std::collections::BTreeMap::new(),
                cut_outs: of_car
                    .map(|(_, position, state)| CutOutInTrain {
                        position: read(position),
                        state: *state,
                        since: None,
                        recorded: None,
                    })
                    .collect(),
            }
        });
    Question {
        cars: cars.collect(),
        supposed: Vec::new(),
        brake_position: BrakePosition::P,
        load: LoadState::Normal,
        way: Way::default(),
    }
}

/// Car, reservoir, brakes, applications and drains of each.
fn words(stored: &[StoredIn]) -> Vec<String> {
    let one = |of: &StoredIn| {
        let left = match &of.applications {
            None => "–".to_owned(),
            Some(Ok(worked)) => worked.value.to_string(),
            Some(Err(missing)) => missing.to_string(),
        };
        let drains: Vec<String> = of.drains.iter().map(|at| at.position.to_string()).collect();
        let (car, code) = (&of.at.car_number, &of.at.position);
        format!(
            "{car} {code}: {} brakes, {left}, {}",
            of.brakes,
            drains.join(" ")
        )
    };
    stored.iter().map(one).collect()
}

fn left(cut_outs: &[(usize, &str, CutOutState)]) -> Vec<String> {
    words(&question(cut_outs, |_| ()).stored_air().unwrap())
}

#[test]
fn a_shut_supply_cock_leaves_eight_applications_in_125_litres() {
    assert_eq!(left(&[]), [""; 0]);
    let shut = (2, "=S-Q1", SupplyCut);
    assert_eq!(left(&[shut]), ["3 =S-R1: 8 brakes, 8, =S-Q2"]);
    // With half of the cylinders behind a closed cock: (8.5 − 4.1) / 0.2688 = 16.4.
    let one_bogie = (2, "=B1-Q1", ClosedVented);
    assert_eq!(left(&[shut, one_bogie]), ["3 =S-R1: 4 brakes, 16, =S-Q2"]);
    // A cock that vents has emptied it.
    assert_eq!(left(&[(2, "=S-Q1", ClosedVented)]), [""; 0]);
}

#[test]
fn the_steps_can_be_checked_by_hand_and_name_their_sources() {
    let found = question(&[(2, "=S-Q1", SupplyCut)], |_| ())
        .stored_air()
        .unwrap();
    let steps = &found[0]
        .applications
        .as_ref()
        .unwrap()
        .as_ref()
        .unwrap()
        .steps;
    let told: Vec<String> = steps.iter().map(|one| one.working.clone()).collect();
    assert!(told[0].contains("8.50 bar"), "{told:?}");
    assert!(
        told[1].contains("(3.80 bar + 1) · 14.00 l / 125 l = 0.5376 bar"),
        "{told:?}"
    );
    assert!(told[2].contains("= 4.1992 bar"), "{told:?}");
    assert_eq!(
        steps[0].source.to_string(),
        "entered: car type TMR-E revision A"
    );
}

#[test]
fn a_starved_car_and_a_dead_compressor_leave_what_each_reservoir_holds() {
    let starved = left(&[(1, "=M-Q2", SupplyCut)]);
    assert_eq!(
        starved,
        ["3 =L-R1: 0 brakes, –, =L-Q2", "3 =S-R1: 8 brakes, 8, =S-Q2"]
    );
    let dead = left(&[(1, "=M-G1", Failed)]);
    assert_eq!(dead.len(), 6);
    assert_eq!(
        dead.iter()
            .filter(|one| one.contains("8 brakes, 8"))
            .count(),
        3
    );
}

/// 8 applications are counted from 8.5 bar; what has leaked away since the supply was cut, only a
/// reading tells. Common practice, no source.
#[test]
fn a_reservoir_whose_supply_is_cut_is_read_before_it_is_counted_on() {
    let read = |cut_outs: &[(usize, &str, CutOutState)], change: fn(&mut CarType)| {
        let decision = decide(&question(cut_outs, change), &[]).unwrap();
        let checks = decision.checks.into_iter();
        let checks = checks.filter(|check| check.kind == CheckKind::PressureRead);
        checks.collect::<Vec<Check>>()
    };
    let checks = read(&[(2, "=S-Q1", SupplyCut)], |_| ());
    assert_eq!(checks.len(), 1, "{checks:?}");
    assert_eq!(
        checks[0].text,
        "Brakes are counted on stored air that nothing fills up any more. Car 3, reservoir =S-R1: \
         no test point and no gauge is on it, so read its pressure another way or count it as \
         empty; what is counted on it holds from 8.50 bar upward only. It leaks, so read it again \
         before each start."
    );
    let of: Vec<String> = checks[0].of.iter().map(ToString::to_string).collect();
    assert_eq!(of, ["=S-Q1 of car 3"]);
    // A starved car has two reservoirs to read, and with no compressor each car has; a check is
    // confirmed for its cut-out, so they are one. What is vented has none.
    let reservoirs = |cut_outs: &[(usize, &str, CutOutState)]| {
        let checks = read(cut_outs, |_| ());
        assert!(checks.len() < 2, "{checks:?}");
        let text = checks.first().map_or("", |check| &check.text);
        text.matches(", reservoir ").count()
    };
    assert_eq!(reservoirs(&[(1, "=M-Q2", SupplyCut)]), 2);
    assert_eq!(reservoirs(&[(1, "=M-Q2", ClosedTrapped)]), 2);
    assert_eq!(reservoirs(&[(1, "=M-G1", Failed)]), 6);
    assert_eq!(reservoirs(&[(2, "=S-Q1", ClosedVented)]), 0);
}

#[test]
fn a_volume_or_pressure_that_is_lacking_gives_no_answer_and_is_named() {
    let lacking = |change: fn(&mut CarType)| {
        let found = question(&[(2, "=S-Q1", SupplyCut)], change)
            .stored_air()
            .unwrap();
        words(&found).pop().unwrap()
    };
    let volume = lacking(|of| of.forces.groups[0].cylinder_volume_ml = None);
    assert!(
        volume
            .contains("volume of a cylinder with its pipe of car type TMR-E revision A, calipers"),
        "{volume}"
    );
    let pressure = lacking(|of| of.forces.main_air_least_mbar = None);
    assert!(
        pressure.contains("least pressure that the main air is kept at of car type TMR-E"),
        "{pressure}"
    );
}

#[test]
fn what_to_close_says_what_is_left_until_it_is_drained() {
    let component = PositionRef {
        car: read("3"),
        position: read("=S-F1"),
    };
    let found = question(&[], |_| ())
        .what_to_close(&component, &[])
        .unwrap();
    assert_eq!(found.stored.len(), found.closing.sets.len());
    let by_supply_cock = found
        .closing
        .sets
        .iter()
        .zip(&found.stored)
        .find(|(set, _)| set.cocks.len() == 1 && set.cocks[0].at.position.as_str() == "=S-Q1");
    let (set, stored) = by_supply_cock.unwrap();
    assert_eq!(words(stored), ["3 =S-R1: 8 brakes, 8, =S-Q2"]);
    assert_eq!(set.charged[0].at, stored[0].at);
}
