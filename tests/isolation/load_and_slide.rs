//! Loss of the load signal, and of the protection against sliding: constructed examples of
//! practice D.8. Every axle still brakes, so counting axles sees nothing.

use domain::circuit::Mode;
use domain::circuit::state::Impaired;
use domain::circuit::train::TrainCircuit;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{AssumedLoad, BrakePosition, LoadState};
use domain::isolation::CutOutState::{self, ClosedVented, ElectricallyOff, Failed, SupplyCut};
use domain::isolation::Supply;
use domain::isolation::brake_percentage::{Braked, BrakingCase, brake_percentage};
use domain::isolation::effect::effect;
use domain::isolation::slide_protection::unprotected_axles;
use domain::worked::Missing;
use tests::reference_unit::{
    ParkingAir, compiled, cut_out, end_car, middle_car, three_car_units, train,
};

/// Axles that brake, and thousandths of the force that is left, once stored air is used up.
fn left(
    train: &TrainCircuit,
    impaired: &[Impaired],
    supply: Supply,
) -> Result<(u32, i64), Missing> {
    let state = train.impaired(impaired)?;
    let case = BrakingCase {
        mode: Mode::Emergency,
        supply,
        brake_position: BrakePosition::P,
        load: LoadState::Normal,
    };
    let found = brake_percentage(&state, case)?.value;
    let (before, after) = (
        found.before.braked_weight().0,
        found.after.braked_weight().0,
    );
    let axles = effect(&state, Mode::Emergency, supply)
        .counts
        .axles
        .operative;
    Ok((axles, 1000 * after / before))
}

#[test]
fn a_lost_load_signal_leaves_all_axles_and_takes_force_of_the_car_that_is_laden() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let lost = cut_out(0, "=L-Q1", ClosedVented);
    for supply in Supply::ALL {
        // (0.62 + 1 + 1) / 3 = 87.3 %.
        assert_eq!(
            left(&unit, std::slice::from_ref(&lost), *supply),
            Ok((12, 873))
        );
        // With bogie A1 cut out too: (0.62 · 0.5 + 1 + 1) / 3 = 77.0 %.
        let both = [lost.clone(), cut_out(0, "=B1-Q1", ClosedVented)];
        assert_eq!(left(&unit, &both, *supply), Ok((10, 770)));
    }
}

#[test]
fn a_load_signal_lasts_as_long_as_the_air_of_the_suspension() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let creeping = [cut_out(0, "=L-Q1", SupplyCut)];
    assert_eq!(left(&unit, &creeping, Supply::Now), Ok((12, 1000)));
    assert_eq!(left(&unit, &creeping, Supply::Exhausted), Ok((12, 873)));
    let state = unit.impaired(&creeping).unwrap();
    let lost = Braked::of(&state, Mode::Emergency, Supply::Exhausted).signals;
    let named: Vec<String> = lost.iter().map(|s| s.position.to_string()).collect();
    assert_eq!(named, ["=L-B1", "=L-B2"]);
}

#[test]
fn a_signal_of_one_bogie_governs_that_bogie() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    // (0.5 · 0.62 + 0.5 + 1 + 1) / 3 = 93.6 %.
    let one = [cut_out(0, "=L-B1", Failed)];
    assert_eq!(left(&unit, &one, Supply::Now), Ok((12, 936)));
}

/// The unit with what its end cars take for the load.
fn unit_that_takes(assumed: Option<AssumedLoad>) -> TrainCircuit {
    let mut end = end_car(48_000, 64_000, ParkingAir::MainPipe);
    end.load_signal_lost = assumed;
    let (end, middle) = (compiled(&end), compiled(&middle_car(44_000, 64_000)));
    train(&[
        (&end, Orientation::Forward),
        (&middle, Orientation::Forward),
        (&end, Orientation::Reversed),
    ])
}

#[test]
fn what_the_brake_control_takes_for_the_load_decides() {
    let lost = [cut_out(0, "=L-Q1", ClosedVented)];
    let keeps_last = unit_that_takes(Some(AssumedLoad::LastValue));
    assert_eq!(left(&keeps_last, &lost, Supply::Now), Ok((12, 1000)));
    assert_eq!(left(&keeps_last, &lost, Supply::Exhausted), Ok((12, 873)));
    let same = unit_that_takes(Some(AssumedLoad::Normal));
    assert_eq!(left(&same, &lost, Supply::Now), Ok((12, 1000)));
    // Nobody entered braked weights at maximum load, nor what an unknown control takes.
    for assumed in [Some(AssumedLoad::Maximum), None] {
        let unit = unit_that_takes(assumed);
        assert!(left(&unit, &lost, Supply::Now).is_err());
        assert_eq!(left(&unit, &[], Supply::Now), Ok((12, 1000)));
    }
}

fn unprotected(train: &TrainCircuit, state: CutOutState) -> Vec<(usize, u8)> {
    let impaired = [cut_out(1, "=A3-Y1", state)];
    let axles = unprotected_axles(train, &impaired);
    axles.iter().map(|axle| (axle.car, axle.axle)).collect()
}

#[test]
fn a_dump_valve_without_current_leaves_the_brake_and_takes_the_protection_of_its_axle() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    assert_eq!(unprotected(&unit, ElectricallyOff), [(1, 3)]);
    let off = [cut_out(1, "=A3-Y1", ElectricallyOff)];
    assert_eq!(left(&unit, &off, Supply::Now), Ok((12, 1000)));
    let closed = [cut_out(1, "=A3-Y1", Failed)];
    assert_eq!(
        left(&unit, &closed, Supply::Now).map(|(axles, _)| axles),
        Ok(11)
    );
}
