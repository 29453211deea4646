//! What flows in a car, what is lost there and why, on the constructed unit and on random trains.

use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::state::Impaired;
use domain::circuit::train::{PlacedCar, TrainCircuit};
use domain::circuit::{Medium, Mode, Place};
use domain::configuration::car::Orientation;
use domain::isolation::CutOutState::{ClosedTrapped, ClosedVented, SupplyCut};
use domain::isolation::Supply;
use domain::isolation::effect::Availability;
use domain::isolation::flow::{CarFlow, Flowing, PlaceFlow, car_flow};
use proptest::prelude::*;
use std::sync::Arc;
use tests::car_type_text::read;
use tests::reference_unit::{ParkingAir, cut_out, three_car_units};

use super::random_trains::trains;

const VIEWS: [(Mode, Supply); 5] = [
    (Mode::Service, Supply::Now),
    (Mode::Service, Supply::Exhausted),
    (Mode::Emergency, Supply::Now),
    (Mode::Emergency, Supply::Exhausted),
    (Mode::Holding, Supply::Now),
];

fn flow(train: &TrainCircuit, impaired: &[Impaired], view: (Mode, Supply), car: usize) -> CarFlow {
    car_flow(train, impaired, view, car).unwrap()
}

fn at<'a>(flow: &'a CarFlow, position: &str) -> &'a PlaceFlow {
    &flow.places[&Place::Position(read(position))]
}

/// The codes of those that are lost, without ports.
fn lost(flow: &CarFlow) -> Vec<String> {
    let lost = flow
        .places
        .iter()
        .filter(|(_, of)| of.flowing == Flowing::Lost);
    let position = |place: &Place| match place {
        Place::Position(code) => Some(code.to_string()),
        Place::Port { .. } => None,
    };
    lost.filter_map(|(place, _)| position(place)).collect()
}

/// A gauge that hangs on the cylinders of both bogies shows those of the other one, also where they
/// live on stored air alone.
#[test]
fn a_gauge_on_two_pipes_flows_as_long_as_one_of_them_brings_it_something() {
    let car = |(place, name): (usize, &str)| {
        let of = crate::seed_data::car_types()
            .into_iter()
            .find(|of| of.name.as_str() == name);
        PlacedCar {
            number: read(&(place + 1).to_string()),
            orientation: Orientation::Forward,
            circuit: Arc::new(CompiledCircuit::new(of.unwrap()).unwrap()),
        }
    };
    let cars = ["TM-DA", "TM-T", "TM-DB"].into_iter().enumerate().map(car);
    let train = TrainCircuit::new(cars.collect());
    let first = [
        cut_out(0, "=BS-QM1", SupplyCut),
        cut_out(0, "=BS1-QM1", ClosedVented),
    ];
    let both = [
        first[0].clone(),
        first[1].clone(),
        cut_out(0, "=BS2-QM1", ClosedVented),
    ];
    let view = (Mode::Service, Supply::Now);
    let one = flow(&train, &first, view, 0);
    assert_eq!(at(&one, "=DC-PG2").flowing, Flowing::Flows);
    assert_eq!(at(&one, "=BS1-XT1").flowing, Flowing::Lost);
    assert_eq!(
        at(&flow(&train, &both, view, 0), "=DC-PG2").flowing,
        Flowing::Lost
    );
}

#[test]
fn a_closed_cylinder_cock_takes_all_behind_it_and_nothing_else() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let shut = [cut_out(0, "=B1-Q1", ClosedVented)];
    let flow = flow(&unit, &shut, (Mode::Service, Supply::Now), 0);
    let behind = [
        "=A1-C1", "=A1-C2", "=A1-Y1", "=A2-C1", "=A2-C2", "=A2-Y1", "=B1-Q1",
    ];
    assert_eq!(lost(&flow), behind);
    for part in behind {
        let why = &at(&flow, part).why;
        assert_eq!(why.len(), 1, "{part}");
        assert_eq!(why[0].position.to_string(), "=B1-Q1", "{part}");
    }
    assert_eq!(at(&flow, "=A1-Y1").lacks, [Medium::CylinderPressure]);
    assert_eq!(at(&flow, "=B1-K1").flowing, Flowing::Flows);
    assert_eq!(flow.from, Some(read("1")));
}

#[test]
fn behind_a_cut_supply_the_brake_works_now_and_is_lost_later() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let shut = [cut_out(0, "=S-Q1", SupplyCut)];
    let now = flow(&unit, &shut, (Mode::Service, Supply::Now), 0);
    assert_eq!(lost(&now), ["=S-F1", "=S-Q1"]);
    assert_eq!(at(&now, "=A1-C1").flowing, Flowing::Flows);
    let later = flow(&unit, &shut, (Mode::Service, Supply::Exhausted), 0);
    assert_eq!(at(&later, "=A1-C1").flowing, Flowing::Lost);
    assert_eq!(at(&later, "=A1-C1").why[0].position.to_string(), "=S-Q1");
}

#[test]
fn a_spring_that_creeps_on_drags_later_and_is_told_apart_from_a_loss() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let shut = [cut_out(0, "=P-Q1", ClosedTrapped)];
    let now = flow(&unit, &shut, (Mode::Service, Supply::Now), 0);
    assert_eq!(at(&now, "=P-C1").flowing, Flowing::Flows);
    let later = flow(&unit, &shut, (Mode::Service, Supply::Exhausted), 0);
    assert_eq!(at(&later, "=P-C1").flowing, Flowing::Drags);
}

#[test]
fn air_leads_from_the_compressor_of_the_next_car() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let flow = flow(&unit, &[], (Mode::Service, Supply::Exhausted), 0);
    let lines = &unit.cars()[0].circuit.car_type().circuit.lines;
    let leads = |from: &str, to: &str| {
        let ends = (read::<Place>(from), read::<Place>(to));
        let line = lines
            .iter()
            .position(|l| (&l.from, &l.to) == (&ends.0, &ends.1));
        flow.lines[line.unwrap()].leads
    };
    assert!(leads("end2:main_pipe", "=M-Q2") && leads("=M-Q2", "=M-T1"));
    assert!(leads("=M-T1", "=M-Q1") && leads("=M-Q1", "end1:main_pipe"));
    assert!(!leads("=M-Q2", "end2:main_pipe") && !leads("=M-Q1", "=M-T1"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn nothing_is_lost_in_a_sound_train(train in trains(0)) {
        let train = train.with_controllers();
        let circuit = train.circuit();
        for (view, car) in VIEWS.iter().flat_map(|v| (0..train.cars.len()).map(move |c| (*v, c))) {
            let flow = flow(&circuit, &[], view, car);
            // Springs that a circuit never releases, or never lets go, are its own business.
            let others = flow.places.values().filter(|of| of.why.is_empty());
            prop_assert!(others.into_iter().all(|of| of.flowing < Flowing::Drags));
            prop_assert!(flow.lines.iter().all(|line| line.flowing != Flowing::Lost));
        }
    }

    #[test]
    fn brakes_are_drawn_as_they_are_counted_and_every_loss_has_a_cause(train in trains(6)) {
        let train = train.with_controllers();
        let circuit = train.circuit();
        for (view, car) in VIEWS.iter().flat_map(|v| (0..train.cars.len()).map(move |c| (*v, c))) {
            let flow = flow(&circuit, &train.impaired, view, car);
            for actuator in flow.effect.actuators.iter().filter(|one| one.car == car) {
                let expected = match actuator.availability {
                    Availability::Available => Flowing::Flows,
                    Availability::Lost => Flowing::Lost,
                    Availability::Dragging => Flowing::Drags,
                };
                let place = &flow.places[&Place::Position(actuator.position.clone())];
                prop_assert_eq!(place.flowing, expected);
                prop_assert_eq!(&place.why, &actuator.why);
            }
            for place in flow.places.values() {
                let lost = Flowing::Drags <= place.flowing;
                prop_assert_eq!(lost, !place.why.is_empty());
            }
        }
    }

    #[test]
    fn a_line_is_lost_only_where_its_beginning_lacks_what_it_carries(train in trains(6)) {
        let train = train.with_controllers();
        let circuit = train.circuit();
        for (view, car) in VIEWS.iter().flat_map(|v| (0..train.cars.len()).map(move |c| (*v, c))) {
            let flow = flow(&circuit, &train.impaired, view, car);
            let lines = &train.cars[car].0.circuit.lines;
            prop_assert_eq!(lines.len(), flow.lines.len());
            for (line, found) in lines.iter().zip(&flow.lines) {
                let from = &flow.places[&line.from];
                if found.flowing == Flowing::Lost {
                    prop_assert!(from.lacks.contains(&line.medium), "{line:?} {from:?}");
                }
                if from.flowing == Flowing::Lost && from.lacks.contains(&line.medium) {
                    prop_assert!(found.flowing != Flowing::Flows, "{line:?} {from:?}");
                }
            }
        }
    }
}
