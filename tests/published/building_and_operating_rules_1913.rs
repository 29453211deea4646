//! A table of required brakes in law. Source: German Eisenbahn-Bau- und Betriebsordnung, amendment
//! of 1913, Saxon law gazette 1913: braked axles required of 100, stopping distance 700 m; two rows
//! that read cleanly in the digitised print. That values between are taken from the steeper row is
//! our choice.

use crate::rule_sets::trains::{car, on_the_road};
use domain::rule_set::facts::TrainFacts;
use domain::rule_set::requirement::{RequiredTable, Requirement};
use domain::rule_set::verdict::{Permission, Verdict};
use domain::rule_set::{RuleSet, evaluate};
use domain::units::{Distance, Gradient, Speed};
use serde_json::json;

fn set() -> RuleSet {
    serde_json::from_value(json!({
        "name": "1913", "revision": "A", "issuer": "test", "note": "test",
        "valid_from": "2026-01-01", "rules": [{
            "title": "braked axles", "source": {"published": "as above"},
            "requirement": {"table": {"measure": {"proportion": {"by": "axles"}}, "tables": [{
                "signalling_distance": 700.0,
                "speeds": [16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0],
                "rows": [
                    {"gradient": -18.0, "required_percent": [19, 22, 25, 29, 33, 37, 42, 48]},
                    {"gradient": -25.0, "required_percent": [26, 29, 33, 38, 43, 48, 54, 61]},
                ],
            }]}},
        }],
    }))
    .unwrap()
}

fn table() -> RequiredTable {
    let rule = set().rules.remove(0);
    let Requirement::Table(table) = rule.requirement else {
        panic!("the rule is a table")
    };
    table
}

fn required(gradient: f64, speed: f64) -> Option<u32> {
    let table = table();
    let row = table.row(Distance(700.0), Gradient(gradient))?;
    row.required(Speed(speed))
}

#[test]
fn between_listed_values_the_steeper_row_and_the_higher_speed_are_taken() {
    assert!(set().check().is_empty());
    for (gradient, speed, expected) in [
        (-25.0, 40.0, Some(48)),
        (-23.0, 40.0, Some(48)),
        (-18.0, 40.0, Some(37)),
        (-10.0, 40.0, Some(37)),
        (-25.0, 38.0, Some(48)),
        (-25.0, 10.0, Some(26)),
        (-26.0, 40.0, None),
        (-25.0, 51.0, None),
    ] {
        assert_eq!(required(gradient, speed), expected, "{gradient} {speed}");
    }
    assert!(table().row(Distance(600.0), Gradient(-18.0)).is_none());
    assert!(table().row(Distance(900.0), Gradient(-18.0)).is_some());
}

fn verdict(operative: u32, speed: f64) -> Verdict {
    let train = TrainFacts {
        speed_max: Some(Speed(speed)),
        gradient: Some(Gradient(-23.0)),
        signalling_distance: Some(Distance(700.0)),
        ..on_the_road(vec![car(1, operative, 100)])
    };
    evaluate(&set(), &train).unwrap().value
}

#[test]
fn the_greatest_listed_speed_that_is_braked_enough_for_holds() {
    assert_eq!(verdict(48, 40.0).permission, Permission::MayRun);
    let slower = verdict(47, 40.0);
    assert_eq!(slower.permission, Permission::WithRestrictions);
    assert_eq!(slower.restrictions.speed.unwrap().speed, Speed(35.0));
    // Beyond the table nothing is extrapolated.
    let fast = verdict(100, 80.0);
    assert_eq!(fast.restrictions.speed.unwrap().speed, Speed(50.0));
    assert_eq!(verdict(25, 40.0).permission, Permission::MayNotRun);
}
