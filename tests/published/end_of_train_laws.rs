//! Vehicles without brake at the ends of a train, by three laws. Sources: Regulation (EU) 2019/773,
//! annex, 4.2.2.6 (first and last); German EBO § 35(6) (last or last but one; no passengers in an
//! unbraked last vehicle); Austrian `EisbBBV` § 28 (first, and last or last but one; no passengers).

use crate::rule_sets::trains::{four_axle_cars, on_the_road};
use domain::rule_set::consequence::PassengerRestriction;
use domain::rule_set::verdict::{Permission, Verdict};
use domain::rule_set::{RuleSet, evaluate};
use serde_json::{Value, json};

fn end(end: &str, otherwise: &Value) -> Value {
    json!({"title": end, "source": {"published": "as above"}, "requirement": {"end_vehicle": {
        "end": end, "counts_as_braked": {"axles_at_least": 1}, "otherwise": otherwise,
    }}})
}

fn verdict(rules: &[Value], operative: &[u32]) -> Verdict {
    let set: RuleSet = serde_json::from_value(json!({
        "name": "ends", "revision": "A", "issuer": "test", "note": "test",
        "valid_from": "2026-01-01", "rules": rules,
    }))
    .unwrap();
    let train = on_the_road(four_axle_cars(operative));
    evaluate(&set, &train).unwrap().value
}

fn empty_last() -> Value {
    json!({"with_restrictions": {"passengers": "not_in_unbraked_vehicle"}})
}

fn european() -> Vec<Value> {
    let stay = json!("may_not_run");
    vec![end("first", &stay), end("last", &stay)]
}

fn german() -> Vec<Value> {
    vec![
        end("last_two", &json!("may_not_run")),
        end("last", &empty_last()),
    ]
}

fn austrian() -> Vec<Value> {
    let first = end("first", &json!("may_not_run"));
    [vec![first], german()].concat()
}

#[test]
fn an_unbraked_last_vehicle_may_not_run_by_one_law_and_empty_by_two() {
    let last_out = [4, 4, 4, 0];
    assert_eq!(
        verdict(&european(), &last_out).permission,
        Permission::MayNotRun
    );
    for law in [german(), austrian()] {
        let found = verdict(&law, &last_out);
        assert_eq!(found.permission, Permission::WithRestrictions);
        let empty = Some(PassengerRestriction::NotInUnbrakedVehicle);
        assert_eq!(found.restrictions.passengers, empty);
    }
}

#[test]
fn an_unbraked_first_vehicle_may_run_by_the_german_law_only() {
    let first_out = [0, 4, 4, 4];
    for (law, expected) in [
        (european(), Permission::MayNotRun),
        (german(), Permission::MayRun),
        (austrian(), Permission::MayNotRun),
    ] {
        assert_eq!(verdict(&law, &first_out).permission, expected);
    }
}

#[test]
fn neither_of_the_last_two_braked_may_not_run_by_any_law() {
    for law in [european(), german(), austrian()] {
        assert_eq!(
            verdict(&law, &[4, 4, 0, 0]).permission,
            Permission::MayNotRun
        );
        assert_eq!(verdict(&law, &[0]).permission, Permission::MayNotRun);
        assert_eq!(verdict(&law, &[4, 0, 0, 4]).permission, Permission::MayRun);
    }
}

/// Swedish SÄO § 41 (former rules): at least two braked axles to count.
#[test]
fn how_many_axles_make_a_vehicle_braked_is_a_parameter() {
    let rule = |axles: u32| {
        json!({"title": "last", "source": {"published": "SÄO § 41"}, "requirement": {
            "end_vehicle": {"end": "last", "counts_as_braked": {"axles_at_least": axles},
                "otherwise": {"with_restrictions": {"speed_caps": [{"fixed": {"speed": 40.0}}]}}},
        }})
    };
    let one_axle = [4, 4, 1];
    assert_eq!(
        verdict(&[rule(1)], &one_axle).permission,
        Permission::MayRun
    );
    let found = verdict(&[rule(2)], &one_axle);
    assert_eq!(found.permission, Permission::WithRestrictions);
    assert_eq!(
        verdict(&[rule(2)], &[4, 4, 2]).permission,
        Permission::MayRun
    );
}
