//! The shipped rule sets as files, and what must hold of any verdict.

pub(crate) mod trains;
mod verdicts;

use domain::rule_set::RuleSet;

const GENERAL: &str = include_str!("../../seed-data/rule_sets/general.json");
const CFR_49_238_15: &str = include_str!("../../seed-data/rule_sets/cfr_49_238_15.json");

/// The shipped example by percentage and distance.
pub(crate) fn general() -> RuleSet {
    serde_json::from_str(GENERAL).unwrap()
}

/// The shipped example after 49 CFR 238.15.
pub(crate) fn cfr_49_238_15() -> RuleSet {
    serde_json::from_str(CFR_49_238_15).unwrap()
}

#[test]
fn the_shipped_rule_sets_have_no_faults_and_say_that_they_are_examples() {
    for set in [general(), cfr_49_238_15()] {
        let faults: Vec<String> = set.check().iter().map(ToString::to_string).collect();
        assert_eq!(faults, [""; 0], "{}", set.name);
        assert!(set.note.contains("example"), "{}", set.note);
        assert!(
            set.note.contains("authorised people decide"),
            "{}",
            set.note
        );
        assert!(set.issuer.contains("invented"), "{}", set.issuer);
    }
}

#[test]
fn a_rule_set_written_and_read_again_is_the_same() {
    for set in [general(), cfr_49_238_15()] {
        let text = serde_json::to_string(&set).unwrap();
        let read: RuleSet = serde_json::from_str(&text).unwrap();
        assert_eq!(read, set);
    }
}

#[test]
fn an_unknown_field_in_a_rule_set_is_refused() {
    let with_more = GENERAL.replacen("\"name\"", "\"nickname\": \"x\", \"name\"", 1);
    assert!(serde_json::from_str::<RuleSet>(&with_more).is_err());
}
