//! The shipped rule sets as they are brought in, and what must hold of any verdict.

mod dragging_and_sliding;
mod season_and_route;
pub(crate) mod trains;
mod verdicts;

use domain::ledger::fact::Fact;
use domain::rule_set::RuleSet;
use domain::time::Zone;
use exchange::input::{Input, Options};
use std::path::Path;
use std::sync::LazyLock;

/// The rule sets of the folder that comes with the register.
static SHIPPED: LazyLock<Vec<RuleSet>> = LazyLock::new(|| {
    let seed_data = Path::new(env!("CARGO_MANIFEST_DIR")).join("../seed-data");
    let options = Options {
        zone: Zone::UTC,
        shift_days: 0,
    };
    let facts = Input::open(&seed_data, options).unwrap();
    let facts = facts.map(|item| item.unwrap().value.fact);
    let before_cars = facts.take_while(|fact| !matches!(fact, Fact::CarRegistered(_)));
    let issued = before_cars.filter_map(|fact| match fact {
        Fact::RuleSetIssued(rule_set) => Some(*rule_set),
        _ => None,
    });
    issued.collect()
});

fn shipped(name: &str) -> RuleSet {
    let mut sets = SHIPPED.iter();
    let set = sets.find(|set| set.name.as_str() == name);
    set.unwrap().clone()
}

/// The shipped example by percentage and distance.
pub(crate) fn general() -> RuleSet {
    shipped("Example by percentage and distance")
}

/// The shipped example after 49 CFR 238.15.
pub(crate) fn cfr_49_238_15() -> RuleSet {
    shipped("Example after 49 CFR 238.15")
}

#[test]
fn the_shipped_rule_sets_have_no_faults_and_say_that_they_are_examples() {
    assert_eq!(SHIPPED.len(), 2);
    for set in SHIPPED.iter() {
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
    for set in SHIPPED.iter() {
        let text = serde_json::to_string(&set).unwrap();
        let read: RuleSet = serde_json::from_str(&text).unwrap();
        assert_eq!(read, *set);
    }
}

#[test]
fn an_unknown_field_in_a_rule_set_is_refused() {
    let text = serde_json::to_string(&general()).unwrap();
    let with_more = text.replacen("\"name\"", "\"nickname\": \"x\", \"name\"", 1);
    assert!(serde_json::from_str::<RuleSet>(&with_more).is_err());
}
