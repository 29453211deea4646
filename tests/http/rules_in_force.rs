//! A third rule set in force beside the two of the invented railway: rules of a route and of a
//! season, and what rule sets do not take alike as usual. Constructed.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::Served;

const ROUTE: &str = "Hill line";

/// Trains, and a rule set by which they run at 50 km/h under a condition, and freely otherwise.
async fn served(url: &str, only_if: Value, usual: Value) -> Served {
    let served = Served::with_trains(url).await;
    let slower = json!({"with_restrictions": {"speed_caps": [{"fixed": {"speed": 50}}]}});
    let set = json!({"rule_set_issued": {
        "name": "Hill rules", "revision": "1", "issuer": "Tarrenmoor Regional Railway (invented)",
        "note": "Constructed for a test.", "valid_from": "2026-01-01", "usual": usual,
        "rules": [
            {"title": "Slower", "source": "common_practice", "only_if": only_if,
             "requirement": {"always": slower}},
            {"title": "Any train", "source": "common_practice",
             "requirement": {"always": "may_run"}},
        ],
        "agreed": {"proposed_by": "A. Engineer", "approved_by": "B. Engineer"},
    }});
    let at = "2026-11-25T08:00:00Z".to_owned();
    served.import(vec![(at, set)]).await;
    served
}

/// What the third rule set says.
fn said(answer: &Value) -> &Value {
    let verdicts = answer["verdicts"].as_array().unwrap();
    let ours = verdicts.iter().find(|one| one["rule_set"] == "Hill rules");
    ours.unwrap()
}

async fn a_route_is_known_whatever_its_case_and_another_is_refused(url: &str) {
    let served = served(url, json!({"on_routes": [ROUTE]}), json!({})).await;
    let visitor = served.visitor();
    let ask = |route: &str| format!("/api/v1/decision?train=T1&route={route}");
    for route in ["Hill%20line", "hill%20%20line", "HILL%20LINE"] {
        let answer = visitor.get(&ask(route)).await.json();
        let verdict = said(&answer);
        assert_eq!(verdict["permission"], "with_restrictions", "{route}");
        assert_eq!(verdict["restrictions"]["speed_km_h"], 50.0, "{route}");
    }
    let another = visitor.get(&ask("another")).await.json();
    assert_eq!(said(&another)["permission"], "may_run");
    let unknown = visitor.get("/api/v1/decision?train=T1").await.json();
    assert_eq!(said(&unknown)["permission"], Value::Null);
    let mistyped = visitor.get(&ask("Hil%20line")).await;
    assert_eq!(mistyped.status(), 422);
    assert!(mistyped.body().contains(ROUTE), "{}", mistyped.body());
    let page = visitor.get("/trains/T1?route=Hil%20line").await;
    assert_eq!(page.status(), 422);
    let says = page.text("#ask-route-wrong");
    assert!(
        says.contains(ROUTE) && says.contains("another"),
        "it says which there are: {says}"
    );
}

async fn rule_sets_that_disagree_about_what_is_usual_are_named_where_a_verdict_lacks_it(url: &str) {
    let served = served(url, json!({}), json!({"signalling_distance": 900})).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let differ = "the rule sets in force take different ones as usual in m: 1300 by Example by \
                  percentage and distance A, 900 by Hill rules 1";
    for path in ["/trains/T1", "/isolations", "/api/v1/decision?train=T1"] {
        let page = controller.get(path).await;
        let body = page.body().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(body.contains(differ), "{path}");
    }
    let page = controller.get("/trains/T1/decide").await;
    let form = page.form("#decide form").fill("rule_set", "Hill rules/1");
    let sheet = controller.submit(&form).await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let beside = sheet.text(".paper-warnings");
    assert!(
        beside.contains("stricter: No verdict, for lack of signalling distance of the way ahead"),
        "{beside}"
    );
}

async fn a_decision_is_void_once_a_season_of_its_rules_is_over(url: &str) {
    let season = json!({"in_season": "11-20 to 11-25"});
    let served = served(url, season, json!({})).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = controller.get("/trains/T1/decide").await;
    let form = page.form("#decide form").fill("rule_set", "Hill rules/1");
    let sheet = controller.submit(&form).await;
    assert_eq!(sheet.status(), 200, "{}", sheet.text("main"));
    let cautions = sheet.text(".paper-cautions");
    assert!(cautions.contains("and on 2026-11-26"), "{cautions}");
    let code = sheet.text(".paper-code .code");
    let visitor = served.visitor();
    let check = format!("/check?code={code}");
    let stands = visitor.get(&check).await.text(".genuine");
    assert!(stands.contains("it stands"), "{stands}");
    served.pass(86_400);
    let void = visitor.get(&check).await;
    assert!(void.text(".genuine").contains("void by now"));
    let because = void.text(".decided");
    assert!(
        because.contains("began or ended on 2026-11-26"),
        "{because}"
    );
    let sheet = visitor.get(sheet.path()).await;
    assert_eq!(sheet.count(".void-banner"), 1);
}

each_database!(
    a_route_is_known_whatever_its_case_and_another_is_refused,
    rule_sets_that_disagree_about_what_is_usual_are_named_where_a_verdict_lacks_it,
    a_decision_is_void_once_a_season_of_its_rules_is_over,
);
