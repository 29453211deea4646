//! A train as it was at a past time: how it was formed, what was cut out on it, and what is found about
//! it as at then.

use domain::people::Role;
use serde_json::{Value, json};
use tests::each_database;
use tests::page::Page;

use super::sample::Served;

/// Train T1, on which a cock was closed, and which was formed anew later, of its second unit alone;
/// both were told on 25 November.
async fn with_history(url: &str) -> Served {
    let served = Served::with_trains(url).await;
    let anew = json!({"train_formed": {"id": "T1", "vehicles": [{"unit": ["TM102", "forward"]}]}});
    let anew = ("2026-11-01T08:00:00Z".to_owned(), anew);
    served.import(vec![closed(), anew]).await;
    served
}

fn closed() -> (String, Value) {
    let closed = json!({"isolated": {"car": "4101", "position": "=BS1-QM1",
        "state": "closed_vented", "cause": "leaks"}});
    ("2026-10-01T08:00:00Z".to_owned(), closed)
}

/// As the register knew it before.
const BEFORE: &str = "known=2026-11-21T00:00:00Z";

fn cars(page: &Page) -> Vec<String> {
    page.texts("#formation + div tbody th")
}

fn cut_outs(page: &Page) -> usize {
    page.count("#cut-outs + div tbody tr")
}

async fn a_train_is_told_as_it_was_formed_and_cut_out_then(url: &str) {
    let served = with_history(url).await;
    let visitor = served.signed_in(Role::Controller).await;
    let both = ["4101", "4102", "4103", "4106", "4105", "4104"];
    let second = ["4104", "4105", "4106"];
    for (times, formed, closed) in [
        ("at=2026-09-30".to_owned(), &both[..], 0),
        ("at=2026-10-02".to_owned(), &both[..], 1),
        (format!("at=2026-10-02&{BEFORE}"), &both[..], 0),
        ("at=2026-11-02".to_owned(), &second[..], 0),
        (format!("at=2026-11-02&{BEFORE}"), &both[..], 0),
    ] {
        let page = visitor.get(&format!("/trains/T1?{times}")).await;
        assert_eq!(page.status(), 200, "{times}: {}", page.text("main"));
        assert_eq!(cars(&page), formed, "{times}");
        assert_eq!(cut_outs(&page), closed, "{times}");
        assert_eq!(page.count(".verdict"), 2, "{times}");
        let said = page.text(".caution[role=status]");
        assert!(said.contains("speaks of the past") && said.contains("no decision"));
        // Nothing can be decided, confirmed or supposed there.
        assert_eq!(page.count("main form[method=post], svg.train a"), 0);
        assert_eq!(page.count("a[href*='/decide'], a[href*='close=']"), 0);
    }
    for (asked, status) in [
        ("at=2026-02-01", 404),
        ("at=2026-11-26", 422),
        ("at=2026-10-02&close=4101%3A%3DBS1-QM1%3Afailed", 422),
        ("at=2026-10-02&formation=TM101", 422),
        ("at=&known=", 200),
    ] {
        let page = visitor.get(&format!("/trains/T1?{asked}")).await;
        assert_eq!(page.status(), status, "{asked}");
    }
    // The page of now leads there.
    let now = visitor.get("/trains/T1").await;
    let form = now.form("form.filters:has([name=known])");
    let then = visitor.submit(&form.fill("at", "2026-10-02")).await;
    assert_eq!((then.status(), cut_outs(&then)), (200, 1));
}

async fn what_is_found_as_at_now_is_what_stands_now(url: &str) {
    let served = Served::with_trains(url).await;
    served.import(vec![closed()]).await;
    let visitor = served.visitor();
    for train in ["T1", "T2"] {
        let told = async |times: &str| {
            let page = visitor.get(&format!("/trains/{train}{times}")).await;
            let verdicts = page.texts(".verdict h2");
            (
                verdicts,
                page.texts(".verdict dl"),
                page.texts(".warnings li"),
            )
        };
        let now = told("").await;
        assert_eq!(now.0.len(), 2, "{train}");
        assert_eq!(told("?at=2026-11-25T12:00:00Z").await, now, "{train}");
    }
}

async fn programs_are_told_the_same(url: &str) {
    let served = with_history(url).await;
    let visitor = served.visitor();
    let told = async |times: &str| {
        visitor
            .get(&format!("/api/v1/trains/T1?{times}"))
            .await
            .json()
    };
    let cut_out = |answer: &Value| answer["cars"][0]["isolations"].as_array().unwrap().len();
    let then = told("at=2026-10-02T00:00:00Z").await;
    assert_eq!(then["at"], "2026-10-02T00:00:00Z");
    assert_eq!(then["train"]["formed_at"], "2026-03-01T06:00:00Z");
    assert_eq!(then["cars"].as_array().unwrap().len(), 6);
    assert_eq!(then["cars"][0]["isolations"][0]["unit"], "TM101");
    assert_eq!(
        (
            cut_out(&then),
            then["found"]["impaired"].as_array().unwrap().len()
        ),
        (1, 1)
    );
    assert_eq!(then["found"]["verdicts"].as_array().unwrap().len(), 2);
    let before = told(&format!("at=2026-10-02T00:00:00Z&{BEFORE}")).await;
    assert_eq!(
        (cut_out(&before), &before["found"]["impaired"]),
        (0, &json!([]))
    );
    let now = told("").await;
    assert_eq!(now["found"], Value::Null);
    assert_eq!(now["cars"].as_array().unwrap().len(), 3);
    let early = visitor
        .get("/api/v1/trains/T1?at=2026-02-01T00:00:00Z")
        .await;
    assert_eq!(early.status(), 404);
}

async fn a_train_of_then_costs_a_bounded_number_of_statements(url: &str) {
    let served = with_history(url).await;
    let visitor = served.signed_in(Role::Controller).await;
    let path = format!("/trains/T1?at=2026-10-02&{BEFORE}");
    visitor.get(&path).await;
    served.statements.take();
    visitor.get(&path).await;
    let sent = served.statements.take();
    let sent: Vec<_> = sent.iter().filter(|sent| sent.contains("from")).collect();
    assert!(sent.len() <= 19, "{}\n{sent:#?}", sent.len());
}

each_database!(
    a_train_is_told_as_it_was_formed_and_cut_out_then,
    what_is_found_as_at_now_is_what_stands_now,
    programs_are_told_the_same,
    a_train_of_then_costs_a_bounded_number_of_statements,
);
