//! What pages and answers tell by what the register knew at a time: baselines, cut-outs, holds,
//! units, visits, modifications, what was away, test records and departures.

use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::record::founder;
use domain::people::Role;
use serde_json::{Value, json};
use store::Recorded;
use tests::each_database;
use tests::facts::at;
use tests::visitor::Visitor;
use uuid::Uuid;

use super::sample::{FIRST, SECOND, Served, VALVE};

/// As known before anything of a test was recorded, and between the first two entries of it.
const BEFORE: &str = "known=2026-11-25T12:00:30Z";
const BETWEEN: &str = "known=2026-11-25T12:01:30Z";
const PLACE: &str = "/positions/4101/%3DBS1-K1";

/// Records one more entry, a minute after the one before.
async fn record(served: &Served, corrects: Option<i64>, when: &str, fact: Value) -> i64 {
    served.pass(60);
    let now = served.visitor().get("/api/v1/cars/4201").await.json();
    let now = now["known"].as_str().unwrap().to_owned();
    let command = Command {
        id: Uuid::new_v4(),
        effective_at: at(when),
        reason: "for the test".to_owned(),
        corrects: corrects.map(Seq),
        fact: serde_json::from_value(fact).unwrap(),
    };
    let founder = founder("import".parse().unwrap());
    let recorded = served.store.record(founder, command, at(&now)).await;
    match recorded.unwrap() {
        Recorded::Now(entry) => entry.seq.0,
        other @ Recorded::Before(_) => panic!("{other:?}"),
    }
}

async fn answer(visitor: &Visitor, path: &str) -> Value {
    let answer = visitor.get(path).await;
    assert_eq!(answer.status(), 200, "{path}: {}", answer.body());
    answer.json()
}

/// Revision B of the car type, which approves nothing at the second place.
async fn revision(served: &Served) -> Value {
    let view = served.store.view().await.unwrap();
    let known = view.documents.car_types.values().next().unwrap();
    let mut revised = serde_json::to_value(&*known.document).unwrap();
    revised["revision"] = json!("B");
    let positions = revised["positions"].as_array_mut().unwrap();
    let second = positions.iter_mut().find(|one| one["code"] == SECOND);
    second.unwrap()["approved"] = json!([]);
    json!({"car_type_defined": revised})
}

async fn a_baseline_is_told_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let revised = revision(&served).await;
    record(&served, None, "2026-10-01T08:00:00Z", revised).await;
    let effective = json!({"revision_effective": {"car_type": "Motor car", "revision": "B",
        "cars": [{"first": "4101", "last": "4199"}], "from": "2026-11-01"}});
    record(&served, None, "2026-10-01T08:00:00Z", effective).await;
    let visitor = served.visitor();
    let told = async |times: &str| {
        let car = answer(&visitor, &format!("/api/v1/cars/4101?{times}")).await;
        let place = answer(&visitor, &format!("/api/v1{PLACE}?{times}")).await;
        let unit = answer(&visitor, &format!("/api/v1/units/41?{times}")).await;
        let all = [&car["car"], &place, &unit["cars"][0]];
        let all = all.map(|one| one["revision"].as_str().unwrap().to_owned());
        assert!(all.iter().all(|one| *one == all[0]), "{times}: {all:?}");
        all[0].clone()
    };
    assert_eq!(told("").await, "B");
    assert_eq!(told("at=2026-11-20T00:00:00Z").await, "B");
    assert_eq!(told("at=2026-10-20T00:00:00Z").await, "A");
    assert_eq!(told(BETWEEN).await, "A");
    assert_eq!(
        told(&format!("at=2026-11-20T00:00:00Z&{BEFORE}")).await,
        "A"
    );
    let page = visitor.get(&format!("/cars/4101?{BETWEEN}")).await;
    assert!(page.text("main").contains("baseline revision A"));
    let departs = async |times: &str| {
        let path = format!("/api/v1/departures?car=4101&{times}");
        let found = answer(&visitor, &path).await["departures"].clone();
        let found = found.as_array().unwrap().iter();
        let found = found.map(|one| one["kind"].as_str().unwrap().to_owned());
        found.collect::<Vec<_>>()
    };
    assert_eq!(departs("").await, ["not_approved"]);
    assert_eq!(departs("at=2026-11-20T00:00:00Z").await, ["not_approved"]);
    assert_eq!(departs("at=2026-10-20T00:00:00Z").await, [""; 0]);
    assert_eq!(departs(BETWEEN).await, [""; 0]);
    let page = visitor.get(&format!("/departures?unit=41&{BETWEEN}")).await;
    assert!(page.text(".caution").contains("speaks of the past"));
    // Of the unit's other car nothing was ever recorded at the second place.
    assert_eq!(page.texts("tbody th > a"), ["4102"]);
    let csv = page.attribute("a[href^='/departures.csv']", "href");
    assert!(csv.unwrap().contains("known=2026-11-25"), "{csv:?}");
    let csv = visitor.get(csv.unwrap()).await;
    assert_eq!(csv.body().lines().count(), 2, "{}", csv.body());
    let wrong = visitor.get("/departures?car=4101&known=tomorrow").await;
    assert_eq!((wrong.status(), wrong.count(".refusal")), (422, 1));
}

async fn a_cut_out_that_was_withdrawn_is_told_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let cut_out = json!({"isolated": {"car": "4101", "position": FIRST,
        "state": "closed_vented", "cause": "drags"}});
    let when = "2026-11-20T08:00:00Z";
    let wrong = record(&served, None, when, cut_out).await;
    record(&served, Some(wrong), when, json!("withdrawn")).await;
    let visitor = served.visitor();
    let told = async |times: &str| {
        let place = answer(&visitor, &format!("/api/v1{PLACE}?{times}")).await;
        let car = visitor.get(&format!("/cars/4101?{times}")).await;
        let unit = visitor.get(&format!("/units/41?{times}")).await;
        let on_pages = [&car, &unit].map(|page| page.text("main").contains("drags"));
        let told = place["isolations"].as_array().unwrap().len() == 1;
        assert_eq!(on_pages, [told; 2], "{times}");
        told
    };
    assert!(!told("").await);
    assert!(!told(BEFORE).await);
    assert!(told(BETWEEN).await);
    assert!(!told(&format!("at=2026-11-19T00:00:00Z&{BETWEEN}")).await);
    assert!(!told("at=2026-11-21T00:00:00Z").await);
}

async fn a_hold_is_told_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let hold = json!({"held_as_evidence": {"held": {"component": {"part": VALVE, "serial": "1"}},
        "investigation": "reference 7"}});
    let hold = record(&served, None, "2026-11-20T08:00:00Z", hold).await;
    let lifted = json!({"hold_lifted": {"hold": hold, "evidence": "closed"}});
    record(&served, None, "2026-11-22T08:00:00Z", lifted).await;
    let visitor = served.visitor();
    let told = async |times: &str| {
        let mut told = Vec::new();
        for path in ["cars/4101", "components/DV%2F210/1"] {
            let body = answer(&visitor, &format!("/api/v1/{path}?{times}")).await;
            told.push(body["held_by"] == json!([hold]));
        }
        for path in [PLACE, "/components/DV%2F210/1", "/units/41"] {
            let page = visitor.get(&format!("{path}?{times}")).await;
            told.push(page.text("main").contains("reference 7"));
        }
        assert!(told.iter().all(|one| *one == told[0]), "{times}: {told:?}");
        told[0]
    };
    assert!(!told("at=2026-11-23T00:00:00Z").await);
    assert!(told("at=2026-11-21T00:00:00Z").await);
    assert!(!told("at=2026-11-19T00:00:00Z").await);
    assert!(told(BETWEEN).await);
    assert!(!told(BEFORE).await);
}

async fn a_unit_and_its_visits_are_told_as_they_were(url: &str) {
    let served = Served::with_fleet(url).await;
    let visit = |from: &str, until: &str| {
        json!({"visit_planned": {"number": "V 1", "unit": "41", "depot": "North",
            "from": from, "until": until, "hours": 40, "modifications": []}})
    };
    let when = "2026-11-20T08:00:00Z";
    let first = record(&served, None, when, visit("2026-12-08", "2026-12-12")).await;
    let mut otherwise = visit("2026-12-15", "2026-12-18");
    otherwise["visit_planned"]["in_place_of"] = json!(first);
    record(&served, None, when, otherwise).await;
    let cancelled = json!({"visit_cancelled": {"visit": "V 1", "reason": "flooded"}});
    record(&served, None, when, cancelled).await;
    let alone = json!({"unit_formed": {"number": "41",
        "cars": [{"car": "4102", "orientation": "forward"}]}});
    record(&served, None, "2026-11-21T08:00:00Z", alone).await;
    let visitor = served.visitor();
    let until = async |times: &str| {
        let list = answer(&visitor, &format!("/api/v1/visits?unit=41&{times}")).await;
        let one = answer(&visitor, &format!("/api/v1/visits/V%201?{times}")).await;
        assert_eq!(list["visits"][0], one, "{times}");
        (one["until"].clone(), one["cancelled_by"].is_null())
    };
    assert_eq!(until("").await, (json!("2026-12-18"), false));
    assert_eq!(until(BETWEEN).await, (json!("2026-12-12"), true));
    let later = "known=2026-11-25T12:02:30Z";
    assert_eq!(until(later).await, (json!("2026-12-18"), true));
    let none = answer(&visitor, &format!("/api/v1/visits?{BEFORE}")).await;
    assert_eq!(none["visits"], json!([]));
    let unknown = visitor
        .get("/api/v1/visits/V%201?at=2026-11-19T00:00:00Z")
        .await;
    assert_eq!(unknown.status(), 404);
    let page = visitor.get(&format!("/visits?{BETWEEN}")).await;
    assert!(page.text("tbody").contains("2026-12-12"));
    assert!(!page.text("tbody").contains("cancelled"));
    let link = page.attribute("tbody th a", "href").unwrap();
    let planner = served.signed_in(Role::Planner).await;
    let one = planner.get(link).await;
    assert_eq!(one.fact("Goes"), "2026-12-12");
    assert!(one.text(".caution").contains("speaks of the past"));
    assert_eq!(one.count("form.fields"), 0, "nothing is recorded there");
    let then = visitor.get("/visits/V%201?at=2026-11-19T00:00:00Z").await;
    assert_eq!(then.status(), 404);
    let cars = async |times: &str| {
        let unit = answer(&visitor, &format!("/api/v1/units/41?{times}")).await;
        let page = visitor.get(&format!("/units/41?{times}")).await;
        let cars = unit["cars"].as_array().unwrap().len();
        assert_eq!(page.count("table.long tbody tr"), cars, "{times}");
        cars
    };
    assert_eq!(cars("").await, 1);
    assert_eq!(cars("at=2026-11-20T00:00:00Z").await, 2);
    assert_eq!(cars(later).await, 2);
    let due = visitor.get("/api/v1/due?unit=41&at=2026-11-20T00:00:00Z");
    assert!(due.await.body().contains("\"4101\""));
}

async fn a_modification_is_told_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let issued = json!({"modification_issued": {"number": "M-7", "title": "another label",
        "scope": {"cars": {"car_type": "Motor car", "cars": [{"first": "4101", "last": "4199"}]}},
        "by": "2026-12-31", "source": "invented for the tests"}});
    record(&served, None, "2026-11-01T08:00:00Z", issued).await;
    let when = "2026-11-20T08:00:00Z";
    let embodied = json!({"embodied": {"modification": "M-7", "subject": {"car": "4101"},
        "evidence": "order 12"}});
    let wrong = record(&served, None, when, embodied).await;
    record(&served, Some(wrong), when, json!("withdrawn")).await;
    let visitor = served.visitor();
    let done = async |times: &str| {
        let told = answer(&visitor, &format!("/api/v1/modifications/M-7?{times}")).await;
        let page = visitor.get(&format!("/modifications/M-7?{times}")).await;
        let embodied = told["units"][0]["embodied"].as_i64().unwrap();
        let left = told["left"].as_array().unwrap().len();
        assert_eq!(page.text("#progress"), format!("{embodied} of 2"));
        assert_eq!(embodied + i64::try_from(left).unwrap(), 2);
        embodied
    };
    assert_eq!(done("").await, 0);
    let while_held = "known=2026-11-25T12:02:30Z";
    assert_eq!(done(while_held).await, 1);
    assert_eq!(
        done(&format!("at=2026-11-19T00:00:00Z&{while_held}")).await,
        0
    );
    assert_eq!(done(BETWEEN).await, 0);
    let none = answer(&visitor, &format!("/api/v1/modifications?{BEFORE}")).await;
    assert_eq!(none["modifications"], json!([]));
    let gone = visitor
        .get(&format!("/api/v1/modifications/M-7?{BEFORE}"))
        .await;
    assert_eq!(gone.status(), 404);
    let page = visitor.get(&format!("/modifications?{BEFORE}")).await;
    assert!(
        page.text("main")
            .contains("No modification had been issued then")
    );
}

async fn what_was_away_is_told_as_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let works = json!({"location_defined": {"name": "Works", "kind": "contractor"}});
    record(&served, None, "2026-01-01T08:00:00Z", works).await;
    let store = json!({"location_defined": {"name": "Store North", "kind": "store"}});
    record(&served, None, "2026-01-01T08:00:00Z", store).await;
    let sent = json!({"relocated": {"component": {"part": VALVE, "serial": "10"},
        "to": "Works", "expected_on": "2026-11-15"}});
    record(&served, None, "2026-11-10T08:00:00Z", sent).await;
    let back = json!({"relocated": {"component": {"part": VALVE, "serial": "10"},
        "to": "Store North"}});
    record(&served, None, "2026-11-20T08:00:00Z", back).await;
    let visitor = served.visitor();
    let overdue = async |times: &str| {
        let told = answer(&visitor, &format!("/api/v1/away?{times}")).await;
        let page = visitor.get(&format!("/away?{times}")).await;
        let away = told["away"].as_array().unwrap();
        assert_eq!(page.count("tbody tr"), away.len(), "{times}");
        let days = away.iter().map(|one| one["overdue_days"].as_i64());
        days.collect::<Vec<_>>()
    };
    assert_eq!(overdue("").await, []);
    assert_eq!(overdue("at=2026-11-12T00:00:00Z").await, [None]);
    assert_eq!(overdue("at=2026-11-18T00:00:00Z").await, [Some(3)]);
    assert_eq!(overdue("known=2026-11-25T12:03:30Z").await, [Some(10)]);
    assert_eq!(overdue(BETWEEN).await, []);
}

async fn a_test_record_is_told_from_when_it_was_known(url: &str) {
    let served = Served::with_fleet(url).await;
    let procedure = json!({"procedure_defined": {
        "code": "P-1", "revision": "A", "title": "bench test", "applies_to": {"part": VALVE},
        "source": "invented for the tests", "task": "TS-DV", "measurands": [{"name": "pressure",
        "unit": "bar", "role": "result", "bounds": {"lower": "3", "upper": "4"}}]}});
    record(&served, None, "2026-01-01T08:00:00Z", procedure).await;
    let tested = json!({"test_recorded": {
        "id": "T-1", "subject": {"component": {"part": VALVE, "serial": "1"}}, "procedure": "P-1",
        "revision": "A", "at": "2026-11-20T08:00:00Z", "tester": "A. Tester",
        "instrument": {"number": "G-7", "calibrated_until": "2026-12-31"},
        "values": [{"measurand": "pressure", "value": "2.5"}]}});
    let wrong = record(&served, None, "2026-11-20T08:00:00Z", tested.clone()).await;
    let visitor = served.visitor();
    let status = async |times: &str| {
        let path = format!("/test-records/T-1?{times}");
        let page = visitor.get(&path).await.status();
        assert_eq!(visitor.get(&format!("/api/v1{path}")).await.status(), page);
        page
    };
    assert_eq!(status("").await, 200);
    assert_eq!(status("at=2026-11-21T00:00:00Z").await, 200);
    assert_eq!(status("at=2026-11-19T00:00:00Z").await, 404);
    assert_eq!(status(BETWEEN).await, 404);
    assert_eq!(status("known=2030-01-01T00:00:00Z").await, 422);

    // Of a record that was corrected since, what it said then.
    let mut right = tested;
    right["test_recorded"]["values"][0]["value"] = json!("3.5");
    record(&served, Some(wrong), "2026-11-20T08:00:00Z", right).await;
    for (times, value, outcome) in [
        ("", "3.5", "passed"),
        ("known=2026-11-25T12:02:30Z", "2.5", "failed"),
    ] {
        let path = format!("/test-records/T-1?{times}");
        let told = answer(&visitor, &format!("/api/v1{path}")).await;
        assert_eq!(told["test"]["outcome"], outcome, "{times}");
        assert_eq!(told["values"][0]["value"], value, "{times}");
        let page = visitor.get(&path).await;
        assert!(page.body().contains(&format!("{value} bar")), "{times}");
        let past = usize::from(!times.is_empty());
        assert_eq!(page.count(".caution"), past, "{times}");
    }
    assert_eq!(status(BETWEEN).await, 404);
}

each_database!(
    a_baseline_is_told_as_it_was_known,
    a_cut_out_that_was_withdrawn_is_told_as_it_was_known,
    a_hold_is_told_as_it_was_known,
    a_unit_and_its_visits_are_told_as_they_were,
    a_modification_is_told_as_it_was_known,
    what_was_away_is_told_as_it_was_known,
    a_test_record_is_told_from_when_it_was_known,
);
