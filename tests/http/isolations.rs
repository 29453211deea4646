//! The board of cut-outs, and how a cut-out comes into force and ends: only by a passed test.

use domain::people::Role;
use serde_json::json;
use tests::each_database;
use tests::form::Form;
use tests::page::Page;
use tests::visitor::Visitor;

use super::sample::Served;

/// Records a cut-out by its form.
pub(crate) async fn record(visitor: &Visitor, car: &str, fields: &[(&str, &str)]) -> Page {
    let page = visitor.get(&format!("/isolations/new?car={car}")).await;
    let form = fields
        .iter()
        .fold(page.form("#new form"), |form, (name, value)| {
            form.fill(name, value)
        });
    visitor.submit_and_agree(&form).await
}

/// A cut-out of the leading bogie of a trailer.
pub(crate) const CYLINDER_COCK: [(&str, &str); 4] = [
    ("position", "=BS1-QM1"),
    ("state", "closed_vented"),
    ("cause", "brake does not release"),
    ("at", "2026-11-25 11:00"),
];

/// The form of the trailer's brake test with values that lie within all limits, but for the pads.
pub(super) async fn test_form(visitor: &Visitor, id: &str, pads: &str) -> Form {
    let page = visitor.get("/tests/new?car=4102").await;
    let procedure = page.attribute("main li a", "href").unwrap().to_owned();
    let page = visitor.get(&procedure).await;
    let mut form = page
        .form("form.test-form")
        .fill("id", id)
        .fill("instrument", "G-17")
        .fill("calibrated_until", "2027-01-31");
    for (place, measured) in page.texts(".measured label").iter().enumerate() {
        let value = match measured.as_str() {
            "main reservoir pipe pressure (a condition of the test)" => "9",
            "outside temperature (a condition of the test)" => "12",
            "thinnest brake pad" => pads,
            pressure if pressure.ends_with("full service, minimum load") => "2.5",
            pressure if pressure.ends_with("full service, normal load") => "2.9",
            pressure if pressure.ends_with("full service, maximum load") => "3.3",
            pressure if pressure.ends_with("emergency, normal load") => "3.1",
            _ => "0.1",
        };
        form = form.fill(&format!("value_{place}"), value);
    }
    form
}

/// Sends such a form, to be recorded or judged alone.
pub(super) async fn send_test(visitor: &Visitor, form: &Form, button: &str) -> Page {
    let mut fields = form.fields().to_vec();
    fields.push(("do".to_owned(), button.to_owned()));
    let request = visitor.request(reqwest::Method::POST, "/tests/new");
    visitor.send(request.form(&fields)).await
}

async fn test(visitor: &Visitor, id: &str, pads: &str, button: &str) -> Page {
    let form = test_form(visitor, id, pads).await;
    send_test(visitor, &form, button).await
}

/// A brake test of car 4102 that passes.
pub(crate) async fn passed_test(visitor: &Visitor, id: &str) -> Page {
    test(visitor, id, "20", "record").await
}

async fn an_empty_board_says_so(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served.visitor().get("/isolations").await;
    assert!(page.text(".done").contains("No cut-out is in force"));
    assert_eq!(page.count("table"), 0);
}

async fn a_cut_out_that_was_recorded_stands_on_the_board_with_a_verdict(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let board = record(&controller, "4102", &CYLINDER_COCK).await;
    assert_eq!((board.status(), board.path()), (200, "/isolations"));
    assert_eq!(board.texts(".board-place h2"), ["Train T1"]);
    let row = board.texts(".cut-outs tbody td");
    assert!(row[0].starts_with("1 h 0 min") && row[0].ends_with("2026-11-25 11:00 +00:00"));
    assert!(row[1].starts_with("=BS1-QM1") && row[1].contains("brake cylinders of bogie 1"));
    assert_eq!(row[2], "✕ closed vented");
    assert!(row[3].starts_with("brake does not release"));
    let verdicts = board.texts(".verdict-line");
    assert_eq!(verdicts.len(), 2);
    assert!(
        verdicts
            .iter()
            .all(|line| line.contains("May run with restrictions")),
        "{verdicts:?}"
    );
    // Two steps from the train to all that leads to its verdict.
    let link = board.attribute(".board-place h2 a", "href").unwrap();
    let decision = controller.get(link).await;
    assert_eq!(
        decision.texts("#percentage tr:first-child td strong"),
        ["142.08 %"]
    );
    assert!(
        decision
            .text(".stands")
            .contains("1 cut-out in force on it")
    );
    // By the label that stands on the car, as whoever looks for it does.
    let listed = decision.texts("table.in-force tbody td");
    assert_eq!(listed[0], "B1");
    assert!(listed[1].starts_with("=BS1-QM1"), "{listed:?}");
    let train = controller.get("/trains").await;
    assert_eq!(
        train.texts("tbody tr:first-child td:nth-child(3)"),
        ["✕ 1 cut-out? not decided since the cut-out of 2026-11-25 11:00 +00:00"]
    );
}

async fn what_is_wrong_is_said_beside_each_field_and_nothing_is_recorded(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    let page = record(&controller, "4102", &[("at", "yesterday")]).await;
    assert_eq!(page.status(), 422);
    for field in ["position", "state", "at"] {
        assert_eq!(page.count(&format!("#new-{field}-wrong")), 1, "{field}");
    }
    let page = record(
        &controller,
        "4102",
        &[("position", "=BS1-QM1"), ("state", "failed")],
    )
    .await;
    assert!(
        page.text(".refusal").contains("how it was found: "),
        "{}",
        page.text(".refusal")
    );
    assert_eq!(controller.get("/isolations").await.count("table"), 0);
    let recorded = record(&controller, "4102", &CYLINDER_COCK).await;
    assert_eq!(recorded.status(), 200);
    let again = record(&controller, "4102", &CYLINDER_COCK).await;
    assert_eq!(again.status(), 422);
    let refusal = again.text(".refusal");
    assert!(
        refusal.contains("end that cut-out first, or correct it"),
        "{refusal}"
    );
    assert!(
        again
            .attribute(".refusal a", "href")
            .unwrap()
            .starts_with("/ledger/")
    );
    assert_eq!(
        controller.get("/isolations/new?car=4999").await.status(),
        404
    );
}

async fn a_cut_out_ends_only_by_a_test_that_passed_since(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    record(&technician, "4102", &CYLINDER_COCK).await;
    let page = technician
        .get("/isolations/end?car=4102&position=%3DBS1-QM1")
        .await;
    assert!(
        page.text("main")
            .contains("No test of car 4102 passed since")
    );
    let form = page.form("#end form").fill("proved_by", "T-0");
    let refused = technician.submit(&form).await;
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text(".refusal")
            .contains("test record T-0 is not in the register")
    );

    let failed = test(&technician, "T-1", "4", "record").await;
    assert_eq!(
        (failed.path(), failed.text(".verdict h2").as_str()),
        ("/test-records/T-1", "✕ Failed")
    );
    let told = technician.get("/api/v1/test-records/T-1").await.json();
    assert_eq!(
        (&told["car"], &told["test"]["outcome"]),
        (&"4102".into(), &"failed".into())
    );
    let values = told["values"].as_array().unwrap();
    let off: Vec<_> = values
        .iter()
        .filter(|one| one["finding"] != "within")
        .collect();
    assert_eq!(off.len(), 1, "{told}");
    assert_eq!(
        (&off[0]["limits"], &off[0]["finding"]),
        (&"at least 12 mm".into(), &"too low".into())
    );
    let form = refused.form("#end form").fill("proved_by", "T-1");
    let refused = technician.submit(&form).await;
    assert!(
        refused
            .text(".refusal")
            .contains("a passed test of car 4102"),
        "{}",
        refused.text(".refusal")
    );
    assert_eq!(technician.get("/isolations").await.count(".cut-outs"), 1);

    let passed = test(&technician, "T-2", "20", "record").await;
    assert_eq!(passed.text(".verdict h2"), "✓ Passed");
    let page = technician
        .get("/isolations/end?car=4102&position=%3DBS1-QM1")
        .await;
    let form = page.form("#end form");
    assert_eq!(
        form.values("proved_by"),
        ["T-2"],
        "the passed test is offered"
    );
    let board = technician.submit(&form).await;
    assert_eq!((board.path(), board.count(".cut-outs")), ("/isolations", 0));
    let gone = technician
        .get("/isolations/end?car=4102&position=%3DBS1-QM1")
        .await;
    assert_eq!(gone.status(), 404);
}

async fn a_test_that_was_failed_is_told_beside_the_verdict_until_one_passes(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    test(&technician, "T-1", "4", "record").await;
    let train = technician.get("/trains/T1").await;
    let told = "A test was failed and none by the same procedure passed since: car 4102 BT-TM-T \
                (test record T-1).";
    assert_eq!(train.texts(".warnings .failed_test"), [told]);
    let answer = technician.get("/api/v1/decision?train=T1").await.json();
    assert_eq!(answer["warnings"][0]["kind"], "failed_test", "{answer}");
    test(&technician, "T-2", "20", "record").await;
    let train = technician.get("/trains/T1").await;
    assert_eq!(train.count(".warnings .failed_test"), 0);
}

async fn a_test_can_be_judged_without_being_recorded(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let last = served.store.view().await.unwrap().last_entry;
    let judged = test(&technician, "T-1", "4", "judge").await;
    assert_eq!(
        (judged.status(), judged.text(".verdict h2").as_str()),
        (200, "✕ Failed")
    );
    let rows = judged.texts(".verdict tbody th");
    let pads = rows
        .iter()
        .position(|name| name == "thinnest brake pad")
        .unwrap()
        + 1;
    let cells = judged.texts(&format!(".verdict tbody tr:nth-child({pads}) td"));
    assert_eq!(cells, ["at least 12 mm", "4 mm", "✕ too low"]);
    assert_eq!(
        judged.form("form.test-form").values("id"),
        ["T-1"],
        "what was typed is still there"
    );
    assert_eq!(served.store.view().await.unwrap().last_entry, last);
    assert_eq!(technician.get("/test-records/T-1").await.status(), 404);
}

async fn values_typed_for_another_revision_of_the_procedure_are_not_taken(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician
        .get("/tests/new?car=4102&procedure=BT-TM-T")
        .await;
    let mut fields = page.form("form.test-form").fields().to_vec();
    for field in &mut fields {
        if field.0 == "revision" {
            "0".clone_into(&mut field.1);
        }
    }
    fields.push(("do".to_owned(), "record".to_owned()));
    let request = technician.request(reqwest::Method::POST, "/tests/new");
    let refused = technician.send(request.form(&fields)).await;
    assert_eq!(refused.status(), 403);
    assert!(refused.text(".refusal").contains("open the page again"));
}

async fn only_those_who_may_record_see_the_forms_and_others_are_refused(url: &str) {
    let served = Served::with_trains(url).await;
    let auditor = served.signed_in(Role::Auditor).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    for path in [
        "/isolations/new?car=4102",
        "/isolations/end?car=4102&position=%3DBS1-QM1",
        "/tests/new?car=4102&procedure=BT-TM-T",
        "/trains",
        "/isolations",
    ] {
        let page = auditor.get(path).await;
        assert_eq!(
            (page.status(), page.count("main form[method=post]")),
            (200, 0),
            "{path}"
        );
    }
    let page = auditor.get("/isolations").await;
    assert_eq!(page.count("a[href^='/isolations/end']"), 0);
    let token = page.form(".person form").values("form_token")[0].to_owned();
    let fields = [
        ("form_token", token.as_str()),
        ("car", "4103"),
        ("position", "=BS1-QM1"),
        ("state", "failed"),
        ("cause", "tried"),
    ];
    let request = auditor.request(reqwest::Method::POST, "/isolations/new");
    assert_eq!(auditor.send(request.form(&fields)).await.status(), 403);
}

async fn a_car_that_left_its_train_stands_on_the_board_by_itself(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let shorter = json!({"unit_formed": {"number": "TM101", "cars": [
        {"car": "4101", "orientation": "forward"}, {"car": "4103", "orientation": "forward"}]}});
    served
        .import(vec![("2026-11-25T11:30:00Z".to_owned(), shorter)])
        .await;
    let board = controller.get("/isolations").await;
    assert_eq!(
        board.texts(".board-place h2"),
        ["Car 4102, in no unit and no train"]
    );
    assert_eq!(board.texts(".cut-outs th[scope=row]"), ["4102"]);
    let train = controller.get("/trains/T1").await;
    assert!(
        train
            .text(".stands")
            .contains("no cut-out is in force on it")
    );
}

async fn its_state_changes_and_the_board_keeps_its_age(url: &str) {
    let served = Served::with_trains(url).await;
    let controller = served.signed_in(Role::Controller).await;
    record(&controller, "4102", &CYLINDER_COCK).await;
    let board = controller.get("/isolations").await;
    let links = board.texts(".cut-outs tbody tr:first-child td:last-child a");
    assert_eq!(links, ["End it", "Its state changed"]);
    let trapped = [
        ("position", "=BS1-QM1"),
        ("state", "closed_trapped"),
        ("cause", "seen to be shut with air behind it"),
        ("at", "2026-11-25 11:30"),
    ];
    let board = record(&controller, "4102", &trapped).await;
    assert_eq!((board.status(), board.path()), (200, "/isolations"));
    assert_eq!(board.count(".cut-outs tbody tr"), 1);
    let row = board.texts(".cut-outs tbody td");
    assert!(row[0].starts_with("1 h 0 min"), "{}", row[0]);
    assert!(
        row[0].contains("in this state since 2026-11-25 11:30"),
        "{}",
        row[0]
    );
    assert_eq!(row[2], "✕ closed trapped");
    let listed = controller.get("/api/v1/isolations").await.json();
    let one = &listed["isolations"][0];
    assert_ne!(one["since"], one["cut_out_since"]);
    let position = controller.get("/positions/4102/%3DBS1-QM1").await;
    assert!(
        position
            .text("main")
            .contains("its state changed, cut out still"),
        "{}",
        position.text("main")
    );
}

each_database!(
    an_empty_board_says_so,
    a_cut_out_that_was_recorded_stands_on_the_board_with_a_verdict,
    what_is_wrong_is_said_beside_each_field_and_nothing_is_recorded,
    a_cut_out_ends_only_by_a_test_that_passed_since,
    a_test_that_was_failed_is_told_beside_the_verdict_until_one_passes,
    a_test_can_be_judged_without_being_recorded,
    values_typed_for_another_revision_of_the_procedure_are_not_taken,
    only_those_who_may_record_see_the_forms_and_others_are_refused,
    a_car_that_left_its_train_stands_on_the_board_by_itself,
    its_state_changes_and_the_board_keeps_its_age,
);
