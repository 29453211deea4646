use super::*;
use crate::ledger::fact::Fact;
use crate::rule_set::requirement::Requirement;
use serde_json::json;

fn wrong(text: &str) -> String {
    read::<Requirement>(text.as_bytes())
        .expect_err("it cannot be read")
        .to_string()
}

#[test]
fn what_is_no_json_is_told_with_its_place() {
    for cut_off in [r#"{"always": ["#, r#"{"always"#, "{", ""] {
        let told = wrong(cut_off);
        assert!(told.contains("it ends before it is complete"), "{told}");
    }
    let told = wrong("{\"always\":\n  may_run}");
    assert!(told.starts_with("line 2, near character 3: "), "{told}");
    let told = wrong(r#"{"always":"may_run"} x"#);
    assert!(
        told.starts_with("near character 22: from here on"),
        "{told}"
    );
}

#[test]
fn a_field_that_stands_twice_is_refused_and_not_the_last_taken() {
    let told = wrong(r#"{"always":"may_run","always":"may_not_run"}"#);
    assert!(told.contains("the field always stands twice"), "{told}");
}

#[test]
fn what_does_not_fit_is_told_with_the_way_to_it_and_what_was_expected() {
    let told =
        wrong(r#"{"bands":{"measure":"brake_percentage","bands":[{"at_least_percent":-1}]}}"#);
    assert!(
        told.starts_with("bands.bands#1.at_least_percent: -1 stands there; expected a whole"),
        "{told}"
    );
    let told = wrong(r#"{"always":{"with_restrictions":{"telling":[]}}}"#);
    assert!(
        told.contains("there is no field “telling”; expected one of speed_caps"),
        "{told}"
    );
    let told = wrong(r#"{"allways":"may_run"}"#);
    assert!(
        told.starts_with("“allways” stands there; expected one of always, bands"),
        "{told}"
    );
    assert_eq!(
        wrong(r#"{"adjacent":{"at_most":1}}"#),
        "adjacent: the field counts_as_braked is missing"
    );
    assert!(wrong("[]").starts_with("a list stands there; expected one of always"));
    assert!(wrong(r#""always""#).contains("its name stands alone"));
}

#[test]
fn what_fits_is_read_as_by_the_library() {
    let facts = [
        json!({"reading_taken": {"car": "4101", "meter": "odometer", "value": 183_600_500}}),
        json!({"isolated": {
            "car": "4101", "position": "=BS1-Q1", "state": "closed_vented",
            "cause": "air leak", "not_before": null,
        }}),
        json!("withdrawn"),
    ];
    for fact in facts {
        let by_library: Fact = serde_json::from_value(fact.clone()).expect("a fact");
        let by_us: Fact = fit(&fact).expect("a fact");
        assert_eq!(by_us, by_library);
    }
}
