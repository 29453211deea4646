//! Rule sets and their rules.

use super::sample::sample_folder;
use super::{folder, options, read};
use crate::input::{Input, Options};
use domain::identity::RouteName;
use domain::ledger::fact::Fact;
use domain::rule_set::RuleSet;
use domain::rule_set::facts::{Movement, TrainKind, Whereabouts};
use domain::rule_set::requirement::Requirement;
use domain::units::{Distance, Gradient, Speed};
use domain::worked::Source;
use std::path::Path;

fn rule_set(path: &Path, options: Options) -> RuleSet {
    let input = Input::open(path, options).expect("an input");
    let mut facts = input.map(|item| item.expect("no error").value.fact);
    let issued = facts.find_map(|fact| match fact {
        Fact::RuleSetIssued(rule_set) => Some(*rule_set),
        _ => None,
    });
    issued.expect("a rule set")
}

#[test]
fn a_rule_set_is_gathered_from_its_two_tables() {
    let set = rule_set(sample_folder().path(), options());
    assert_eq!(set.scope.whereabouts, []);
    assert_eq!(set.scope.kinds, [TrainKind::Commuter, TrainKind::Freight]);
    assert_eq!(set.scope.movements, [Movement::InService]);
    let [share, last] = set.rules.as_slice() else {
        panic!("{:?}", set.rules);
    };
    assert_eq!(share.source, Source::Published("Rules 1.2".to_owned()));
    assert!(share.only_if.is_always());
    assert!(matches!(share.requirement, Requirement::Always(_)));
    assert_eq!(last.source, Source::CommonPractice);
    assert_eq!(last.scope.whereabouts, [Whereabouts::OnTheRoad]);
    assert_eq!(last.only_if.falls_steeper_than, Some(Gradient(-25.0)));
    assert_eq!(last.only_if.faster_than, Some(Speed(62.5)));
    assert_eq!(last.only_if.further_than, Some(Distance(1_000.0)));
    let season = last.only_if.in_season.map(|season| season.to_string());
    assert_eq!(season.as_deref(), Some("10-01 to 12-15"));
    let routes: Vec<&str> = last
        .only_if
        .on_routes
        .iter()
        .map(RouteName::as_str)
        .collect();
    assert_eq!(routes, ["Moor", "Coast"]);
    assert!(matches!(last.requirement, Requirement::EndVehicle(_)));
    let agreed = set.agreed.clone().expect("two people");
    assert_eq!(agreed.proposed_by().as_str(), "Reed");
    assert_eq!(agreed.approved_by().as_str(), "Sedge");
    assert_eq!(set.check(), []);
}

#[test]
fn the_validity_of_a_rule_set_stays_where_an_invented_history_is_moved() {
    let moved = Options {
        shift_days: 400,
        ..options()
    };
    let set = rule_set(sample_folder().path(), moved);
    assert_eq!(set.valid_from.to_string(), "2020-01-01");
    let until = set.valid_until.map(|day| day.to_string());
    assert_eq!(until.as_deref(), Some("2029-12-31"));
}

/// What is said of a requirement.
fn refused(requirement: &str) -> String {
    let cell = requirement.replace('"', "\"\"");
    let rules = format!(
        "rule_set,revision,rule,title,source_kind,requirement\n\
         R1,A,1,share,common_practice,\"{cell}\"\n"
    );
    let sets = b"rule_set,revision,issuer,proposed_by,approved_by,note,valid_from\n\
        R1,A,Tarn,Reed,Sedge,example,2020-01-01\n";
    let folder = folder(&[("rule_sets.csv", sets), ("rules.csv", rules.as_bytes())]);
    let (commands, errors) = read(folder.path());
    assert_eq!((commands.len(), errors.len()), (0, 1), "{errors:?}");
    errors[0].to_string()
}

#[test]
fn a_requirement_that_cannot_be_read_says_where_and_what_was_expected() {
    let place = "rules.csv, row 2, column requirement: ";
    for (requirement, said) in [
        (r#"{"always":"may_run"#, "it ends before it is complete"),
        (
            r#"{"always":"may_run"} x"#,
            "near character 22: from here on it is no JSON",
        ),
        (
            r#"{"allways":"may_run"}"#,
            "“allways” stands there; expected one of always, bands",
        ),
        (
            r#"{"always":{"with_restrictions":{"telling":[]}}}"#,
            "always.with_restrictions: there is no field “telling”; expected one of speed_caps",
        ),
        (
            r#"{"adjacent":{"at_most":1,"counts_as_braked":"all_axles"}}"#,
            "adjacent: the field otherwise is missing",
        ),
        (
            r#"{"adjacent":{"at_most":1,"at_most":2}}"#,
            "the field at_most stands twice",
        ),
        (
            r#"{"adjacent":{"at_most":-1}}"#,
            "adjacent.at_most: -1 stands there; expected a whole number from 0",
        ),
        (
            r#"{"stopping":{"method":"guess"}}"#,
            "one of braked_weight_relation",
        ),
        (
            r#"{"stopping":{"within":{"distance":1e999}}}"#,
            "from here on it is no JSON",
        ),
        (r#"{"always":"may_run","bands":{}}"#, "expected"),
    ] {
        let error = refused(requirement);
        assert!(error.starts_with(place), "{error}");
        assert!(error.contains(said), "{requirement}: {error}");
        assert!(
            error.contains("; expected a requirement in JSON"),
            "{error}"
        );
    }
    let long = format!("{{\"always\":\"{}\"}}", "x".repeat(200));
    assert!(refused(&long).contains("xxx…”"), "a long cell is shortened");
    let deep = "[".repeat(10_000);
    assert!(refused(&deep).contains("expected"));
}

#[test]
fn a_rule_set_with_an_error_in_one_of_its_rules_gives_no_command() {
    let folder = sample_folder();
    let file = folder.path().join("rules.csv");
    let rules = std::fs::read_to_string(&file).expect("a file");
    std::fs::write(file, rules.replace("may_not_run", "may_walk")).expect("a file");
    let (commands, errors) = read(folder.path());
    assert_eq!(errors.len(), 1);
    let issued = |kind| kind == "rule_set_issued";
    assert!(commands.iter().all(|(_, c)| !issued(c.fact.kind().name())));
}
