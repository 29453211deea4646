//! Constructed example: the brake of an electric multiple unit as it is often built. Main
//! reservoir pipe through all cars; on each car a check valve, supply cock, filter and supply
//! reservoir; for each bogie a control unit and a venting cylinder cock; for each axle a dump
//! valve and two calipers. Demand by wire; an emergency magnet valve in each control unit,
//! which the loss of the emergency loop opens, whichever cab opens the loop.
//! Each car's suspension is fed from the main reservoir pipe through a venting cock and gives a
//! load signal for each bogie; without it the brake takes the car for empty.
//! End cars have spring-applied parking cylinders on their first and last axle.

use crate::car_type_text::{car_type, read};
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::state::{Impaired, Impairment};
use domain::circuit::train::{PlacedCar, TrainCircuit};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::CarType;
use domain::isolation::CutOutState;
use std::sync::Arc;

const PIPES: &str = "
    bogies 2
    =E-X1 pass
    end1:brake_wire <> =E-X1 electrical_demand
    end2:brake_wire <> =E-X1 electrical_demand
    =M-Q1 cock kind=end_cock
    =M-Q2 cock kind=end_cock
    =M-T1 pass kind=test_point
    end1:main_pipe <> =M-Q1 main_air
    end2:main_pipe <> =M-Q2 main_air
    =M-Q1 <> =M-T1 main_air
    =M-Q2 <> =M-T1 main_air
    =S-V1 check_valve
    =S-Q1 cock
    =S-F1 pass
    =S-R1 reservoir
    =M-T1 > =S-V1 main_air
    =S-V1 > =S-Q1 main_air
    =S-Q1 > =S-F1 main_air
    =S-F1 > =S-R1 main_air
    =S-Q2 pass kind=drain_cock
    =S-R1 > =S-Q2 main_air
    load_signal_lost minimum
    =L-Q1 venting_cock
    =L-R1 reservoir
    =L-Q2 pass kind=drain_cock
    =L-R1 > =L-Q2 main_air
    =L-B1 all_of kind=load_sensor bogie=1
    =L-B2 all_of kind=load_sensor bogie=2
    =M-T1 > =L-Q1 main_air
    =L-Q1 > =L-R1 main_air
    =L-R1 > supply@=L-B1 main_air
    =L-R1 > supply@=L-B2 main_air
";

/// The control unit, cylinder cock, dump valves and calipers of one bogie.
fn bogie(number: u8, caliper_weight_kg: u32) -> String {
    let b = number;
    let control = format!(
        "
        =B{b}-Y1 all_of kind=magnet_valve
        =E-X1 > command@=B{b}-Y1 electrical_demand
        =S-R1 > supply@=B{b}-Y1 main_air
        =B{b}-Y2 source emergency kind=magnet_valve
        =B{b}-K1 all_of kind=control_unit
        =S-R1 > supply@=B{b}-K1 main_air
        =B{b}-Y1 > pilot@=B{b}-K1 pilot_pressure
        =B{b}-Y2 > pilot@=B{b}-K1 pilot_pressure
        =B{b}-Q1 venting_cock
        =B{b}-K1 > =B{b}-Q1 cylinder_pressure
        "
    );
    let empty = 62 * caliper_weight_kg / 100;
    let axle = |a: u8| {
        format!(
            "
            =A{a}-Y1 pass kind=dump_valve axle={a}
            =B{b}-Q1 > =A{a}-Y1 cylinder_pressure
            =A{a}-C1 air axle={a} weight={caliper_weight_kg} weight_empty={empty}
            =A{a}-C2 air axle={a} weight={caliper_weight_kg} weight_empty={empty}
            =A{a}-Y1 > =A{a}-C1 cylinder_pressure
            =A{a}-Y1 > =A{a}-C2 cylinder_pressure
            "
        )
    };
    control + &axle(2 * b - 1) + &axle(2 * b)
}

const CAB_AND_PARKING: &str = "
    =E-A1 source service kind=brake_controller
    =E-A1 > =E-X1 electrical_demand
    =E-A2 source emergency kind=emergency_valve
    =P-A1 source service+emergency kind=parking_valve
    =P-F1 pass kind=reducing_valve
    =P-Y1 all_of kind=parking_valve
    =P-F1 > supply@=P-Y1 main_air
    =P-A1 > release@=P-Y1 electrical_demand
    =P-Q1 venting_cock
    =P-Y1 > =P-Q1 parking_air
    =P-C1 spring=20000 axle=1
    =P-C4 spring=20000 axle=4
    =P-Q1 > =P-C1 parking_air
    =P-Q1 > =P-C4 parking_air
";

const COMPRESSOR: &str = "
    =M-G1 source always
    =M-G1 > =M-T1 main_air
";

/// From where the parking brake takes its air.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ParkingAir {
    /// From the main reservoir pipe.
    MainPipe,
    /// From behind the supply cock.
    SupplyBranch,
}

fn body(mass_kg: u32, braked_weight_kg: u32) -> String {
    let caliper = braked_weight_kg / 8;
    format!(
        "mass {mass_kg}\n{PIPES}{}{}",
        bogie(1, caliper),
        bogie(2, caliper)
    )
}

/// An end car: cab and parking brake.
pub fn end_car(mass_kg: u32, braked_weight_kg: u32, parking: ParkingAir) -> CarType {
    let from = match parking {
        ParkingAir::MainPipe => "=M-T1 > =P-F1 main_air",
        ParkingAir::SupplyBranch => "=S-F1 > =P-F1 main_air",
    };
    let body = body(mass_kg, braked_weight_kg);
    car_type("TMR-E", &format!("{body}{CAB_AND_PARKING}{from}"))
}

/// A middle car with a compressor.
pub fn middle_car(mass_kg: u32, braked_weight_kg: u32) -> CarType {
    let body = body(mass_kg, braked_weight_kg);
    car_type("TMR-M", &format!("{body}{COMPRESSOR}"))
}

/// The circuit of a car type that is known to be sound.
///
/// # Panics
/// If it is not.
pub fn compiled(car_type: &CarType) -> Arc<CompiledCircuit> {
    match CompiledCircuit::new(car_type) {
        Ok(circuit) => Arc::new(circuit),
        Err(faults) => panic!("{faults:?}"),
    }
}

/// A train of cars in this order; the numbers of the cars are 1, 2, 3 and so on.
pub fn train(cars: &[(&Arc<CompiledCircuit>, Orientation)]) -> TrainCircuit {
    let placed = cars
        .iter()
        .enumerate()
        .map(|(at, (circuit, orientation))| PlacedCar {
            number: read(&(at + 1).to_string()),
            orientation: *orientation,
            circuit: Arc::clone(circuit),
        });
    TrainCircuit::new(placed.collect())
}

/// Units A, B and C: an end car, a middle car with the compressor, an end car turned round.
pub fn three_car_units(count: usize, parking: ParkingAir) -> TrainCircuit {
    let (end, middle) = (
        compiled(&end_car(48_000, 64_000, parking)),
        compiled(&middle_car(44_000, 64_000)),
    );
    let unit = [
        (&end, Orientation::Forward),
        (&middle, Orientation::Forward),
        (&end, Orientation::Reversed),
    ];
    train(&unit.repeat(count))
}

/// A position of a car, counted from 0, in a state.
pub fn cut_out(car: usize, position: &str, state: CutOutState) -> Impaired {
    Impaired {
        car,
        position: read(position),
        by: Impairment::CutOut(state),
    }
}

/// A position of a car, counted from 0, with no component.
pub fn vacant(car: usize, position: &str) -> Impaired {
    Impaired {
        car,
        position: read(position),
        by: Impairment::Vacant,
    }
}
