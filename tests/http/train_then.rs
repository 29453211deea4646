//! Trains as they were at a past time: how they were formed, what was cut out on one, and what is found
//! about it as at then, also with something supposed.

use domain::people::Role;
use serde_json::{Value, json};
use store::read::trains::TRAINS_MAX;
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
        // Nothing can be decided, confirmed or recorded there.
        assert_eq!(page.count("main form[method=post]"), 0);
        assert_eq!(page.count("main a[href*='/decide']"), 0);
        assert_eq!(page.count("main a[href^='/isolations']"), 0);
    }
    for (asked, status) in [
        ("at=2026-02-01", 404),
        ("at=2026-11-26", 422),
        ("at=2026-10-02&close=4101%3A%3DBS1-QM1%3Aloose", 422),
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

/// A closed end cock in train T2.
const SUPPOSED: &str = "close=5104%3A%3DBP-QM2%3Aclosed_trapped";

async fn something_is_supposed_of_a_train_of_then_and_nothing_is_recorded(url: &str) {
    let served = with_history(url).await;
    let visitor = served.signed_in(Role::Controller).await;
    let stood = visitor.get("/trains/T1?at=2026-10-02").await;
    let tags = stood.texts(".verdict .what-if-tag");
    assert_eq!(tags, ["As at then"; 2]);
    let of_4102 = stood.attributes("svg.train a[href*='close=4102']", "href");
    let click = of_4102[0].to_owned();
    assert!(click.contains("at=2026-10-02"), "{click}");
    let supposed = visitor.get(&click).await;
    assert_eq!(supposed.status(), 200, "{}", supposed.text("main"));
    assert_eq!(supposed.texts(".what-if-tag")[0], "What if, as at then");
    assert_eq!(supposed.count(".what-if-banner li"), 1);
    // What was cut out then still is, and nothing of now is told.
    assert_eq!((cars(&supposed).len(), cut_outs(&supposed)), (6, 1));
    assert_eq!(supposed.count("main form[method=post]"), 0);
    assert_eq!(supposed.count("main a[href^='/isolations']"), 0);
    let back = supposed.attribute(".what-if-banner li a", "href");
    assert_eq!(back, Some("/trains/T1?at=2026-10-02"));
    // The form of the page asks otherwise about the same time and the same supposition.
    let form = supposed.form("form.question-form").fill("speed", "40");
    let asked = visitor.submit(&form).await;
    assert_eq!(asked.status(), 200, "{}", asked.text("main"));
    assert_eq!(asked.texts(".what-if-tag")[0], "What if, as at then");
    assert_eq!(cars(&asked).len(), 6);
    // As supposed of then is as supposed of now where nothing was changed since.
    let figures = async |path: &str| visitor.get(path).await.texts("#percentage td");
    let now = figures(&format!("/trains/T2?{SUPPOSED}")).await;
    let then = figures(&format!("/trains/T2?at=2026-11-25T12:00:00Z&{SUPPOSED}")).await;
    assert_eq!(then, now);
}

async fn any_formation_is_judged_as_it_would_have_been(url: &str) {
    let served = with_history(url).await;
    let visitor = served.visitor();
    for (times, closed) in [
        ("at=2026-09-30".to_owned(), 0),
        ("at=2026-10-02".to_owned(), 1),
        (format!("at=2026-10-02&{BEFORE}"), 0),
    ] {
        let path = format!("/decision?formation=4101,4102&{times}");
        let page = visitor.get(&path).await;
        assert_eq!(page.status(), 200, "{times}: {}", page.text("main"));
        assert_eq!(page.text("h1"), "Formation 4101,4102, as it was");
        assert_eq!(cars(&page), ["4101", "4102"], "{times}");
        assert_eq!(cut_outs(&page), closed, "{times}");
        let said = page.text(".caution[role=status]");
        assert!(said.contains("speaks of the past") && said.contains("no decision"));
    }
    // The page of now asks the same of another time, and back.
    let now = "/decision?formation=4101%2C4102&speed=40";
    let page = visitor.get(now).await;
    let form = page.form("form.filters:has([name=known])");
    let then = visitor.submit(&form.fill("at", "2026-10-02")).await;
    assert_eq!((then.status(), cut_outs(&then)), (200, 1));
    assert_eq!(then.form("form.question-form").values("speed"), ["40"]);
    assert_eq!(then.attribute(".trail a:last-child", "href"), Some(now));
    // Before they were registered there were no such cars.
    let early = visitor.get("/decision?formation=4101&at=2001-01-01").await;
    assert_eq!(early.status(), 404);
}

async fn further_questions_are_answered_about_a_train_of_then(url: &str) {
    let served = with_history(url).await;
    let visitor = served.visitor();
    let stood = visitor.get("/trains/T1?at=2026-10-02").await;
    let further = stood.attributes("nav.usual a", "href");
    assert_eq!(further.len(), 6);
    for path in further {
        assert!(path.contains("at=2026-10-02"), "{path}");
        let page = visitor.get(path).await;
        assert_eq!(page.status(), 200, "{path}: {}", page.text("main"));
        let said = page.text(".caution[role=status]");
        assert!(said.contains("speaks of the past"), "{path}: {said}");
        assert!(page.text("h1").contains("as at"), "{path}");
    }
    // Its file is named by its time, and says it.
    let file = "/trains/T1/weak-points.csv?at=2026-10-02";
    let file = visitor.get(file).await;
    assert_eq!(file.status(), 200);
    let name = file.header("content-disposition").unwrap();
    assert!(name.contains("weak-points-as-at-2026-10-02T"), "{name}");
    let first = file.body().lines().nth(1).unwrap();
    assert!(first.contains("Train T1 as at 2026-10-02"), "{first}");
    // The formation and the cut-outs of then are drawn.
    let blocks = async |times: &str| {
        let page = visitor.get(&format!("/trains/T1/circuit?{times}")).await;
        let told = page.text("ol.blocks");
        (page.count("ol.blocks li"), told.matches("cut out").count())
    };
    assert_eq!(blocks("at=2026-10-02").await, (6, 1));
    assert_eq!(blocks("at=2026-09-30").await, (6, 0));
    assert_eq!(blocks("").await, (3, 0));
    let other = "/decision/circuit?formation=4101,4102&at=2026-10-02";
    assert_eq!(visitor.get(other).await.count("ol.blocks li"), 2);
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
                page.texts(".warnings li:not(.overdue_unknown)"),
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
    // What is found as at then is also an answer by itself, and to further questions.
    let then = "at=2026-10-02T00:00:00Z";
    let ask = async |path: &str| visitor.get(&format!("/api/v1/{path}&{then}")).await.json();
    let stood = ask("decision?train=T1").await;
    assert_eq!(stood["standing"], "as_it_stood");
    assert_eq!(stood["cars"].as_array().unwrap().len(), 6);
    assert_eq!(stood["impaired"].as_array().unwrap().len(), 1);
    let supposed = ask("decision?train=T1&close=4102:%3DBS1-QM1:closed_vented").await;
    assert_eq!(supposed["standing"], "what_if_then");
    assert_eq!(supposed["impaired"].as_array().unwrap().len(), 2);
    let formation = ask("decision?formation=TM101").await;
    assert_eq!(formation["impaired"].as_array().unwrap().len(), 1);
    let twice = format!("/api/v1/decision?train=T1&{then}&{then}");
    assert_eq!(visitor.get(&twice).await.status(), 422);
    let looked = ask("weak-points?train=T1").await;
    assert!(looked["missing"].is_array(), "{looked}");
}

async fn trains_are_listed_as_they_were_formed(url: &str) {
    let served = Served::with_trains(url).await;
    let anew = json!({"train_formed": {"id": "T9", "vehicles": [{"unit": ["TM102", "forward"]}]}});
    let at = "2026-11-01T08:00:00Z".to_owned();
    served.import(vec![(at, anew)]).await;
    let visitor = served.visitor();
    for (at, trains, later) in [
        ("2026-02-01", &[][..], 0),
        ("2026-10-01", &["T1", "T2"][..], 0),
        ("2026-11-02", &["T1", "T2", "T9"][..], 1),
    ] {
        let page = visitor.get(&format!("/trains?at={at}")).await;
        assert_eq!(page.texts("tbody th"), trains, "{at}");
        assert_eq!(page.count("tbody td strong"), later, "{at}");
        assert!(page.text(".caution").contains("speaks of the past"));
        let href = format!("/trains/T1?at={at}");
        let links = page.attributes("tbody th a", "href");
        assert_eq!(links.len(), trains.len());
        assert!(links.first().is_none_or(|first| *first == href));
        assert_eq!(page.count("main form[method=post]"), 0);
        let program = format!("/api/v1/trains?at={at}T00:00:00Z");
        let told = visitor.get(&program).await.json();
        let listed = told["trains"].as_array().unwrap().iter();
        assert!(listed.map(|train| &train["id"]).eq(trains), "{told}");
    }
    // The page of the train warns of it, and programs are told.
    for (at, later) in [("2026-10-01", &[][..]), ("2026-11-02", &["T9"][..])] {
        let page = visitor.get(&format!("/trains/T1?at={at}")).await;
        assert_eq!(page.texts(".formed-later a"), later, "{at}");
        let at = format!("{at}T00:00:00Z");
        for path in ["trains/T1?", "decision?train=T1&"] {
            let told = visitor.get(&format!("/api/v1/{path}at={at}")).await.json();
            let told = told["formed_later"].as_array().unwrap().iter();
            assert!(told.eq(later), "{path} {at}");
        }
    }
    let known = "/trains?at=2026-11-02&known=2026-11-21T00:00:00Z";
    let before = visitor.get(known).await;
    assert_eq!(before.texts("tbody th"), ["T1", "T2"]);
    assert_eq!(visitor.get("/trains?at=").await.status(), 200);
}

async fn the_first_trains_are_listed_and_it_is_said_that_there_are_more(url: &str) {
    let served = Served::with_trains(url).await;
    let formed = (0..TRAINS_MAX).map(|number| {
        let id = format!("N{number:03}");
        let train =
            json!({"train_formed": {"id": id, "vehicles": [{"unit": ["TM102", "forward"]}]}});
        ("2026-11-01T08:00:00Z".to_owned(), train)
    });
    served.import(formed.collect()).await;
    let visitor = served.visitor();
    let page = visitor.get("/trains?at=2026-11-02").await;
    assert_eq!(page.count("tbody th"), TRAINS_MAX);
    let said = page.text("main");
    assert!(said.contains("there were 2 more"), "{said}");
    // Each tells the last of those formed later alone.
    assert_eq!(page.count("tbody td strong"), TRAINS_MAX - 1);
    assert_eq!(page.count("tbody td strong a"), TRAINS_MAX - 1);
    for times in ["", "?at=2026-11-02T00:00:00Z"] {
        let told = visitor.get(&format!("/api/v1/trains{times}")).await;
        let told = told.json();
        assert_eq!(told["trains"].as_array().unwrap().len(), TRAINS_MAX);
        assert_eq!(told["more"], true, "{times}");
    }
    let before = visitor.get("/api/v1/trains?at=2026-10-02T00:00:00Z").await;
    assert_eq!(before.json()["more"], false);
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
    assert!(sent.len() <= 20, "{}\n{sent:#?}", sent.len());
}

each_database!(
    the_first_trains_are_listed_and_it_is_said_that_there_are_more,
    trains_are_listed_as_they_were_formed,
    something_is_supposed_of_a_train_of_then_and_nothing_is_recorded,
    any_formation_is_judged_as_it_would_have_been,
    further_questions_are_answered_about_a_train_of_then,
    a_train_is_told_as_it_was_formed_and_cut_out_then,
    what_is_found_as_at_now_is_what_stands_now,
    programs_are_told_the_same,
    a_train_of_then_costs_a_bounded_number_of_statements,
);
