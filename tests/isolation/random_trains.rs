//! Random circuits with loops, one-way lines, modes and ports, and random trains of them.

use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::fault::CircuitFault;
use domain::circuit::state::{Impaired, Impairment};
use domain::circuit::train::TrainCircuit;
use domain::circuit::{Circuit, Place};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::CarType;
use domain::identity::PositionCode;
use domain::isolation::CutOutState;
use proptest::prelude::*;
use std::fmt::Write;
use std::sync::Arc;
use tests::car_type_text::car_type;
use tests::reference_unit::train;

/// A train as a test needs it: the car types, the formation and what is impaired.
#[derive(Debug, Clone)]
pub(super) struct RandomTrain {
    pub(super) cars: Vec<(CarType, Orientation)>,
    pub(super) impaired: Vec<Impaired>,
}

impl RandomTrain {
    /// The train with a brake controller on each car that is joined to nothing, so that there is
    /// a place of command whatever the circuits are.
    pub(super) fn with_controllers(mut self) -> Self {
        for (car_type, _) in &mut self.cars {
            let with = tests::car_type_text::car_type(
                "R",
                "=CMD source service+emergency kind=brake_controller",
            );
            car_type.positions.extend(with.positions);
            car_type.circuit.nodes.extend(with.circuit.nodes);
        }
        self
    }

    pub(super) fn circuit(&self) -> TrainCircuit {
        let compile = |car_type| Arc::new(CompiledCircuit::new(car_type).unwrap());
        let cars: Vec<_> = self.cars.iter().map(|(t, o)| (compile(t), *o)).collect();
        let placed: Vec<_> = cars.iter().map(|(circuit, o)| (circuit, *o)).collect();
        train(&placed)
    }
}

const BEHAVIOURS: &[&str] = &[
    "source always",
    "source service",
    "source service+emergency",
    "pass",
    "pass",
    "check_valve",
    "cock",
    "reservoir",
    "all_of",
    "all_of",
    "any_of",
    "air",
    "air",
    "spring=1000",
    "pass kind=drain_cock",
    "pass kind=dump_valve",
    "all_of kind=load_sensor",
    "source service+emergency kind=brake_controller",
];
const MEDIA: &[&str] = &[
    "main_air",
    "pilot_pressure",
    "electrical_demand",
    "parking_air",
];
const MODES: &[&str] = &["", "", "", "service", "emergency+holding"];
const PORTS: &[&str] = &["end1:a", "end1:b", "end2:a", "end2:b"];

/// The numbers that choose one line.
type LineChoice = (usize, usize, usize, usize, usize, bool);

fn car_types() -> impl Strategy<Value = CarType> {
    let behaviours = prop::collection::vec(0..BEHAVIOURS.len(), 4..14);
    let line = (
        0..99usize,
        0..99usize,
        0..3usize,
        0..MEDIA.len(),
        0..MODES.len(),
        any::<bool>(),
    );
    let lines = prop::collection::vec(line, 6..50);
    (behaviours, lines).prop_map(|(behaviours, lines)| written(&behaviours, &lines))
}

fn written(behaviours: &[usize], lines: &[LineChoice]) -> CarType {
    let mut text = "bogies 2\nmass 40000\nload_signal_lost minimum\n".to_owned();
    for (index, behaviour) in behaviours.iter().enumerate() {
        let axle = 1 + index % 4;
        let behaviour = BEHAVIOURS[*behaviour];
        let weight = if behaviour == "air" {
            "weight=1000 weight_empty=600"
        } else {
            ""
        };
        writeln!(text, "=N{index} {behaviour} axle={axle} {weight}").unwrap();
    }
    let place = |number: usize| match number % (behaviours.len() + PORTS.len()) {
        node if node < behaviours.len() => format!("=N{node}"),
        port => PORTS[port - behaviours.len()].to_owned(),
    };
    for (from, to, input, medium, modes, both_ways) in lines {
        let (from, to) = (place(*from), place(*to));
        let rest = format!("{} {}", MEDIA[*medium], MODES[*modes]);
        writeln!(text, "{from} > i{input}@{to} {rest}").unwrap();
        if *both_ways {
            writeln!(text, "{to} > i{input}@{from} {rest}").unwrap();
        }
    }
    mended(car_type("R", &text))
}

/// Takes away what the check of circuits finds fault with, until it finds nothing.
fn mended(mut car_type: CarType) -> CarType {
    while let Err(faults) = CompiledCircuit::new(&car_type) {
        let fault = faults.into_iter().next().unwrap();
        mend(&mut car_type.circuit, &fault);
        let circuit = &car_type.circuit;
        let has_node = |code: &PositionCode| circuit.nodes.iter().any(|n| n.position == *code);
        car_type.braked_weights.retain(|w| has_node(&w.position));
    }
    car_type
}

fn mend(circuit: &mut Circuit, fault: &CircuitFault) {
    match fault {
        CircuitFault::OutOfActuator(line)
        | CircuitFault::IntoSource(line)
        | CircuitFault::MediumNotBrought(line) => {
            circuit.lines.remove(line.number - 1);
        }
        CircuitFault::WithoutInput(position) => {
            let place = Place::Position(position.clone());
            circuit.nodes.retain(|node| node.position != *position);
            circuit.lines.retain(|l| l.from != place && l.to != place);
        }
        other => panic!("a random circuit has no such fault: {other}"),
    }
}

fn orientations() -> impl Strategy<Value = Orientation> {
    prop::sample::select(Orientation::ALL)
}

fn impairments() -> impl Strategy<Value = Impairment> {
    let states = prop::sample::select(CutOutState::ALL).prop_map(Impairment::CutOut);
    prop_oneof![7 => states, 1 => Just(Impairment::Vacant)]
}

/// Trains of one to four cars of two types, with up to so many impairments.
pub(super) fn trains(impairments_max: usize) -> impl Strategy<Value = RandomTrain> {
    let cars = prop::collection::vec((any::<bool>(), orientations()), 1..=4);
    let by = prop::collection::vec(
        (any::<u16>(), any::<u16>(), impairments()),
        0..=impairments_max,
    );
    (car_types(), car_types(), cars, by).prop_map(|(one, other, cars, by)| {
        let cars: Vec<_> = cars
            .into_iter()
            .map(|(first, o)| (if first { one.clone() } else { other.clone() }, o))
            .collect();
        let impaired = by
            .into_iter()
            .filter_map(|(car, node, by)| {
                let car = usize::from(car) % cars.len();
                let nodes = &cars[car].0.circuit.nodes;
                let node = nodes.get(usize::from(node).checked_rem(nodes.len())?)?;
                let position = node.position.clone();
                Some(Impaired { car, position, by })
            })
            .collect();
        RandomTrain { cars, impaired }
    })
}
