//! Car types written as a few lines of text, so that a test shows its circuit at a glance.
//!
//! ```text
//! bogies 2                             two axles each, numbered through
//! mass 52000                           at normal load, in kilograms
//! =G1 source always                    or the modes: service+emergency
//! =V1 check_valve                      also: pass, cock, venting_cock, reservoir, all_of, any_of
//! =C1 air axle=1 weight=8750           weight in kilograms, position P, normal load; also
//!                                      weight_empty=5000, at minimum load
//! load_signal_lost minimum             the load taken when the load signal is lost
//! =S1 spring=20000 axle=1              holding force in newtons
//! =G1 > =V1 main_air                   a line; <> is two lines, one each way
//! =V1 > supply@=K1 main_air service    a named input, and the modes in which it is open
//! ```
#![allow(
    clippy::missing_panics_doc,
    reason = "a circuit that is written wrongly fails its test"
)]

use domain::circuit::{Behaviour, Circuit, Line, Mode, Node};
use domain::configuration::brake_forces::BrakeForces;
use domain::configuration::car_type::{
    AssessedBrakedWeight, Axle, Bogie, BrakePosition, CarMass, CarType, HandBrake, LoadState,
    Position, PositionKind, VehicleKind,
};
use domain::units::Kilograms;
use std::fmt::Debug;
use std::str::FromStr;

/// The car type that a text describes.
pub fn car_type(name: &str, text: &str) -> CarType {
    let mut car_type = CarType {
        name: read(name),
        revision: read("A"),
        fleet: read("test fleet"),
        title: "constructed for a test".into(),
        vehicle_kind: VehicleKind::Car,
        hand_brake: Some(HandBrake::Inside),
        load_signal_lost: None,
        usual_brake_position: None,
        length_mm: 26_000,
        speed_max_km_h: 160,
        daily_km_max: 1500,
        bogies: Vec::new(),
        masses: Vec::new(),
        positions: Vec::new(),
        circuit: Circuit::default(),
        braked_weights: Vec::new(),
        forces: BrakeForces::default(),
    };
    for line in text.lines().map(str::trim).filter(|l| !l.is_empty()) {
        add(&mut car_type, line);
    }
    car_type
}

fn add(car_type: &mut CarType, text: &str) {
    let words: Vec<&str> = text.split_whitespace().collect();
    match words.as_slice() {
        ["bogies", count] => car_type.bogies = (1..=read(count)).map(bogie).collect(),
        ["mass", kilograms] => car_type.masses.push(CarMass {
            load: LoadState::Normal,
            mass: Kilograms(read(kilograms)),
        }),
        ["load_signal_lost", load] => car_type.load_signal_lost = Some(read(load)),
        [from, ">", to, rest @ ..] => car_type.circuit.lines.push(line(from, to, rest)),
        [one, "<>", other, rest @ ..] => {
            car_type.circuit.lines.push(line(one, other, rest));
            car_type.circuit.lines.push(line(other, one, rest));
        }
        [code, behaviour, options @ ..] => add_position(car_type, code, behaviour, options),
        _ => panic!("cannot read {text:?}"),
    }
}

fn bogie(number: u8) -> Bogie {
    let axle = |number: u8| Axle {
        number,
        along_mm: u32::from(number) * 5000,
    };
    Bogie {
        number,
        axles: vec![axle(2 * number - 1), axle(2 * number)],
    }
}

fn line(from: &str, to: &str, rest: &[&str]) -> Line {
    let (input, to) = to.split_once('@').unwrap_or(("in", to));
    let (medium, modes) = match rest {
        [medium] => (medium, Vec::new()),
        [medium, modes] => (medium, read_modes(modes)),
        _ => panic!("a line from {from} has a medium and perhaps modes"),
    };
    Line {
        from: read(from),
        to: read(to),
        input: input.to_owned(),
        medium: read(medium),
        modes,
    }
}

fn add_position(car_type: &mut CarType, code: &str, behaviour: &str, options: &[&str]) {
    let option = |name: &str| {
        let values = options.iter().filter_map(|o| o.split_once('='));
        let mut named = values.filter(|(key, _)| *key == name);
        named.next().map(|(_, value)| value)
    };
    let (kind, behaviour) = read_behaviour(behaviour, options);
    let loads = [
        ("weight", LoadState::Normal),
        ("weight_empty", LoadState::Minimum),
    ];
    for (name, load) in loads {
        if let Some(kilograms) = option(name) {
            car_type.braked_weights.push(AssessedBrakedWeight {
                position: read(code),
                brake_position: BrakePosition::P,
                load,
                braked_weight: Kilograms(read(kilograms)),
            });
        }
    }
    car_type.positions.push(Position {
        code: read(code),
        title: code.to_owned(),
        kind: option("kind").map_or(kind, read),
        bogie: option("bogie").map(read),
        axle: option("axle").map(read),
        end: None,
        side: None,
        along_mm: 0,
        approved: vec![read("T/1")],
        states: Vec::new(),
        settings: Vec::new(),
        aliases: Vec::new(),
    });
    car_type.circuit.nodes.push(Node {
        position: read(code),
        behaviour,
    });
}

fn read_behaviour(word: &str, options: &[&str]) -> (PositionKind, Behaviour) {
    let (word, value) = word.split_once('=').unwrap_or((word, ""));
    match word {
        "source" => {
            let modes = options
                .first()
                .map_or(Vec::new(), |modes| read_modes(modes));
            (PositionKind::Compressor, Behaviour::Source { modes })
        }
        "pass" => (PositionKind::Filter, Behaviour::Pass),
        "check_valve" => (PositionKind::CheckValve, Behaviour::Pass),
        "cock" | "venting_cock" => {
            let venting = word == "venting_cock";
            (PositionKind::IsolatingCock, Behaviour::Cock { venting })
        }
        "reservoir" => (
            PositionKind::Reservoir,
            Behaviour::Reservoir { volume_l: 125 },
        ),
        "all_of" => (PositionKind::RelayValve, Behaviour::AllOf),
        "any_of" => (PositionKind::DoubleCheckValve, Behaviour::AnyOf),
        "air" => (PositionKind::Caliper, Behaviour::AirApplied),
        "spring" => {
            let holding_force_n = read(value);
            (
                PositionKind::ParkingCylinder,
                Behaviour::SpringApplied { holding_force_n },
            )
        }
        _ => panic!("no behaviour {word:?}"),
    }
}

fn read_modes(text: &str) -> Vec<Mode> {
    match text {
        "always" => Mode::ALL.to_vec(),
        _ => text.split('+').map(read).collect(),
    }
}

/// Reads what the test wrote.
pub fn read<T: FromStr<Err: Debug>>(text: &str) -> T {
    text.parse().expect("a test writes what can be read")
}
