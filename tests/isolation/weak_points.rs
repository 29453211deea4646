//! Weak points, proved against evaluating each failure and each pair by itself.

use super::random_trains::{RandomTrain, trains};
use domain::circuit::state::{Impaired, Impairment};
use domain::circuit::train::TrainCircuit;
use domain::circuit::{Behaviour, End, Medium, Mode, Place};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState, PositionKind};
use domain::identity::PositionCode;
use domain::isolation::brake_percentage::{BrakingCase, brake_percentage};
use domain::isolation::losses::Function;
use domain::isolation::weak_points::{Fails, Failure, WeakPoint, WeakPoints, weak_points};
use domain::isolation::{CutOutState, Supply};
use domain::units::Kilograms;
use proptest::prelude::*;
use std::collections::BTreeSet;
use tests::car_type_text::car_type;
use tests::reference_unit::{ParkingAir, compiled, cut_out, three_car_units, train};

fn found(train: &TrainCircuit, standing: &[Impaired]) -> WeakPoints {
    weak_points(train, standing, BrakePosition::P, LoadState::Normal).unwrap()
}

/// What is impaired by a failure; none where a leak lets the air out of a port too, which is no
/// position.
fn impaired(train: &RandomTrain, failure: &Failure) -> Option<Vec<Impaired>> {
    let one = |car, position: &PositionCode, by| Impaired {
        car,
        position: position.clone(),
        by,
    };
    match &failure.how {
        Fails::To(state) => {
            let by = Impairment::CutOut(*state);
            Some(vec![one(failure.car, &failure.position, by)])
        }
        Fails::Leaks { .. } => {
            let open = |(car, place): &At| {
                let position = place.position()?;
                Some(one(*car, position, Impairment::Vacant))
            };
            let at = (failure.car, Place::Position(failure.position.clone()));
            leaking_pipe(train, &at).iter().map(open).collect()
        }
    }
}

type At = (usize, Place);

/// The pipe around a hose or drain cock, as far as the next valve: rounds until nothing changes.
fn leaking_pipe(train: &RandomTrain, at: &At) -> BTreeSet<At> {
    let passes = |(car, place): &At| {
        let Some(code) = place.position() else {
            return true;
        };
        let car_type = &train.cars[*car].0;
        let mut nodes = car_type.circuit.nodes.iter();
        let node = nodes.find(|node| node.position == *code).unwrap();
        let stops = train.impaired.iter().any(|one| {
            let bypassed = one.by == Impairment::CutOut(CutOutState::Bypassed);
            one.car == *car && one.position == *code && !bypassed
        });
        let free = match &node.behaviour {
            Behaviour::Cock { .. } | Behaviour::Reservoir { .. } => true,
            Behaviour::Pass => FREE.contains(&car_type.position(code).unwrap().kind),
            _ => false,
        };
        free && !stops
    };
    let demands = [Medium::ElectricalDemand, Medium::BrakePipeDemand];
    let mut joints: Vec<(At, At)> = Vec::new();
    for (car, (car_type, orientation)) in train.cars.iter().enumerate() {
        let lines = car_type.circuit.lines.iter();
        let lines = lines.filter(|line| !demands.contains(&line.medium));
        joints.extend(lines.map(|line| ((car, line.from.clone()), (car, line.to.clone()))));
        let Some((_, next)) = train.cars.get(car + 1) else {
            continue;
        };
        for pipe in ["a", "b"] {
            let port = |end| Place::Port {
                end,
                pipe: pipe.to_owned(),
            };
            let rear = match orientation {
                Orientation::Forward => End::End2,
                Orientation::Reversed => End::End1,
            };
            let front = match next {
                Orientation::Forward => End::End1,
                Orientation::Reversed => End::End2,
            };
            joints.push(((car, port(rear)), (car + 1, port(front))));
        }
    }
    let mut pipe = BTreeSet::from([at.clone()]);
    loop {
        let mut next = pipe.clone();
        for (one, other) in &joints {
            for (from, to) in [(one, other), (other, one)] {
                if pipe.contains(from) && passes(to) {
                    next.insert(to.clone());
                }
            }
        }
        if next == pipe {
            return pipe;
        }
        pipe = next;
    }
}

const FREE: [PositionKind; 4] = [
    PositionKind::Hose,
    PositionKind::Filter,
    PositionKind::DumpValve,
    PositionKind::DrainCock,
];

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
            let mut more = train.impaired.clone();
            for failure in failures {
                more.extend(impaired(&train, failure)?);
            }
            let after = left(&circuit, &more);
            Some((before.0 - after.0, before.1 - after.1))
        };
        for single in &answer.singles {
            let taken = (single.losses.at_once, single.losses.later);
            prop_assert_eq!(lost(&[&single.failure]).unwrap_or(taken), taken);
        }
        let mut that_take = 0;
        for (one, single) in answer.singles.iter().enumerate() {
            for (more, beside) in answer.singles[one + 1..].iter().enumerate() {
                let other = one + 1 + more;
                let listed = answer.pairs.worst.iter().find(|p| (p.one, p.other) == (one, other));
                let Some((at_once, later)) = lost(&[&single.failure, &beside.failure]) else {
                    that_take += usize::from(listed.is_some());
                    continue;
                };
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
fn a_leak_takes_what_lives_on_its_pipe_and_spares_what_a_check_valve_holds() {
    let text = "
        bogies 1
        mass 20000
        =G1 source always kind=compressor
        =A1 source service+emergency kind=brake_controller
        =T1 pass kind=hose
        =T3 pass kind=drain_cock
        =V1 check_valve
        =R1 reservoir
        =T2 pass kind=drain_cock
        =V2 all_of kind=relay_valve
        =H1 pass kind=hose
        =C1 air kind=caliper bogie=1 axle=1 weight=10000
        =G1 > =T1 main_air
        =T1 > =T3 main_air
        =T1 > =V1 main_air
        =V1 > =R1 main_air
        =R1 > =T2 main_air
        =R1 > supply@=V2 main_air
        =A1 > pilot@=V2 electrical_demand
        =V2 > =H1 cylinder_pressure
        =H1 > =C1 cylinder_pressure
    ";
    let train = train(&[(&compiled(&car_type("T", text)), Orientation::Forward)]);
    let answer = found(&train, &[]);
    let leaks: Vec<(String, usize, Kilograms, Kilograms)> = answer
        .singles
        .iter()
        .filter_map(|single| match &single.failure.how {
            Fails::To(_) => None,
            Fails::Leaks { likewise, .. } => Some((
                single.failure.position.to_string(),
                likewise.len(),
                single.losses.at_once,
                single.losses.later,
            )),
        })
        .collect();
    let (all, none) = (Kilograms(10_000), Kilograms(0));
    let leak = |at: &str, likewise, at_once| (at.to_owned(), likewise, at_once, all);
    // Before the reservoir the compressor feeds nothing either.
    assert_eq!(
        leaks,
        [
            leak("=T2", 0, all),
            leak("=H1", 0, all),
            leak("=T1", 1, none)
        ]
    );
    // A pipe is named by what it carries.
    let pipes = answer.singles.iter();
    let pipes = pipes.filter(|single| single.failure.how.pipe().is_some());
    let pipes: Vec<String> = pipes.map(|single| single.failure.to_string()).collect();
    assert_eq!(
        pipes,
        [
            "main air pipe leaks (1 =T2)",
            "brake cylinder pipe leaks (1 =H1)",
            "main air pipe leaks (1 =T1, or another in its pipe)",
        ]
    );
}

// A brake pipe that loses its air applies brakes: that is no loss of braking.
#[test]
fn a_leak_of_a_pipe_that_carries_a_demand_is_no_loss() {
    let text = "
        bogies 1
        mass 20000
        =G1 source always kind=compressor
        =A1 source service+emergency kind=brake_controller
        =H1 pass kind=hose
        =G1 > =H1 brake_pipe_air
        =A1 > =H1 brake_pipe_demand
    ";
    let train = train(&[(&compiled(&car_type("T", text)), Orientation::Forward)]);
    let leaks = |one: &WeakPoint| matches!(one.failure.how, Fails::Leaks { .. });
    assert!(!found(&train, &[]).singles.iter().any(leaks));
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
