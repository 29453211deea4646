//! Components that are to be judged again, beside the verdicts about the train that carries them and with
//! the decisions that were taken before that was told. Common practice, no source.

use domain::configuration::component::ComponentRef;
use domain::configuration::component::Condition::{self, Quarantined, Serviceable, Unserviceable};
use domain::people::Role;
use serde_json::Value;
use tests::each_database;
use tests::facts::{at, component, judged};
use tests::page::Page;
use tests::register::{command, person};

use super::isolations::{CYLINDER_COCK, record};
use super::sample::{Served, now};
use super::sheets::decide;
use crate::command_line::program::Place;

/// What is at the first filled position of car 4101, with the position.
async fn fitted(served: &Served) -> (ComponentRef, String) {
    let car = served.visitor().get("/api/v1/cars/4101").await.json();
    let mut places = car["positions"].as_array().unwrap().iter();
    let place = places.find(|one| !one["component"].is_null()).unwrap();
    let text = |value: &Value| value.as_str().unwrap().to_owned();
    let of = &place["component"];
    let component = component(&text(&of["part"]), &text(&of["serial"]));
    (component, text(&place["code"]))
}

/// Somebody judges it as of a time; answers with the entry.
async fn judge(served: &Served, it: &ComponentRef, as_what: Condition, when: &str) -> i64 {
    let said = command(at(when), judged(it, as_what));
    let engineer = person(Role::BrakeEngineer);
    let recorded = served.store.record(engineer, said, now()).await;
    recorded.unwrap().seq().0
}

async fn what_is_to_be_judged_again_is_told_beside_the_verdict_and_with_decisions(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let (it, code) = fitted(&served).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    judge(&served, &it, Unserviceable, "2026-11-21T10:00:00Z").await;
    judge(&served, &it, Serviceable, "2026-11-23T10:00:00Z").await;
    let before = controller.get("/trains/T1").await;
    assert_eq!(before.count(".warnings .judge_again"), 0);
    let first = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(first.status(), 200, "{}", first.text("main"));
    let late = judge(&served, &it, Quarantined, "2026-11-22T10:00:00Z").await;

    let train = controller.get("/trains/T1").await;
    let what = format!("car 4101 {code} ({it}, by what entry {late} tells).");
    let told = train.text(".warnings .judge_again");
    assert!(told.contains(&what), "{told}");
    let link = train.attribute(".warnings .judge_again a", "href");
    assert!(link.is_some_and(|to| to.starts_with("/components/")));
    let says = |page: &Page| page.texts(".verdict h2");
    assert_eq!(says(&train), says(&before), "no verdict counts it");
    let answer = controller.get("/api/v1/decision?train=T1").await.json();
    let mut warnings = answer["warnings"].as_array().unwrap().iter();
    let warned = warnings.find(|one| one["kind"] == "judge_again").unwrap();
    assert!(warned["text"].as_str().unwrap().contains(&what), "{answer}");
    let said = Place::on(url).run_on_database(&["decide", "--train", "T1"]);
    assert!(said.out.contains(&what), "{}", said.out);

    // Who decided before did not know of it.
    let since =
        format!("By what entry {late} tells since, a component on it is to be judged again");
    for path in ["/trains/T1", "/trains", "/isolations", first.path()] {
        let told = controller.get(path).await.text("main");
        assert!(told.contains(&since), "{path}: {told}");
    }
    let second = decide(&controller, "/trains/T1/decide").await;
    assert_eq!(second.status(), 200, "{}", second.text("main"));
    let paper = second.text(".paper-warnings");
    let short = format!("1 component is to be judged again, and no verdict counts it: {what}");
    assert!(paper.contains(&short), "{paper}");
    assert!(!second.text("main").contains("tells since"));
}

async fn cars_and_positions_tell_programs_what_is_to_be_judged_again(url: &str) {
    let served = Served::with_trains(url).await;
    let (it, code) = fitted(&served).await;
    judge(&served, &it, Unserviceable, "2026-11-21T10:00:00Z").await;
    let stands = judge(&served, &it, Serviceable, "2026-11-23T10:00:00Z").await;
    let late = judge(&served, &it, Quarantined, "2026-11-22T10:00:00Z").await;
    let words = format!("(entry {stands}) as serviceable stands");
    let visitor = served.visitor();
    let place = format!("positions/4101/{}", code.replace('=', "%3D"));
    for (path, doubts) in [
        ("cars/4101", 1),
        (&*place, 1),
        ("cars/4102", 0),
        ("cars/4101?at=2026-11-24T00:00:00Z", 0),
    ] {
        let told = visitor.get(&format!("/api/v1/{path}")).await.json();
        let again = told["judge_again"].as_array().unwrap();
        assert_eq!(again.len(), doubts, "{path}: {told}");
        let says = |one: &Value| one["why"].as_str().unwrap().contains("judge it again");
        assert!(again.iter().all(says), "{path}: {told}");
        let mut why = again.iter().map(|one| one["why"].as_str().unwrap());
        assert!(why.all(|why| why.contains(&words)), "{path}: {told}");
        let both = |one: &Value| one["entry"] == stands && one["told_by"] == late;
        assert!(again.iter().all(both), "{path}: {told}");
    }
}

each_database!(
    what_is_to_be_judged_again_is_told_beside_the_verdict_and_with_decisions,
    cars_and_positions_tell_programs_what_is_to_be_judged_again,
);
