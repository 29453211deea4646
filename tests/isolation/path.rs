//! The path of air and demand, in order, on the constructed unit.

use domain::circuit::Mode;
use domain::circuit::state::Impaired;
use domain::circuit::train::TrainCircuit;
use domain::isolation::CutOutState::{ClosedVented, Failed, SupplyCut};
use domain::isolation::path::{Delivers, Path, Reached, path};
use tests::car_type_text::read;
use tests::reference_unit::{ParkingAir, cut_out, three_car_units};

fn to(train: &TrainCircuit, impaired: &[Impaired], mode: Mode, at: (usize, &str)) -> Path {
    path(train, impaired, mode, (at.0, &read(at.1))).unwrap()
}

/// The stops of a leg, as car number and place.
fn legs(path: &Path) -> Vec<(Option<&str>, Vec<String>)> {
    let stops = |leg: &domain::isolation::path::Leg| {
        let stops = leg.stops.iter();
        stops
            .map(|stop| format!("{} {}", stop.car_number, stop.place))
            .collect()
    };
    path.legs
        .iter()
        .map(|leg| (leg.input.as_deref(), stops(leg)))
        .collect()
}

#[test]
fn air_comes_from_the_compressor_of_the_next_car_and_demand_from_the_cab() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let found = to(&unit, &[], Mode::Service, (0, "=A1-C1"));
    assert_eq!(found.reached, Reached::FromSource);
    let legs = legs(&found);
    let inputs: Vec<Option<&str>> = legs.iter().map(|(input, _)| *input).collect();
    assert!(inputs.contains(&Some("command")) && inputs.contains(&Some("pilot")));
    let (_, air) = legs
        .iter()
        .find(|(_, stops)| stops[0] == "2 =M-G1")
        .unwrap();
    assert_eq!(
        air[..12],
        [
            "2 =M-G1",
            "2 =M-T1",
            "2 =M-Q1",
            "2 end1:main_pipe",
            "1 end2:main_pipe",
            "1 =M-Q2",
            "1 =M-T1",
            "1 =S-V1",
            "1 =S-Q1",
            "1 =S-F1",
            "1 =S-R1",
            air[11].as_str(),
        ]
    );
    let (input, last) = legs.last().unwrap();
    assert_eq!(*input, None);
    assert_eq!(last, &["1 =B1-K1", "1 =B1-Q1", "1 =A1-Y1", "1 =A1-C1"]);
}

#[test]
fn stored_air_begins_at_its_reservoir() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let dead = [cut_out(1, "=M-G1", Failed)];
    let found = to(&unit, &dead, Mode::Service, (2, "=B1-K1"));
    assert_eq!(found.reached, Reached::FromStoredAir);
    let supply = legs(&found)
        .into_iter()
        .find(|(input, _)| *input == Some("supply"));
    assert_eq!(supply.unwrap().1[0], "3 =S-R1");
}

#[test]
fn an_interrupted_path_is_that_of_the_sound_train_with_what_is_the_matter() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let shut = [
        cut_out(0, "=B1-Q1", ClosedVented),
        cut_out(0, "=S-Q1", SupplyCut),
    ];
    let found = to(&unit, &shut, Mode::Service, (0, "=A1-C1"));
    assert_eq!(found.reached, Reached::Interrupted);
    let last = found.legs.last().unwrap();
    let delivers: Vec<Delivers> = last.stops.iter().map(|stop| stop.delivers).collect();
    assert_eq!(delivers[..2], [Delivers::Yes, Delivers::No]);
    assert_eq!(last.stops[1].matter.len(), 1);
}

#[test]
fn nothing_reaches_a_brake_that_the_mode_does_not_command() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let found = to(&unit, &[], Mode::Holding, (0, "=A1-C1"));
    assert_eq!((found.reached, found.legs.len()), (Reached::Never, 0));
}

#[test]
fn a_source_is_its_own_path() {
    let unit = three_car_units(1, ParkingAir::MainPipe);
    let found = to(&unit, &[], Mode::Service, (1, "=M-G1"));
    assert_eq!(legs(&found), [(None, vec!["2 =M-G1".to_owned()])]);
}
