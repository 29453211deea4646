//! Worked examples of a three-car unit as a decision and rules see them: practice D.8, constructed.
//! What is lost of axles, bogies and holding cylinders in each of them stands in `three_car_unit`,
//! what is lost of load and force in `load_and_slide`.

use domain::circuit::Mode;
use domain::circuit::state::Impairment;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::decision::shortcoming::{Fault, Shortcoming};
use domain::decision::{CutOutInTrain, Decision, Question, TrainCar, Way, decide};
use domain::isolation::CutOutState::{
    self, ClosedTrapped, ClosedVented, Failed, ReleasedByHand, SupplyCut,
};
use domain::isolation::cause::CauseKind;
use domain::isolation::effect::{ActuatorEffect, Availability, Effect};
use domain::rule_set::RuleSet;
use domain::rule_set::verdict::Permission;
use serde_json::{Value, json};
use std::sync::Arc;
use tests::car_type_text::read;
use tests::reference_unit::{ParkingAir, three_car_units};

/// A unit of cars A, B and C, from the front, with what is cut out on A.
pub(super) fn unit(cut_out_on_a: &[(&str, CutOutState)]) -> Vec<TrainCar> {
    let train = three_car_units(1, ParkingAir::MainPipe);
    let mut cars: Vec<TrainCar> = train
        .cars()
        .iter()
        .map(|car| TrainCar {
            number: car.number.clone(),
            orientation: car.orientation,
            circuit: Arc::clone(&car.circuit),
            vacant: Vec::new(),
            shortcomings: Vec::new(),
            conceded: Vec::new(),
            not_conceded: Vec::new(),
            failed_tests: Vec::new(),
            due_at_once: Vec::new(),
            overdue: domain::decision::overdue::Overdue::Nothing,
            judge_again: Vec::new(),
            vacated: std::collections::BTreeMap::new(),
            cut_outs: Vec::new(),
        })
        .collect();
    let cut_outs = cut_out_on_a.iter();
    cars[0].cut_outs = cut_outs
        .map(|(position, state)| CutOutInTrain {
            position: read(position),
            state: *state,
            since: None,
            recorded: None,
        })
        .collect();
    cars
}

/// The same train seen from its other end.
fn turned(cars: &[TrainCar]) -> Vec<TrainCar> {
    let turn = |car: &TrainCar| TrainCar {
        orientation: match car.orientation {
            Orientation::Forward => Orientation::Reversed,
            Orientation::Reversed => Orientation::Forward,
        },
        ..car.clone()
    };
    cars.iter().rev().map(turn).collect()
}

/// Another unit, with other numbers.
fn other_unit() -> Vec<TrainCar> {
    let mut cars = unit(&[]);
    for (place, car) in cars.iter_mut().enumerate() {
        car.number = read(&(place + 4).to_string());
    }
    cars
}

pub(super) fn rules(requirement: &Value) -> RuleSet {
    serde_json::from_value(json!({
        "name": "constructed", "revision": "A", "issuer": "test", "note": "test",
        "valid_from": "2026-01-01",
        "rules": [{"title": "rule", "source": "common_practice", "requirement": requirement}],
    }))
    .unwrap()
}

fn decided(cars: Vec<TrainCar>, rules: &[&RuleSet]) -> Decision {
    let question = Question {
        cars,
        supposed: Vec::new(),
        brake_position: BrakePosition::P,
        load: LoadState::Normal,
        way: Way::default(),
    };
    decide(&question, rules).unwrap()
}

fn permissions(cars: Vec<TrainCar>, rules: &[&RuleSet]) -> Vec<Permission> {
    let found = decided(cars, rules).verdicts;
    let permission = |verdict: &domain::decision::RuleSetAnswer| {
        verdict.verdict.as_ref().unwrap().value.permission
    };
    found.iter().map(permission).collect()
}

fn emergency(decision: &Decision) -> &Effect {
    let mut effects = decision.effects.iter().map(|one| &one.effect);
    effects.find(|one| one.mode == Mode::Emergency).unwrap()
}

#[test]
fn an_incomplete_assembly_does_no_more_than_a_vacant_place_and_is_told_apart_from_it() {
    let mut vacant = unit(&[]);
    vacant[0].vacant.push(read("=B2-Q1"));
    let mut incomplete = vacant.clone();
    incomplete[0].shortcomings.push(Shortcoming {
        position: read("=B2-Q1-K9"),
        fault: Fault::Missing,
    });
    let [vacant, incomplete] = [vacant, incomplete].map(|cars| decided(cars, &[]));
    assert_eq!(emergency(&incomplete).counts, emergency(&vacant).counts);
    for (decision, by, kind) in [
        (&vacant, Impairment::Vacant, CauseKind::Vacant),
        (&incomplete, Impairment::Incomplete, CauseKind::Incomplete),
    ] {
        let impaired: Vec<Impairment> = decision.impaired.iter().map(|one| one.by).collect();
        assert_eq!(impaired, [by]);
        let lost = emergency(decision).actuators.iter();
        let why: Vec<CauseKind> = lost.flat_map(|one| &one.why).map(|one| one.kind).collect();
        assert!(why.contains(&kind), "{why:?}");
        let absent = [CauseKind::Vacant, CauseKind::Incomplete];
        let absent = absent.into_iter().filter(|one| why.contains(one)).count();
        assert_eq!(absent, 1, "{why:?}");
    }
    let words = CauseKind::Incomplete.to_string();
    assert_eq!(words, "incomplete: something it needs is missing inside");
}

/// Example 1: 66.7 % of cars are braked in full, 83.3 % of axles.
#[test]
fn of_one_train_a_rule_by_axles_and_a_rule_by_cars_say_different_things() {
    let at_least_80 = |by: &Value| {
        rules(
            &json!({"bands": {"measure": {"proportion": {"by": by}}, "bands": [
                {"at_least_percent": 0, "below_percent": 80, "consequence": "may_not_run"},
                {"at_least_percent": 80, "consequence": "may_run"},
            ]}}),
        )
    };
    let by_axles = at_least_80(&json!("axles"));
    let by_cars = at_least_80(&json!({"cars": "all_axles"}));
    let cars = unit(&[("=B2-Q1", ClosedVented)]);
    assert_eq!(
        permissions(cars, &[&by_axles, &by_cars]),
        [Permission::MayRun, Permission::MayNotRun]
    );
}

/// Example 3: a starved car loses its suspension, and by it its load signals, when its air is used
/// up.
#[test]
fn a_car_behind_a_shut_main_pipe_loses_its_load_signals_too() {
    let mut cars = unit(&[]);
    cars[1].cut_outs.push(CutOutInTrain {
        position: read("=M-Q2"),
        state: SupplyCut,
        since: None,
        recorded: None,
    });
    let lost: Vec<String> = decided(cars, &[])
        .load_signals
        .iter()
        .map(|lost| format!("{} {}", lost.signal.car_number, lost.signal.position))
        .collect();
    assert_eq!(lost, ["3 =L-B1", "3 =L-B2"]);
}

/// Example 4. Source of the rule: Regulation (EU) 2019/773, annex, 4.2.2.6.
#[test]
fn an_unbraked_end_car_may_run_inside_a_train_and_not_once_that_is_divided() {
    let ends = rules(&json!({"end_vehicle": {
        "end": "first_or_last", "counts_as_braked": "all_axles", "otherwise": "may_not_run",
    }}));
    let a_out = unit(&[("=B1-Q1", ClosedVented), ("=B2-Q1", ClosedVented)]);
    for cars in [a_out.clone(), turned(&a_out)] {
        assert_eq!(permissions(cars, &[&ends]), [Permission::MayNotRun]);
    }
    let inside = [turned(&a_out), other_unit()].concat();
    assert_eq!(permissions(inside, &[&ends]), [Permission::MayRun]);
    assert_eq!(
        permissions(other_unit(), &[&ends]),
        [Permission::MayRun],
        "and the other part of the divided train may"
    );
}

/// Example 6. Source of the 40 per mille: Regulation (EU) 1302/2014, annex, 4.2.4.5.5. Four
/// cylinders of 20 kN on 140 t: 80 / (140 · 9.81) = 58.25 per mille, and half of it on two.
#[test]
fn two_of_four_parking_brakes_released_by_hand_no_longer_hold_on_40_per_mille() {
    let on_40 = rules(&json!({"holding": {
        "gradient": 40.0, "safety_factor": 1.0, "otherwise": "may_not_run",
    }}));
    assert_eq!(permissions(unit(&[]), &[&on_40]), [Permission::MayRun]);
    let two = unit(&[("=P-C1", ReleasedByHand), ("=P-C4", ReleasedByHand)]);
    assert_eq!(permissions(two.clone(), &[&on_40]), [Permission::MayNotRun]);
    let decision = decided(two, &[]);
    let holding = decision.holding.unwrap();
    assert!((holding.before.value.0 - 58.25).abs() < 0.005);
    assert!((holding.after.value.0 - 29.12).abs() < 0.006);
    // Until air returns: the crew is told that the design may apply them again by itself.
    let told = decision.instructions.iter();
    assert!(
        told.clone().count() == 2 && told.clone().all(|one| one.act.contains("when air returns"))
    );
}

/// A cock that holds a brake on stops the train; one that shuts off a pipe with no brake on does
/// not, and neither is to be touched. Common practice, no source.
#[test]
fn do_not_move_is_said_where_a_brake_may_be_held_on_and_nowhere_else() {
    for (position, state, held) in [
        ("=B1-Q1", ClosedTrapped, true),
        ("=P-Q1", ClosedVented, true),
        ("=M-Q2", ClosedTrapped, false),
        ("=S-Q1", SupplyCut, false),
    ] {
        let decision = decided(unit(&[(position, state)]), &[]);
        let act = &decision.instructions[0].act;
        assert_eq!(
            act.contains("do not move the train"),
            held,
            "{position}: {act}"
        );
        let vented = state == ClosedVented;
        assert_eq!(
            act.contains("Do not touch it"),
            held && !vented || position == "=M-Q2"
        );
    }
}

/// What is seen of a cut-out is that of its state, not of its kind.
#[test]
fn a_cock_that_failed_is_not_said_to_stand_at_closed() {
    for (state, says) in [
        (ClosedVented, "fully at closed"),
        (SupplyCut, "fully at closed"),
        (Failed, "reported"),
    ] {
        let decision = decided(unit(&[("=S-Q1", state)]), &[]);
        let see = &decision.instructions[0].see;
        assert!(see.contains(says), "{state}: {see}");
    }
}

/// A spring that was released by hand is lost to holding alone, in whatever way it was cut out.
#[test]
fn what_is_lost_of_a_spring_while_running_is_lost_while_standing() {
    for state in CutOutState::ALL {
        let decision = decided(unit(&[("=P-C1", *state)]), &[]);
        let of = |mode| {
            let effects = decision
                .effects
                .iter()
                .filter(move |one| one.effect.mode == mode);
            let actuators = effects.flat_map(|one| &one.effect.actuators);
            actuators.filter(|one| one.car == 0 && one.position.as_str() == "=P-C1")
        };
        let lost = |one: &&ActuatorEffect| one.availability == Availability::Lost;
        for running in [Mode::Service, Mode::Emergency] {
            assert!(
                of(running)
                    .filter(lost)
                    .all(|one| !one.is_amiss_in(running))
            );
            if of(running).any(|one| lost(&one)) {
                assert!(
                    of(Mode::Holding).all(|one| one.is_amiss_in(Mode::Holding)),
                    "{state}"
                );
            }
        }
    }
}
