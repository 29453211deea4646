//! Facts of the trade that no public source was found for: common practice, no source.

use domain::circuit::Mode;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::PositionKind;
use domain::isolation::effect::{Availability, effect};
use domain::isolation::{CutOutState, Supply};
use tests::reference_unit::{ParkingAir, compiled, cut_out, end_car, middle_car, train};

// Common practice, no source: one brake control unit a bogie.
#[test]
fn four_two_bogie_cars_have_eight_control_units_and_a_cylinder_cock_takes_four_calipers() {
    let end = compiled(&end_car(52_000, 80_000, ParkingAir::MainPipe));
    let middle = compiled(&middle_car(46_000, 72_000));
    let train = train(&[
        (&end, Orientation::Forward),
        (&middle, Orientation::Forward),
        (&middle, Orientation::Reversed),
        (&end, Orientation::Reversed),
    ]);
    let control_units = train.cars().iter().flat_map(|car| {
        let positions = car.circuit.car_type().positions.iter();
        positions.filter(|p| p.kind == PositionKind::ControlUnit)
    });
    assert_eq!(control_units.count(), 8);

    let cock = cut_out(1, "=B1-Q1", CutOutState::ClosedVented);
    let state = train.impaired(&[cock]).unwrap();
    for mode in [Mode::Service, Mode::Emergency] {
        let effect = effect(&state, mode, Supply::Now);
        let lost: Vec<(usize, &str)> = effect
            .actuators
            .iter()
            .filter(|a| a.availability != Availability::Available)
            .map(|a| (a.car, a.position.as_str()))
            .collect();
        let bogie_1 = ["=A1-C1", "=A1-C2", "=A2-C1", "=A2-C2"].map(|caliper| (1, caliper));
        assert_eq!(lost, bogie_1);
    }
}
