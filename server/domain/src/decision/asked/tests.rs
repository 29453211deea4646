use super::*;
use serde_json::json;

fn words(fields: &[(AskedField, &str)]) -> Words {
    let mut words = Words::default();
    for (field, text) in fields {
        words.put(*field, text);
    }
    words
}

fn rules(usual: &serde_json::Value) -> RuleSet {
    let set = json!({
        "name": "test", "revision": "A", "issuer": "test", "note": "test",
        "valid_from": "2026-01-01", "usual": usual, "rules": [],
    });
    serde_json::from_value(set).expect("a rule set")
}

#[test]
fn numbers_are_read_in_their_units() {
    let words = words(&[
        (AskedField::Speed, "120.5"),
        (AskedField::Gradient, "−12"),
        (AskedField::DistanceToGo, "3.2"),
        (AskedField::HoldingAdhesion, "0.12"),
    ]);
    let way = words.read().expect("readable").way;
    assert_eq!(way.speed, Some(Speed(120.5)));
    assert_eq!(way.gradient, Some(Gradient(-12.0)));
    assert_eq!(way.distance_to_go, Some(Distance(3200.0)));
    assert_eq!(way.holding_adhesion, Some(Thousandths(120)));
    assert_eq!(way.signalling_distance, None);
}

#[test]
fn each_field_that_cannot_be_read_is_named() {
    let words = words(&[
        (AskedField::Speed, "inf"),
        (AskedField::Gradient, "1e1"),
        (AskedField::Load, "half"),
        (AskedField::SignallingDistance, "0"),
        (AskedField::HoldingAdhesion, "0.1205"),
    ]);
    let faults = words.read().expect_err("unreadable");
    let fields: Vec<AskedField> = faults.iter().map(|(field, _)| *field).collect();
    assert_eq!(
        fields,
        [
            AskedField::Load,
            AskedField::Speed,
            AskedField::Gradient,
            AskedField::SignallingDistance,
            AskedField::HoldingAdhesion
        ]
    );
}

#[test]
fn only_what_the_rule_sets_agree_on_is_assumed() {
    let one = rules(&json!({"load": "normal", "gradient": -8.0}));
    let other = rules(&json!({"gradient": -12.0, "signalling_distance": 1200.0}));
    let mut words = words(&[]);
    let assumed = words.assume(&[], &[&one, &other]);
    assert_eq!(assumed, [AskedField::Load, AskedField::SignallingDistance]);
    assert_eq!(words.text(AskedField::SignallingDistance), "1200");
    assert_eq!(words.get(AskedField::Gradient), None);
}

#[test]
fn an_adhesion_is_assumed_that_rule_sets_agree_on_whatever_their_sources() {
    let says = |thousandths: u32, source: &str| {
        let adhesion = json!({"thousandths": thousandths, "source": {"published": source}});
        rules(&json!({"holding_adhesion": adhesion}))
    };
    let (one, same, other) = (
        says(120, "a law"),
        says(120, "a standard"),
        says(90, "else"),
    );
    let silent = rules(&json!({}));
    let mut words = words(&[]);
    assert_eq!(words.clone().assume(&[], &[&one, &other]), []);
    words.assume(&[], &[&silent, &one, &same]);
    assert_eq!(words.text(AskedField::HoldingAdhesion), "0.12");
    let source = Usual::source_of(Thousandths(120), &[&silent, &one, &same]);
    assert_eq!(source.map(|of| of.to_string()), Some("a law".to_owned()));
    assert_eq!(Usual::source_of(Thousandths(90), &[&one]), None);
}

#[test]
fn what_was_left_blank_is_not_assumed_but_unknown() {
    let usual = rules(&json!({"load": "normal", "gradient": 0.0}));
    let mut words = words(&[(AskedField::Gradient, " ")]);
    let assumed = words.assume(&[], &[&usual]);
    assert_eq!(assumed, [AskedField::Load]);
    let asked = words.read().expect("readable");
    assert_eq!(asked.way.gradient, None);
    let missing = asked
        .question(Vec::new(), Vec::new())
        .expect_err("no brake position");
    assert_eq!(missing, Missing::one("brake position", "the question"));
}
