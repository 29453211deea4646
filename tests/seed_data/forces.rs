//! The brakes of the invented designs as forces: near the assessed braked weights, within their own
//! limits while nothing is cut out, and beyond them where `DESIGN.md` says so.

use std::sync::Arc;

use domain::braking::forces::retarding::Retarding;
use domain::braking::stopping_distance::{Method, Stop};
use domain::circuit::compiled::CompiledCircuit;
use domain::configuration::brake_forces::{BrakeForces, DemandSharing};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{
    AssumedLoad, BrakePosition, CarType, LoadState, Position, PositionKind,
};
use domain::decision::forces::Forces;
use domain::decision::forces::limits::{AxleAdhesion, Limits};
use domain::decision::performance::performance;
use domain::decision::permitted::permitted_table;
use domain::decision::supposed::supposed;
use domain::decision::{Decision, Question, TrainCar, Way, decide};
use domain::units::{Distance, Gradient, Speed};
use domain::worked::{Missing, Step};

use super::car_types;

const UNIT: [&str; 3] = ["TM-DA", "TM-T", "TM-DB"];
const SET: [&str; 6] = ["PC-L", "PC-K", "PC-C", "PC-C", "PC-K", "PC-D"];

/// Cars of those types, numbered from 1, with a component at every position.
fn cars(types: &[&str], change: impl Fn(&mut CarType)) -> Vec<TrainCar> {
    let car = |(place, name): (usize, &&str)| {
        let of = car_types().into_iter().find(|of| of.name.as_str() == *name);
        let mut car_type = of.unwrap().clone();
        change(&mut car_type);
        TrainCar {
            number: (place + 1).to_string().parse().unwrap(),
            orientation: Orientation::Forward,
            vacant: Vec::new(),
            shortcomings: Vec::new(),
            conceded: Vec::new(),
            not_conceded: Vec::new(),
            failed_tests: Vec::new(),
            due_at_once: Vec::new(),
            overdue: domain::decision::overdue::Overdue::Nothing,
            judge_again: Vec::new(),
            vacated: std::collections::BTreeMap::new(),
            circuit: Arc::new(CompiledCircuit::new(&car_type).unwrap()),
            cut_outs: Vec::new(),
        }
    };
    types.iter().enumerate().map(car).collect()
}

fn question(cars: Vec<TrainCar>, position: BrakePosition, closed: &[&str]) -> Question {
    Question {
        cars,
        supposed: supposed(closed.iter().copied()).unwrap(),
        brake_position: position,
        load: LoadState::Normal,
        way: Way {
            speed: Some(Speed(160.0)),
            gradient: Some(Gradient(0.0)),
            signalling_distance: Some(Distance(1000.0)),
            ..Way::default()
        },
    }
}

fn decided(types: &[&str], position: BrakePosition, closed: &[&str]) -> Decision {
    decide(&question(cars(types, |_| ()), position, closed), &[]).unwrap()
}

fn limits(decision: &Decision) -> &Limits {
    let forces = decision.forces.as_ref().unwrap();
    &forces.limits.as_ref().unwrap().value
}

#[test]
fn braked_weights_from_forces_come_close_to_the_assessed_ones_and_never_above() {
    let mut checked = 0;
    for (types, positions) in [
        (UNIT.as_slice(), [BrakePosition::Ep, BrakePosition::R]),
        (SET.as_slice(), [BrakePosition::R, BrakePosition::P]),
    ] {
        for position in positions {
            for load in LoadState::ALL {
                let mut question = question(cars(types, |_| ()), position, &[]);
                question.load = *load;
                let Forces { braked_weights, .. } = decide(&question, &[]).unwrap().forces.unwrap();
                for of in braked_weights {
                    let (found, assessed) = (of.from_forces.value, of.assessed.unwrap());
                    let share = found.tonnes() / assessed.tonnes();
                    assert!((0.94..=1.0).contains(&share), "{}: {share}", of.car_type);
                    checked += 1;
                }
            }
        }
    }
    assert_eq!(checked, 3 * 2 * 3 + 4 * 2 * 3);
}

#[test]
fn nothing_passes_a_limit_while_nothing_is_cut_out() {
    for (types, position) in [
        (UNIT.as_slice(), BrakePosition::Ep),
        (SET.as_slice(), BrakePosition::R),
    ] {
        let decision = decided(types, position, &[]);
        let limits = limits(&decision);
        assert_eq!(limits.axles.len(), 4 * types.len());
        assert_eq!(limits.heat.len(), types.len());
        for axle in &limits.axles {
            assert!(axle.used.before <= 0.148, "{axle:?}");
            let same = (axle.used.not_shared, axle.used.shared);
            assert_eq!(same, (axle.used.before, axle.used.before));
        }
        assert!(
            limits
                .heat
                .iter()
                .all(|heat| heat.each.before <= heat.limit.unwrap())
        );
    }
}

#[test]
fn a_bogie_less_overtaxes_the_rest_only_where_the_demand_is_shared_out_anew() {
    let unit = decided(&UNIT, BrakePosition::Ep, &["1:=BS1-QM1:closed_vented"]);
    let found = limits(&unit);
    assert_eq!(found.sharing, Some(DemandSharing::OverTheTrain));
    assert_eq!(
        found.axles.len(),
        10,
        "the two axles without brake use nothing"
    );
    for axle in &found.axles {
        let (limit, used) = (axle.limit.unwrap().real(), axle.used);
        assert!(used.not_shared < limit && limit < used.shared, "{axle:?}");
        assert!((used.not_shared - used.before).abs() < 1e-12);
    }
    // Ten axles take what twelve took, on the level whatever the distance.
    for heat in &found.heat {
        assert!(heat.each.before < heat.each.not_shared, "{heat:?}");
        assert!((heat.each.shared.0 - heat.each.not_shared.0).abs() < 1e-9);
    }
    let set = decided(&SET, BrakePosition::R, &["2:=BS1-QM1:closed_vented"]);
    assert_eq!(limits(&set).sharing, Some(DemandSharing::NotShared));
    let mixed = decided(&["TM-T", "TM-DB", "PC-C"], BrakePosition::R, &[]);
    assert_eq!(limits(&mixed).sharing, None);
}

/// Regulation (EU) 1302/2014, 4.2.4.5 and 4.2.4.6, of the invented designs: what they are made for.
#[test]
fn the_invented_designs_brake_as_the_law_asks_of_new_units_whatever_is_cut_out() {
    for (types, position) in [
        (UNIT.as_slice(), BrakePosition::Ep),
        (SET.as_slice(), BrakePosition::R),
    ] {
        for closed in [[].as_slice(), &["1:=BS1-QM1:closed_vented"]] {
            let cars = cars(types, |_| ());
            let decision = decided(types, position, closed);
            let case = (position, LoadState::Normal);
            let found = performance(&cars, case, &decision).unwrap();
            let clauses: Vec<&str> = found.iter().map(|one| one.clause).collect();
            let expected = [
                "4.2.4.5.2(1)",
                "4.2.4.5.2(1)",
                "4.2.4.5.1",
                "4.2.4.6.1",
                "4.2.4.6.2",
            ];
            assert_eq!(clauses, expected);
            assert!(found.iter().all(|one| one.kept), "{found:?}");
        }
    }
}

#[test]
fn a_slow_or_unprotected_design_is_not_as_the_law_asks() {
    let cars = cars(&UNIT, |car_type| {
        car_type.speed_max_km_h = 250;
        let mut valves = car_type.positions.iter_mut();
        let of_axle_1 =
            |of: &&mut Position| of.kind == PositionKind::DumpValve && of.axle == Some(1);
        valves.find(of_axle_1).unwrap().kind = PositionKind::Filter;
        let groups = car_type.forces.groups.iter_mut();
        for pressure in groups.flat_map(|group| &mut group.pressures) {
            (pressure.delay_ms, pressure.rise_ms) = (2000, 2000);
        }
    });
    let decision = decide(&question(cars.clone(), BrakePosition::Ep, &[]), &[]).unwrap();
    let found = performance(&cars, (BrakePosition::Ep, LoadState::Normal), &decision).unwrap();
    let broken: Vec<(&str, &str)> = found
        .iter()
        .filter(|one| !one.kept)
        .map(|one| (one.clause, one.found.as_str()))
        .collect();
    // 2 s of delay and half of 2 s of rise; one axle of each of three cars.
    assert_eq!(
        broken[..2],
        [("4.2.4.5.2(1)", "3.00 s"), ("4.2.4.5.2(1)", "2.00 s")]
    );
    assert_eq!(broken.last(), Some(&("4.2.4.6.2", "9 of 12")));
}

#[test]
fn forces_stop_the_train_later_the_more_is_cut_out_and_stand_beside_the_other_methods() {
    let distance = |closed: &[&str]| {
        let decision = decided(&UNIT, BrakePosition::Ep, closed);
        let pair = decision
            .stopping
            .iter()
            .find(|pair| pair.method == Method::Forces);
        let Stop::After(distance) = pair.unwrap().after.distance.as_ref().unwrap().value.stop
        else {
            panic!("the train stops")
        };
        distance
    };
    let one = ["1:=BS1-QM1:closed_vented"];
    let two = ["1:=BS1-QM1:closed_vented", "2:=BS2-QM1:closed_vented"];
    assert!(distance(&[]) < distance(&one) && distance(&one) < distance(&two));
}

/// The decision on a train at a load, with what its brake control takes for the load where the
/// signal is lost, and with something closed.
fn at_load(
    types: &[&str],
    (load, taken): (LoadState, Option<AssumedLoad>),
    closed: &[&str],
) -> Decision {
    let cars = cars(types, |car_type| car_type.load_signal_lost = taken);
    let mut question = question(cars, BrakePosition::Ep, closed);
    question.load = load;
    decide(&question, &[]).unwrap()
}

fn kilonewtons((retarding, _): &(Retarding, Vec<Step>)) -> f64 {
    retarding.force().0
}

/// The signal of one bogie of the first car.
const NO_SIGNAL: [&str; 1] = ["1:=AS-BL1:failed"];

/// The forces at both loads are those of EN 14531-1 for the pressures entered; that the pressure
/// is then the one for the load that the control takes is common practice, no source.
#[test]
fn a_bogie_without_its_load_signal_gives_the_force_for_the_load_that_is_then_taken() {
    let force = |types: &[&str], load| {
        let decision = at_load(types, (load, None), &[]);
        kilonewtons(&decision.forces.unwrap().before)
    };
    let laden = (LoadState::Maximum, Some(AssumedLoad::Minimum));
    let found = at_load(&UNIT, laden, &NO_SIGNAL).forces.unwrap();
    let car = ["TM-DA"];
    let lost = force(&car, LoadState::Maximum) - force(&car, LoadState::Minimum);
    let expected = force(&UNIT, LoadState::Maximum) - lost / 2.0;
    assert!(lost > 1.0);
    assert!((kilonewtons(&found.after) - expected).abs() < 1e-9);
    let named = |step: &Step| step.what.ends_with("load signal lost");
    assert!(found.after.1.iter().any(named) && !found.before.1.iter().any(named));
}

#[test]
fn what_a_brake_presses_beyond_its_load_asks_more_of_adhesion_and_counts_for_no_more() {
    let empty = (LoadState::Minimum, Some(AssumedLoad::Maximum));
    let decision = at_load(&UNIT, empty, &NO_SIGNAL);
    let forces = decision.forces.as_ref().unwrap();
    assert!((kilonewtons(&forces.after) - kilonewtons(&forces.before)).abs() < 1e-9);
    let axles = &limits(&decision).axles;
    let more = |axle: &&AxleAdhesion| axle.used.not_shared > axle.used.before + 1e-6;
    let more: Vec<(String, u8)> = axles
        .iter()
        .filter(more)
        .map(|axle| (axle.car.to_string(), axle.axle))
        .collect();
    assert_eq!(more, [("1".to_owned(), 1), ("1".to_owned(), 2)]);
}

#[test]
fn a_load_that_nobody_knows_gives_no_forces() {
    let unknown = at_load(&UNIT, (LoadState::Normal, None), &NO_SIGNAL);
    let Missing(facts) = unknown.forces.unwrap_err();
    let [fact] = facts.as_slice() else {
        panic!("{facts:?}");
    };
    assert!(fact.what.starts_with("load that the brake control takes"));
    assert_eq!(fact.of, "car type TM-DA revision 1");
}

#[test]
fn a_fact_that_is_lacking_is_named_and_leaves_the_other_methods_as_they_are() {
    let lacking = |change: fn(&mut BrakeForces)| {
        let cars = cars(&UNIT, |car_type| change(&mut car_type.forces));
        let decision = decide(&question(cars, BrakePosition::Ep, &[]), &[]).unwrap();
        assert!(decision.percentage.is_ok());
        let Missing(facts) = decision.forces.unwrap_err();
        facts
            .iter()
            .map(|fact| format!("{} of {}", fact.what, fact.of))
            .collect::<Vec<_>>()
    };
    let nothing = lacking(|forces| *forces = BrakeForces::default());
    assert_eq!(nothing[0], "rotating mass of car type TM-DA revision 1");
    assert!(
        nothing
            .iter()
            .any(|what| what.starts_with("wheel diameters"))
    );
    assert_eq!(
        lacking(|forces| forces.groups[0].pressures.clear())[0],
        "cylinder pressure of car type TM-DA revision 1, calipers, brake position EP, normal load"
    );
    let one = lacking(|forces| drop(forces.groups[0].positions.pop()));
    assert_eq!(
        one[0],
        "forces of car type TM-DA revision 1, actuator =BS2-MB4"
    );
    assert_eq!(one.len(), 3);
}

#[test]
fn a_steeper_fall_and_a_brake_less_never_permit_a_higher_speed() {
    let decision = decided(&UNIT, BrakePosition::Ep, &["1:=BS1-QM1:closed_vented"]);
    let pairs: Vec<_> = decision.stopping.iter().collect();
    let table = permitted_table(&pairs, &decision.way, decision.speed_max).unwrap();
    assert_eq!(table.rows.len(), 9);
    for method in 0..table.methods.len() {
        let mut last = None;
        for row in &table.rows {
            let pair = &row.by_method[method];
            let (Ok(before), Ok(after)) = (&pair.before, &pair.after) else {
                assert_eq!(table.methods[method], Method::BrakedWeightRelation);
                continue;
            };
            assert!(
                after <= before && last <= *after,
                "{:?}: {row:?}",
                table.methods[method]
            );
            last = *after;
        }
        assert!(last.is_some());
    }
}
