//! Facts of the trade that no public source was found for: common practice, no source.

use crate::seed_data::{car_types, facts};
use domain::circuit::{Mode, Place};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, CarType, LoadState, Position, PositionKind};
use domain::isolation::closing::{ChargedAir, closing};
use domain::isolation::effect::{Availability, effect};
use domain::isolation::{CutOutState, Supply};
use domain::ledger::fact::Fact;
use domain::test_record::decimal::Decimal;
use domain::test_record::procedure::Measurand;
use std::collections::BTreeSet;
use tests::car_type_text::read;
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

/// The measurands of all procedures of the invented fleet whose name begins so.
fn measured(name: &str) -> Vec<&'static Measurand> {
    let procedures = facts(|fact| match fact {
        Fact::ProcedureDefined(procedure) => Some(procedure),
        _ => None,
    });
    let all = procedures.into_iter().flat_map(|one| &*one.measurands);
    all.filter(|one| one.name.as_str().starts_with(name))
        .collect()
}

fn admits(measurand: &Measurand, value: &str) -> bool {
    let value: Decimal = read(value);
    let bounds = &measurand.bounds;
    bounds.lower().is_none_or(|lower| lower <= value)
        && bounds.upper().is_none_or(|upper| value <= upper)
}

fn positions(car_type: &CarType, kind: PositionKind) -> impl Iterator<Item = &Position> {
    let positions = car_type.positions.iter();
    positions.filter(move |position| position.kind == kind)
}

// Common practice, no source: a brake pipe is regulated to 5 bar.
#[test]
fn a_brake_pipe_in_running_position_is_within_limits_at_five_bar_and_not_a_quarter_bar_off() {
    let released = [
        measured("brake pipe pressure in running position"),
        measured("brake pipe pressure before the test"),
    ];
    for limits in released {
        assert!(!limits.is_empty());
        for limit in limits {
            assert_eq!(limit.unit, "bar");
            assert!(admits(limit, "5"), "{}", limit.bounds);
            assert!(
                !admits(limit, "4.75") && !admits(limit, "5.25"),
                "{}",
                limit.bounds
            );
        }
    }
}

// Common practice, no source: the overflow valve to the air suspension opens at 7.8 bar.
#[test]
fn the_overflow_valve_to_the_suspension_is_set_to_open_at_seven_point_eight_bar() {
    let mut checked = 0;
    for car_type in car_types() {
        for valve in positions(car_type, PositionKind::OverflowValve) {
            let opens = valve.setting(&read("opening pressure")).unwrap();
            assert_eq!(opens.wanted(), read("7.8 bar"));
            assert!(opens.admits(&read("7.8 bar")));
            for off in ["7.5 bar", "8 bar", "8.1 bar"] {
                assert!(!opens.admits(&read(off)), "{off}");
            }
            checked += 1;
        }
    }
    assert!(checked > 0);
}

/// The places to which lines lead from one, not past another.
fn leads(car_type: &CarType, from: &str, past: &Position) -> BTreeSet<Place> {
    let past = Place::Position(past.code.clone());
    let mut reached: BTreeSet<Place> = BTreeSet::from([read(from)]);
    loop {
        let lines = car_type.circuit.lines.iter();
        let on = lines.filter(|line| reached.contains(&line.from) && line.to != past);
        let next: BTreeSet<Place> = on.map(|line| line.to.clone()).collect();
        if next.is_subset(&reached) {
            return reached;
        }
        reached.extend(next);
    }
}

// Common practice, no source: the air suspension fills once the main reservoir pipe has reached
// 8 bar. All that feeds it passes the overflow valve, which is open at 8 bar whatever it is set to
// within its range; and a test begins only with as much in the pipe.
#[test]
fn the_suspension_is_fed_past_the_overflow_valve_alone_and_that_is_open_at_eight_bar() {
    let eight: Decimal = read("8");
    let mut checked = 0;
    for car_type in car_types() {
        for valve in positions(car_type, PositionKind::OverflowValve) {
            let opens = valve.setting(&read("opening pressure")).unwrap();
            let (_, latest) = opens.range().unwrap();
            assert!(latest < eight, "{}", valve.code);
            let without = leads(car_type, "end1:main_pipe", valve);
            let levelling: Vec<_> = positions(car_type, PositionKind::LevellingValve).collect();
            assert!(!levelling.is_empty(), "{}", car_type.name);
            for one in levelling {
                let place = Place::Position(one.code.clone());
                assert!(
                    !without.contains(&place),
                    "{} of {}",
                    one.code,
                    car_type.name
                );
            }
            checked += 1;
        }
    }
    assert!(checked > 0);
    for limit in measured("main reservoir pipe pressure") {
        assert!(
            admits(limit, "8") && !admits(limit, "7.9"),
            "{}",
            limit.bounds
        );
    }
}

// Common practice, no source: a main reservoir of 200 litres.
#[test]
fn two_hundred_litres_are_left_to_be_drained_where_the_compressor_is_switched_off() {
    let of_name = |name: &str| {
        let known = car_types();
        let mut known = known.into_iter();
        known.find(|one| one.name.as_str() == name).unwrap()
    };
    let unit = ["TM-DA", "TM-T", "TM-DB"].map(|name| compiled(of_name(name)));
    let [one, trailer, other] = &unit;
    let unit = train(&[
        (one, Orientation::Forward),
        (trailer, Orientation::Forward),
        (other, Orientation::Forward),
    ]);
    let case = (BrakePosition::R, LoadState::Normal);
    let to_close = |code: &str| closing(&unit, &[], (1, &read(code)), case).unwrap();
    // The gauge on the main reservoir tells of the air in it.
    let found = to_close("=AP-PG1");
    let off: Vec<&str> = found
        .without_cock
        .iter()
        .map(|one| one.position.as_str())
        .collect();
    assert_eq!(off, ["=AP-GQ1"]);
    let charged = found.sets[0].charged.iter();
    let charged: Vec<_> = charged
        .filter(|one| one.at.position.as_str() == "=AP-CM1")
        .collect();
    let [charged] = charged.as_slice() else {
        panic!("{found:?}");
    };
    assert_eq!(charged.volume_l, 200);
    assert_eq!(charged.air, ChargedAir::ToBeDrained);
}
