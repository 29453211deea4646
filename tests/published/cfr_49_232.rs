//! Freight trains with inoperative brakes. Source: 49 CFR 232.103(e) (2006 edition) and 232.15(d),
//! (e) (66 FR 4193; 67 FR 17580). Two rules ask for 85 % and count differently.

use crate::rule_sets::trains::{car, of, on_the_road};
use domain::configuration::car_type::PositionKind;
use domain::rule_set::facts::{CarFacts, TrainFacts, TrainKind};
use domain::rule_set::verdict::Permission;
use domain::rule_set::{RuleSet, evaluate};
use serde_json::{Value, json};

fn rule(title: &str, place: &str, requirement: &Value) -> Value {
    json!({"title": title, "source": {"published": place}, "requirement": requirement})
}

fn at_least_85(by: &Value) -> Value {
    json!({"bands": {"measure": {"proportion": {"by": by}}, "bands": [
        {"at_least_percent": 0, "below_percent": 85, "consequence": "may_not_run"},
        {"at_least_percent": 85, "consequence": "may_run"},
    ]}})
}

fn by_cars() -> Value {
    rule(
        "cars",
        "49 CFR 232.103(e)",
        &at_least_85(&json!({"cars": "all_axles"})),
    )
}

fn by_valves() -> Value {
    let by = json!({"equipment": "distributor_valve"});
    rule("control valves", "49 CFR 232.15(d)(1)", &at_least_85(&by))
}

fn placed() -> [Value; 2] {
    let last = json!({"end_vehicle": {
        "end": "last", "counts_as_braked": {"axles_at_least": 1}, "otherwise": "may_not_run",
    }});
    let adjacent = json!({"adjacent": {
        "at_most": 2, "counts_as_braked": {"axles_at_least": 1}, "otherwise": "may_not_run",
    }});
    let place = "49 CFR 232.15(e)";
    [
        rule("last", place, &last),
        rule("consecutive", place, &adjacent),
    ]
}

fn permission(rules: &[Value], train: &TrainFacts) -> Permission {
    let set: RuleSet = serde_json::from_value(json!({
        "name": "freight", "revision": "A", "issuer": "test", "note": "test",
        "valid_from": "2026-01-01", "scope": {"kinds": ["freight"]}, "rules": rules,
    }))
    .unwrap();
    evaluate(&set, train).unwrap().value.permission
}

fn freight(cars: Vec<CarFacts>) -> TrainFacts {
    TrainFacts {
        kind: Some(TrainKind::Freight),
        ..on_the_road(cars)
    }
}

/// So many cars, of which every sixth is cut out until the number is reached.
fn cars(total: usize, cut_out: usize) -> Vec<CarFacts> {
    let is_out = |n: usize| n.is_multiple_of(6) && n / 6 < cut_out;
    let axles = |n| if is_out(n) { 0 } else { 4 };
    (0..total).map(|n| car(n + 1, axles(n), 4)).collect()
}

/// 232.103(e): cars.
#[test]
fn by_cars_85_of_100_may_move_and_84_not() {
    for (cut_out, expected) in [(15, Permission::MayRun), (16, Permission::MayNotRun)] {
        let train = freight(cars(100, cut_out));
        let out = train.cars.iter().filter(|car| car.axles == Some(of(0, 4)));
        assert_eq!(out.count(), cut_out);
        assert_eq!(permission(&[by_cars()], &train), expected);
    }
}

/// 232.15(d)(1): control valves of cars and locomotives, 100 cars and three locomotives.
#[test]
fn by_control_valves_88_of_103_may_move_and_87_not() {
    for (cut_in, expected) in [(88, Permission::MayRun), (87, Permission::MayNotRun)] {
        let mut train = freight(cars(103, 0));
        let valves = of(cut_in, 103);
        train
            .equipment
            .insert(PositionKind::DistributorValve, valves);
        assert_eq!(permission(&[by_valves()], &train), expected);
    }
}

/// Constructed example: 15 of 100 cars cut out, 85 % of the cars and 85.44 % of the valves; where
/// the two ways differ the stricter decides.
#[test]
fn counted_both_ways_the_stricter_decides() {
    let mut train = freight(cars(100, 16));
    let valves = of(88, 103);
    train
        .equipment
        .insert(PositionKind::DistributorValve, valves);
    assert_eq!(permission(&[by_valves()], &train), Permission::MayRun);
    assert_eq!(
        permission(&[by_cars(), by_valves()], &train),
        Permission::MayNotRun
    );
}

/// 232.15(e): not last, and no more than two together.
#[test]
fn three_inoperative_cars_together_or_an_inoperative_last_car_are_refused() {
    let train = |out: &[usize]| {
        let axles = |n| if out.contains(&n) { 0 } else { 4 };
        freight((0..10).map(|n| car(n + 1, axles(n), 4)).collect())
    };
    for (out, expected) in [
        (&[3, 4][..], Permission::MayRun),
        (&[3, 4, 6, 7], Permission::MayRun),
        (&[0, 1], Permission::MayRun),
        (&[3, 4, 5], Permission::MayNotRun),
        (&[0, 1, 2], Permission::MayNotRun),
        (&[9], Permission::MayNotRun),
    ] {
        assert_eq!(permission(&placed(), &train(out)), expected, "{out:?}");
    }
}
