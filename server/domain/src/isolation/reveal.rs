//! What reveals it: for each cock and each wrong state of it, the tests that show it, and the
//! cocks that no test reveals.
//!
//! A test looks at places while the brake is in some state. It reveals a wrong cock where a
//! place surely shows something else than on the sound train. Where air may be shut in, it may
//! show as on the sound train: then the test shows the cock perhaps.

use super::closing::Spot;
use super::losses::Fault;
use super::observed::{Charge, During, Place, Seen, StaysOn, Watched};
use crate::circuit::compiled::{CompiledCircuit, Role};
use crate::circuit::scenarios::{LANES, Lanes};
use crate::circuit::state::Impairment;
use crate::circuit::train::TrainCircuit;
use crate::circuit::{self, Behaviour};
use crate::configuration::car_type::{Position, PositionKind};
use crate::due::task::AppliesTo;
use crate::identity::{MeasurandName, PositionCode, ProcedureCode, Revision};
use crate::isolation::CutOutState;
use crate::test_record::procedure::Procedure;
use crate::words::word_list;
use crate::worked::Missing;
use serde::Serialize;
use std::collections::BTreeSet;

word_list! {
    /// The tests of a train, as they are usually made: common practice, no source.
    TrainTest, "test of a train" {
        /// The brakes of the last car apply and release on demand from the front.
        Continuity = "continuity",
        /// Each brake is seen to apply in service and to release.
        BrakeTest = "brake_test",
        /// Each brake is seen to apply in emergency.
        EmergencyTest = "emergency_test",
        /// Each parking brake is seen to hold and to release.
        ParkingTest = "parking_test",
        /// The brake test once more, with all reservoirs emptied and charged anew before.
        BrakeTestFromEmpty = "brake_test_from_empty",
    }
}

/// A test that may reveal a wrong cock.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Test {
    /// A test of the train.
    OfTheTrain(TrainTest),
    /// A measured value of a procedure on a car.
    OfACar {
        /// The procedure.
        procedure: ProcedureCode,
        /// Its revision.
        revision: Revision,
        /// What it measures.
        measurand: MeasurandName,
    },
}

/// A cock in a wrong state, and what reveals it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Detection {
    /// The cock.
    #[serde(flatten)]
    pub at: Spot,
    /// Its wrong state.
    pub state: CutOutState,
    /// The tests that surely reveal it.
    pub revealed_by: Vec<Test>,
    /// The tests that reveal it unless shut-in air hides it.
    pub perhaps_by: Vec<Test>,
}

impl Detection {
    /// Whether no test surely reveals it.
    pub fn is_hidden(&self) -> bool {
        self.revealed_by.is_empty()
    }
}

/// What tests reveal on a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reveal {
    /// Every cock in every wrong state, by car.
    pub detections: Vec<Detection>,
    /// Measured values that say not where and when they are measured, and so count for nothing.
    pub not_counted: Vec<Test>,
}

/// A test, where it looks and in which state of the brake.
struct Looks {
    test: Test,
    at: Vec<(Place, During, Charge)>,
}

/// What the tests of a train and the procedures of its cars reveal. The time is that of nodes
/// and lines for every 511 wrong states and each state of the brake.
pub fn reveal(train: &TrainCircuit, procedures: &[&Procedure]) -> Result<Reveal, Missing> {
    let watched = Watched::new(train, During::ALL)?;
    let (mut tests, not_counted) = of_procedures(train, procedures);
    tests.splice(
        0..0,
        TrainTest::ALL.iter().map(|test| of_the_train(train, *test)),
    );
    let mut detections = wrong_cocks(train);
    for block in detections.chunks_mut(LANES - 1) {
        let faults: Vec<[Fault; 1]> = block.iter().filter_map(|one| fault(train, one)).collect();
        let mut states: Vec<&[Fault]> = vec![&[]];
        states.extend(faults.iter().map(<[Fault; 1]>::as_slice));
        for looks in &tests {
            let shown = watched.show(&states, &StaysOn::new(), &looks.at);
            let (mut surely, mut perhaps) = (Lanes::NONE, Lanes::NONE);
            for (shown, (place, ..)) in shown.iter().zip(&looks.at) {
                for seen in expected(train, place) {
                    let [one, other] = shown.shows(seen);
                    if one.has(0) && other.has(0) {
                        surely = surely.and(Lanes::ALL.without(one.and(other)));
                        perhaps = perhaps.and(Lanes::ALL.without(one.within(other)));
                    }
                }
            }
            for (lane, detection) in block.iter_mut().enumerate() {
                if surely.has(lane + 1) {
                    detection.revealed_by.push(looks.test.clone());
                } else if perhaps.has(lane + 1) {
                    detection.perhaps_by.push(looks.test.clone());
                }
            }
        }
    }
    Ok(Reveal {
        detections,
        not_counted,
    })
}

/// What a sound train may show at a place: one or the other is expected.
fn expected(train: &TrainCircuit, place: &Place) -> [Seen; 2] {
    match place {
        Place::Node(node) if !train.roles()[*node].is_actuator() => {
            [Seen::Pressure, Seen::NoPressure]
        }
        _ => [Seen::Braking, Seen::NotBraking],
    }
}

fn fault(train: &TrainCircuit, one: &Detection) -> Option<[Fault; 1]> {
    let node = train.node(one.at.car, &one.at.position)?;
    Some([(node, train.impairments(node, Impairment::CutOut(one.state)))])
}

/// Every cock in every wrong state. End cocks where nothing is coupled stand closed rightly; left
/// open, the pipe does not fill.
fn wrong_cocks(train: &TrainCircuit) -> Vec<Detection> {
    let mut detections = Vec::new();
    for (place, car) in train.cars().iter().enumerate() {
        for node in &car.circuit.car_type().circuit.nodes {
            // Shut off with air behind it also where it should vent: the vent may be blocked.
            let states: &[CutOutState] = match node.behaviour {
                Behaviour::Cock { venting: true } => {
                    &[CutOutState::ClosedVented, CutOutState::ClosedTrapped]
                }
                Behaviour::Cock { venting: false } => {
                    &[CutOutState::ClosedTrapped, CutOutState::SupplyCut]
                }
                _ => continue,
            };
            if stands_closed(train, place, &node.position) {
                continue;
            }
            detections.extend(states.iter().map(|state| Detection {
                at: Spot {
                    car: place,
                    car_number: car.number.clone(),
                    position: node.position.clone(),
                },
                state: *state,
                revealed_by: Vec::new(),
                perhaps_by: Vec::new(),
            }));
        }
    }
    detections
}

/// Whether it is an end cock with nothing coupled at the ports beyond it.
fn stands_closed(train: &TrainCircuit, car: usize, position: &PositionCode) -> bool {
    let circuit = &train.cars()[car].circuit;
    let described = circuit.car_type().position(position);
    let Some(cock) = described.filter(|cock| cock.kind == PositionKind::EndCock) else {
        return false;
    };
    let coupled = |port: usize| {
        let mut lines = train.lines_from(port).iter();
        lines.any(|line| train.of_node(line.to).0 != car)
    };
    let beyond = ports_beyond(circuit, cock);
    let ports = beyond.iter().filter_map(|port| train.node_at(car, port));
    let mut ports = ports.peekable();
    ports.peek().is_some() && !ports.any(coupled)
}

/// The ports at the end of an end cock that plain pipe joins to it, with no other cock between.
fn ports_beyond<'c>(compiled: &'c CompiledCircuit, cock: &Position) -> Vec<&'c circuit::Place> {
    let start = compiled.node(&cock.code);
    let mut seen: BTreeSet<usize> = start.into_iter().collect();
    let mut open: Vec<usize> = start.into_iter().collect();
    let mut ports = Vec::new();
    while let Some(node) = open.pop() {
        for line in compiled.lines() {
            let next = match node {
                node if line.from == node => line.to,
                node if line.to == node => line.from,
                _ => continue,
            };
            let there = &compiled.nodes()[next];
            let is_cock = there.kind == Some(PositionKind::EndCock)
                || there.kind == Some(PositionKind::IsolatingCock);
            if there.role != Role::Pass || is_cock || !seen.insert(next) {
                continue;
            }
            match &there.place {
                circuit::Place::Port { end, .. } if cock.end.is_none_or(|own| own == *end) => {
                    ports.push(&there.place);
                }
                circuit::Place::Port { .. } => {}
                circuit::Place::Position(_) => open.push(next),
            }
        }
    }
    ports
}

fn of_the_train(train: &TrainCircuit, test: TrainTest) -> Looks {
    let last = train.cars().len().saturating_sub(1);
    let charge = match test {
        TrainTest::BrakeTestFromEmpty => Charge::FromEmpty,
        _ => Charge::Full,
    };
    let during: &[During] = match test {
        TrainTest::EmergencyTest => &[During::Emergency],
        TrainTest::ParkingTest => &[During::Parked, During::Released],
        _ => &[During::Service, During::Released],
    };
    let mut at = Vec::new();
    for (node, role) in train.roles().iter().enumerate() {
        let (car, _) = train.of_node(node);
        let looked_at = match (test, role) {
            (TrainTest::ParkingTest, Role::SpringApplied(_)) => true,
            (TrainTest::ParkingTest, _) => false,
            (TrainTest::Continuity, Role::AirApplied) => car == last,
            (_, Role::AirApplied) => true,
            _ => false,
        };
        if looked_at {
            at.extend(
                during
                    .iter()
                    .map(|during| (Place::Node(node), *during, charge)),
            );
        }
    }
    Looks {
        test: Test::OfTheTrain(test),
        at,
    }
}

/// The measured values of procedures on the types of the cars, each looked at on every such car,
/// and those that say not where or when they are measured.
fn of_procedures(train: &TrainCircuit, procedures: &[&Procedure]) -> (Vec<Looks>, Vec<Test>) {
    let (mut tests, mut not_counted) = (Vec::new(), Vec::new());
    for procedure in procedures {
        let AppliesTo::CarType(car_type) = &procedure.applies_to else {
            continue;
        };
        let cars = train.cars().iter().enumerate();
        let cars: Vec<usize> = cars
            .filter(|(_, car)| car.circuit.car_type().name == *car_type)
            .map(|(place, _)| place)
            .collect();
        if cars.is_empty() {
            continue;
        }
        for measurand in procedure.measurands.iter() {
            let test = Test::OfACar {
                procedure: procedure.code.clone(),
                revision: procedure.revision.clone(),
                measurand: measurand.name.clone(),
            };
            let at: Vec<_> = cars
                .iter()
                .flat_map(|car| measurand.measured_at.iter().map(move |code| (*car, code)))
                .filter_map(|(car, code)| train.node(car, code))
                .filter_map(|node| Some((Place::Node(node), measurand.during?, Charge::Full)))
                .collect();
            if at.is_empty() {
                not_counted.push(test);
            } else if !tests.iter().any(|looks: &Looks| looks.test == test) {
                tests.push(Looks { test, at });
            }
        }
    }
    not_counted.sort();
    not_counted.dedup();
    (tests, not_counted)
}
