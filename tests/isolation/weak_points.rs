//! Weak points, proved against evaluating each failure and each pair by itself.

use super::random_trains::{RandomTrain, trains};
use domain::circuit::Mode;
use domain::circuit::state::{Impaired, Impairment};
use domain::circuit::train::TrainCircuit;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::isolation::brake_percentage::{BrakingCase, brake_percentage};
use domain::isolation::losses::Function;
use domain::isolation::weak_points::{Failure, WeakPoints, weak_points};
use domain::isolation::{CutOutState, Supply};
use domain::units::Kilograms;
use proptest::prelude::*;
use tests::reference_unit::{ParkingAir, cut_out, three_car_units};

fn found(train: &TrainCircuit, standing: &[Impaired]) -> WeakPoints {
    weak_points(train, standing, BrakePosition::P, LoadState::Normal).unwrap()
}

fn impaired(failure: &Failure) -> Impaired {
    Impaired {
        car: failure.car,
        position: failure.position.clone(),
        by: Impairment::CutOut(failure.state),
    }
}

/// The braked weight left in emergency from the front, at once and later, one state at a time.
fn left(train: &TrainCircuit, impaired: &[Impaired]) -> (Kilograms, Kilograms) {
    let place = train.command_places(Mode::Emergency)[0];
    let train = train.commanded_from(place);
    // What no circuit describes takes no braked weight.
    let state = train.impaired(impaired).unwrap();
    let weight = |supply| {
        let case = BrakingCase {
            mode: Mode::Emergency,
            supply,
            brake_position: BrakePosition::P,
            load: LoadState::Normal,
        };
        brake_percentage(&state, case)
            .unwrap()
            .value
            .after
            .braked_weight()
    };
    (weight(Supply::Now), weight(Supply::Exhausted))
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 24,
        failure_persistence: None,
        ..Default::default()
    })]

    #[test]
    fn every_failure_and_every_pair_takes_what_it_takes_by_itself(
        train in trains(3).prop_map(RandomTrain::with_controllers),
    ) {
        let circuit = train.circuit();
        let answer = found(&circuit, &train.impaired);
        let before = left(&circuit, &train.impaired);
        prop_assert_eq!((answer.at_once, answer.later), before);
        let lost = |failures: &[&Failure]| {
            let more: Vec<Impaired> = failures.iter().map(|f| impaired(f)).collect();
            let after = left(&circuit, &[train.impaired.clone(), more].concat());
            (before.0 - after.0, before.1 - after.1)
        };
        for single in &answer.singles {
            let taken = (single.losses.at_once, single.losses.later);
            prop_assert_eq!(lost(&[&single.failure]), taken);
        }
        let mut that_take = 0;
        for (one, single) in answer.singles.iter().enumerate() {
            for (more, beside) in answer.singles[one + 1..].iter().enumerate() {
                let other = one + 1 + more;
                let (at_once, later) = lost(&[&single.failure, &beside.failure]);
                let listed = answer.pairs.worst.iter().find(|p| (p.one, p.other) == (one, other));
                let taken = (single.losses.at_once, single.losses.later);
                let taken_beside = (beside.losses.at_once, beside.losses.later);
                if let Some(pair) = listed {
                    that_take += 1;
                    prop_assert_eq!((pair.at_once, pair.later), (at_once, later));
                } else {
                    // A failure that leads to no brake adds nothing to any other.
                    let alone = [taken, taken_beside].contains(&(at_once, later));
                    let none = (Kilograms(0), Kilograms(0));
                    let idle = [taken, taken_beside].contains(&none);
                    prop_assert!(later.0 == 0 || alone && idle, "{single:?} {beside:?}");
                }
                let beyond = later - single.losses.later - beside.losses.later;
                let hidden = answer.pairs.hidden.iter().find(|p| (p.one, p.other) == (one, other));
                let expected = (beyond.0 > 0).then_some(beyond);
                prop_assert_eq!(hidden.map(|pair| pair.beyond_each), expected);
            }
        }
        prop_assert_eq!(answer.pairs.that_take, that_take);
    }
}

fn named(answer: &WeakPoints, at: usize) -> String {
    let failure = &answer.singles[at].failure;
    format!("{} {}", failure.car_number, failure.position)
}

// Practice D.8, example 7, constructed: two units, the compressor of the second dead. A cock
// between them is then a single failure that starves twelve axles; with both compressors it is
// one of a pair.
#[test]
fn a_dead_compressor_turns_a_pair_of_failures_into_a_single_one() {
    let train = three_car_units(2, ParkingAir::MainPipe);
    let between = "3 =M-Q1";
    let sound = found(&train, &[]);
    let takes = |answer: &WeakPoints| {
        let mut singles = answer.singles.iter().enumerate();
        let single = singles.find(|(at, _)| named(answer, *at) == between);
        single.map(|(_, single)| single.losses.later)
    };
    assert_eq!(takes(&sound), Some(Kilograms(0)));
    let both = sound.pairs.hidden.iter().find(|pair| {
        [named(&sound, pair.one), named(&sound, pair.other)].contains(&between.to_owned())
            && [named(&sound, pair.one), named(&sound, pair.other)].contains(&"5 =M-G1".to_owned())
    });
    assert_eq!(both.map(|pair| pair.later), Some(Kilograms(3 * 64_000)));

    let dead = found(&train, &[cut_out(4, "=M-G1", CutOutState::Failed)]);
    assert_eq!(takes(&dead), Some(Kilograms(3 * 64_000)));
}

#[test]
fn what_is_lost_besides_braked_weight_is_counted_by_function() {
    let train = three_car_units(1, ParkingAir::MainPipe);
    let answer = found(&train, &[]);
    let lost = |position: &str, function: Function| {
        let mut singles = answer.singles.iter();
        let single = singles
            .find(|s| s.failure.car == 0 && s.failure.position.as_str() == position)
            .unwrap();
        let mut functions = single.losses.functions.iter();
        functions.find(|f| f.function == function).map(|f| f.lost)
    };
    assert_eq!(lost("=P-Q1", Function::RunningFree), Some(2));
    assert_eq!(lost("=P-C1", Function::Holding), Some(1));
    assert_eq!(lost("=L-Q1", Function::LoadSignal), Some(2));
    assert_eq!(lost("=A1-Y1", Function::SlideProtection), Some(1));
    assert_eq!(lost("=B1-Y1", Function::ServiceBrake), Some(4));
    assert_eq!(lost("=M-T1", Function::Holding), None);
}

#[test]
fn the_worst_failure_comes_first() {
    let answer = found(&three_car_units(1, ParkingAir::MainPipe), &[]);
    let lost: Vec<Kilograms> = answer.singles.iter().map(|s| s.losses.later).collect();
    assert!(lost.is_sorted_by(|one, next| one >= next));
    let pairs: Vec<Kilograms> = answer.pairs.worst.iter().map(|pair| pair.later).collect();
    assert!(pairs.is_sorted_by(|one, next| one >= next));
    assert_eq!(lost.first(), Some(&Kilograms(3 * 64_000)));
}
