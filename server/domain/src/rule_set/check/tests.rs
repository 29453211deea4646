use super::*;
use crate::rule_set::usual::HoldingAdhesion;
use crate::units::{Distance, Gradient, Thousandths};
use crate::worked::Source;
use serde_json::{Value, json};

fn band(from: u32, to: Option<u32>, consequence: &Value) -> Value {
    json!({"at_least_percent": from, "below_percent": to, "consequence": consequence})
}

fn bands(measure: &Value, bands: &[Value]) -> Value {
    json!({"bands": {"measure": measure, "bands": bands}})
}

fn axles() -> Value {
    json!({"proportion": {"by": "axles"}})
}

fn set(requirement: &Value) -> RuleSet {
    let set = json!({
        "name": "test", "revision": "A", "issuer": "test", "note": "test",
        "valid_from": "2026-01-01",
        "rules": [{"title": "rule", "source": "common_practice", "requirement": requirement}],
    });
    serde_json::from_value(set).expect("a rule set")
}

fn whats(set: &RuleSet) -> Vec<String> {
    set.check().into_iter().map(|fault| fault.what).collect()
}

fn run() -> Value {
    json!("may_run")
}

fn stay() -> Value {
    json!("may_not_run")
}

#[test]
fn bands_from_nil_to_the_top_without_gap_are_right() {
    let right = [band(0, Some(85), &stay()), band(85, None, &run())];
    assert_eq!(whats(&set(&bands(&axles(), &right))), [""; 0]);
}

#[test]
fn gaps_overlaps_and_ends_of_bands_are_found() {
    let low = band(0, Some(50), &stay());
    for (wrong, expected) in [
        (vec![], "no band to the top"),
        (vec![band(10, None, &run())], "gap from 0 to 10 %"),
        (
            vec![low.clone(), band(60, None, &run())],
            "gap from 50 to 60 %",
        ),
        (
            vec![low.clone(), band(40, None, &run())],
            "overlap from 40 to 50 %",
        ),
        (vec![low.clone()], "no band to the top"),
        (
            vec![
                low.clone(),
                band(50, Some(50), &run()),
                band(50, None, &run()),
            ],
            "empty band",
        ),
        (
            vec![band(0, None, &run()), band(50, None, &run())],
            "after the top",
        ),
        (
            vec![band(0, Some(101), &stay()), band(101, None, &run())],
            "outside its range",
        ),
    ] {
        let found = whats(&set(&bands(&axles(), &wrong)));
        assert!(
            found.iter().any(|what| what.contains(expected)),
            "{expected}: {found:?}"
        );
    }
}

#[test]
fn a_brake_percentage_may_exceed_100() {
    let right = [band(0, Some(130), &stay()), band(130, None, &run())];
    assert_eq!(
        whats(&set(&bands(&json!("brake_percentage"), &right))),
        [""; 0]
    );
}

#[test]
fn a_milder_consequence_with_less_brake_is_found() {
    let cap =
        |km_h: f64| json!({"with_restrictions": {"speed_caps": [{"fixed": {"speed": km_h}}]}});
    let wrong = [band(0, Some(50), &cap(60.0)), band(50, None, &cap(40.0))];
    let found = whats(&set(&bands(&axles(), &wrong)));
    assert_eq!(found, ["below 50 % milder than above"]);
}

#[test]
fn a_reversed_validity_is_found() {
    let mut wrong = set(&bands(&axles(), &[band(0, None, &run())]));
    wrong.valid_until = Some(wrong.valid_from.plus_days(-1));
    assert_eq!(whats(&wrong).len(), 1);
    assert!(!wrong.is_valid_on(wrong.valid_from));
    wrong.valid_until = Some(wrong.valid_from);
    assert_eq!(whats(&wrong), [""; 0]);
    assert!(wrong.is_valid_on(wrong.valid_from));
    assert!(!wrong.is_valid_on(wrong.valid_from.plus_days(1)));
}

#[test]
fn trains_that_no_rule_on_brakes_covers_are_found() {
    let ends_only = json!({"end_vehicle": {
        "end": "last", "counts_as_braked": "all_axles", "otherwise": "may_not_run",
    }});
    let found = whats(&set(&ends_only));
    let combinations = Whereabouts::ALL.len() * TrainKind::ALL.len() * Movement::ALL.len();
    assert_eq!(found.len(), combinations);
    assert_eq!(found[0], "commuter, in service, leaving depot: no rule");
    let mut only_fast = set(&bands(&axles(), &[band(0, None, &run())]));
    only_fast.rules[0].only_if.faster_than = Some(crate::units::Speed(100.0));
    assert_eq!(whats(&only_fast).len(), combinations);
}

#[test]
fn tables_that_do_not_fit_or_fall_are_found() {
    let table = |speeds: Value, rows: Value| {
        json!({"table": {"measure": "brake_percentage", "tables": [
            {"signalling_distance": 1000.0, "speeds": speeds, "rows": rows},
        ]}})
    };
    let row =
        |gradient: f64, percent: Value| json!({"gradient": gradient, "required_percent": percent});
    let right = json!([row(0.0, json!([30, 40])), row(-10.0, json!([30, 45]))]);
    assert_eq!(whats(&set(&table(json!([60.0, 80.0]), right))), [""; 0]);
    for (speeds, rows, expected) in [
        (
            json!([60.0]),
            json!([row(0.0, json!([30, 40]))]),
            "a row of another length",
        ),
        (
            json!([80.0, 60.0]),
            json!([row(0.0, json!([30, 40]))]),
            "speeds not ascending",
        ),
        (
            json!([60.0, 80.0]),
            json!([row(5.0, json!([30, 40]))]),
            "falls not ascending",
        ),
        (
            json!([60.0, 80.0]),
            json!([row(0.0, json!([40, 30]))]),
            "percentages that fall",
        ),
        (
            json!([60.0, 80.0]),
            json!([row(0.0, json!([30, 40])), row(-5.0, json!([30, 39]))]),
            "percentages that fall",
        ),
        (
            json!([60.0, 80.0]),
            json!([row(0.0, json!([30, 251]))]),
            "a percentage outside its range",
        ),
    ] {
        let found = whats(&set(&table(speeds, rows)));
        assert!(
            found.iter().any(|what| what == expected),
            "{expected}: {found:?}"
        );
    }
}

#[test]
fn caps_and_restrictions_without_sense_are_found() {
    for (restrictions, expected) in [
        (json!({}), "restrictions without any"),
        (
            json!({"speed_caps": [{"fixed": {"speed": -5.0}}]}),
            "a speed cap of -5 km/h",
        ),
        (
            json!({"speed_caps": [{"percent_of_maximum": {"percent": 101}}]}),
            "a speed cap of 101 % of the greatest speed",
        ),
        (
            json!({"speed_caps": [{"below_maximum": {"by": 10.0, "not_below": 0.0}}]}),
            "a speed cap with 0 km/h as the least",
        ),
        (json!({"distance_max": -1.0}), "a distance of nil"),
    ] {
        let found = whats(&set(
            &json!({"always": {"with_restrictions": restrictions}}),
        ));
        assert!(
            found.iter().any(|what| what.contains(expected)),
            "{found:?}"
        );
    }
}

#[test]
fn a_fault_names_its_rule_and_what_is_expected() {
    let found = set(&bands(&axles(), &[band(10, None, &run())])).check();
    assert_eq!(
        found[0].to_string(),
        "rule “rule”: gap from 0 to 10 %; expected a band from 0 %"
    );
}

#[test]
fn an_unknown_field_is_refused_when_read() {
    let text = r#"{"by": "axles", "double": true}"#;
    assert!(serde_json::from_str::<crate::rule_set::requirement::Counting>(text).is_err());
}

#[test]
fn what_is_usual_can_be_asked_about() {
    let mut set = set(&json!({"bands": {"measure": axles(), "bands": [
        {"at_least_percent": 0, "consequence": "may_run"},
    ]}}));
    let faults = |set: &RuleSet| set.check().len();
    let before = faults(&set);
    set.usual.gradient = Some(Gradient(-101.0));
    set.usual.signalling_distance = Some(Distance(0.0));
    let adhesion = |thousandths| {
        let source = Source::CommonPractice;
        let thousandths = Thousandths(thousandths);
        Some(HoldingAdhesion {
            thousandths,
            source,
        })
    };
    set.usual.holding_adhesion = adhesion(9);
    assert_eq!(faults(&set), before + 3);
    set.usual.gradient = Some(Gradient(-100.0));
    set.usual.signalling_distance = Some(Distance(1.0));
    set.usual.holding_adhesion = adhesion(10);
    assert_eq!(faults(&set), before);
}
