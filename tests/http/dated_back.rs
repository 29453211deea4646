//! What people agree on may hold from a day long past: pages tell from when it holds, and when that
//! was recorded.

use domain::configuration::concession::{Allowed, Concession};
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::{Actor, Role};
use serde_json::{Value, json};
use store::Recorded;
use tests::each_database;
use tests::facts::at;
use uuid::Uuid;

use super::sample::{SECOND, Served};

/// Records what a brake engineer says, as at one time, at another.
async fn say(served: &Served, who: &str, (from, recorded): (&str, &str), fact: Fact) -> Seq {
    let command = Command {
        id: Uuid::new_v4(),
        effective_at: at(from),
        reason: "for the test".to_owned(),
        corrects: None,
        fact,
    };
    let person = Actor::account(who.parse().unwrap(), vec![Role::BrakeEngineer]);
    let said = served.store.record(person, command, at(recorded)).await;
    match said.unwrap() {
        Recorded::Now(entry) => entry.seq,
        other @ Recorded::Before(_) => panic!("{other:?}"),
    }
}

/// An earlier valve is allowed at the second place of car 4102.
fn concession(number: &str) -> Fact {
    Fact::Proposed(Proposal::Concession(Concession {
        number: number.parse().unwrap(),
        cars: "4102".parse().unwrap(),
        position: SECOND.parse().unwrap(),
        allows: Allowed::Part("DV/200".parse().unwrap()),
        values: None,
        reason: "until stock arrives".to_owned(),
        until: "2026-12-31".parse().unwrap(),
    }))
}

/// A concession that two people agreed on at noon and a few minutes, for the sixth of January, and
/// withdrawn for the first of June; and another that waits.
async fn with_concession(url: &str) -> Served {
    let served = Served::with_fleet(url).await;
    let part = json!({"part_defined": {"number": "DV/200", "title": "earlier valve",
        "kind": "distributor_valve"}});
    served
        .import(vec![("2025-11-01T08:00:00Z".to_owned(), part)])
        .await;
    served.pass(20 * 60);
    let proposed = ("2026-01-05T08:00Z", "2026-11-25T12:10Z");
    let proposal = say(&served, "Fern", proposed, concession("C-7")).await;
    let approved = ("2026-01-06T08:00Z", "2026-11-25T12:11Z");
    say(&served, "Alder", approved, Fact::Approved { proposal }).await;
    let number = "C-7".parse().unwrap();
    let withdrawn = Fact::ConcessionWithdrawn { number };
    let ended = ("2026-06-01T08:00Z", "2026-11-25T12:12Z");
    say(&served, "Fern", ended, withdrawn).await;
    let waits = ("2026-02-01T08:00Z", "2026-11-25T12:13Z");
    say(&served, "Fern", waits, concession("C-8")).await;
    served
}

async fn both_times_stand_where_an_approval_is_told(url: &str) {
    let served = with_concession(url).await;
    let visitor = served.visitor();
    let approved = "2026-01-06 08:00 +00:00 recorded 2026-11-25 12:11 +00:00";
    let history = visitor.get("/concessions/C-7").await;
    let granted = history.text("table.long tbody tr:first-child");
    assert!(granted.contains(approved), "{granted}");
    let proposed = "Fern for 2026-01-05 08:00 +00:00, recorded 2026-11-25 12:10 +00:00";
    assert!(granted.contains(proposed), "{granted}");
    let approvals = visitor.get("/approvals").await;
    let decided = approvals.text("table.long tbody");
    assert!(decided.contains(approved), "{decided}");
    let waits = "for 2026-02-01 08:00 +00:00, recorded 2026-11-25 12:13 +00:00";
    assert_eq!(approvals.fact("On"), waits);
    // The fleet was brought in at noon, from an earlier day.
    let design = visitor.get("/car-types/Motor%20car/A").await;
    let defined = "for 2023-12-01 08:00 +00:00, recorded 2026-11-25 12:00 +00:00";
    assert!(
        design.text("main").contains(defined),
        "{}",
        design.text("main")
    );
}

/// What stands in the list of concessions, on its page and for programs.
async fn listed(served: &Served, times: &str) -> (Vec<String>, Value) {
    let visitor = served.visitor();
    let page = visitor.get(&format!("/concessions{times}")).await;
    assert_eq!(page.status(), 200, "{times}");
    let at = times.replace("-01-05", "-01-05T00:00:00Z");
    let at = at.replace("-03-01", "-03-01T00:00:00Z");
    let answer = visitor.get(&format!("/api/v1/concessions{at}")).await;
    let mut answer = answer.json();
    (page.texts("tbody .state"), answer["concessions"].take())
}

async fn concessions_stand_as_they_stood(url: &str) {
    let served = with_concession(url).await;
    for (times, standing) in [
        ("", Some("withdrawn")),
        ("?at=2026-01-05", None),
        ("?at=2026-03-01", Some("in force")),
        ("?at=2026-03-01&known=2026-11-25T12:10:30Z", None),
    ] {
        let (page, answer) = listed(&served, times).await;
        assert_eq!(page.first().map(String::as_str), standing, "{times}");
        let answer = answer.as_array().unwrap();
        assert_eq!(answer.len(), page.len(), "{times}");
        if let Some(one) = answer.first() {
            let words = one["standing"].as_str().unwrap().replace('_', " ");
            assert_eq!(Some(words.as_str()), standing, "{times}");
            assert_eq!(one["positions"].is_null(), !times.is_empty(), "{times}");
        }
    }
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let none = engineer.get("/concessions/C-7?at=2026-01-05").await;
    assert_eq!(none.status(), 404);
    let then = engineer.get("/concessions/C-7?at=2026-03-01").await;
    assert_eq!(then.fact("Standing"), "in force");
    assert_eq!(then.fact("Positions under it"), "not told here");
    assert_eq!(then.count("form.fields"), 0, "nothing is recorded there");
}

each_database!(
    both_times_stand_where_an_approval_is_told,
    concessions_stand_as_they_stood,
);
