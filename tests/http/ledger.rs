//! The ledger as an auditor reads it, and withdrawing an entry that was wrong.

use domain::people::Role;
use tests::each_database;
use tests::page::Page;

use super::sample::{FIRST, Served, fitted, reading};

async fn the_ledger_is_read_page_by_page_from_the_newest_to_the_oldest(url: &str) {
    let served = Served::with_fleet(url).await;
    let visitor = served.visitor();
    let mut page = visitor.get("/ledger").await;
    let mut numbers = column(&page, 1);
    let last = numbers[0].parse::<usize>().unwrap();
    assert_eq!(page.text("dl.facts dd:nth-of-type(1)"), last.to_string());
    while page.count("a[rel=next]") == 1 {
        page = visitor
            .get(page.attribute("a[rel=next]", "href").unwrap())
            .await;
        numbers.extend(column(&page, 1));
    }
    let expected: Vec<String> = (1..=last).rev().map(|number| number.to_string()).collect();
    assert_eq!(numbers, expected);
    assert_eq!(page.count("a[href=\"/ledger\"]"), 2, "back to the newest");
}

async fn entries_are_found_by_kind_by_person_and_by_when_they_were_recorded(url: &str) {
    let served = Served::with_fleet(url).await;
    let engineer = served.signed_in(Role::BrakeEngineer).await;
    let page = engineer.get("/cars/4101").await;
    let form = page.form("#readings form").fill("value", "640000");
    engineer.submit(&form).await;
    let newest = newest(&served).await;
    let visitor = served.visitor();
    let seen = async |query: &str| {
        let page = visitor.get(&format!("/ledger?{query}")).await;
        assert_eq!(page.status(), 200, "{query}");
        column(&page, 1)
    };
    let by_her = seen("by=brake_engineer").await;
    assert_eq!(by_her, [newest.to_string()]);
    let readings = seen("kind=reading_taken").await;
    assert_eq!(readings[0], newest.to_string());
    let all = seen("from=2026-11-25&until=2026-11-25").await;
    assert_eq!(all[0], newest.to_string());
    for nothing in [
        "until=2026-11-24",
        "from=2026-11-26",
        "kind=isolated&by=brake_engineer",
    ] {
        assert_eq!(seen(nothing).await, [""; 0], "{nothing}");
    }
    let both = seen("kind=reading_taken&by=import&until=2026-11-25").await;
    assert_eq!(both, readings[1..]);
    for (query, field) in [
        ("kind=reading", "kind"),
        ("from=31.3.2026", "from"),
        ("before=0", "before"),
    ] {
        let page = visitor.get(&format!("/ledger?{query}")).await;
        assert_eq!(page.status(), 422, "{query}");
        assert!(page.text("p.refusal").starts_with(field));
        assert_eq!(
            visitor.get(&format!("/ledger.csv?{query}")).await.status(),
            422
        );
    }
    let file = visitor.get("/ledger.csv?kind=reading_taken").await;
    let lines: Vec<&str> = file.body().lines().collect();
    assert_eq!(lines.len(), 1 + readings.len());
    assert!(
        lines[1].starts_with(&format!("{newest},2026-11-25 12:00 +00:00,")),
        "{}",
        lines[1]
    );
}

async fn the_last_hash_is_that_which_the_chain_proves(url: &str) {
    let served = Served::with_fleet(url).await;
    let proven = served.store.verify(|_| {}).await.unwrap();
    let bytes = proven.hash.iter();
    let hex = bytes.fold(String::new(), |hex, byte| format!("{hex}{byte:02x}"));
    let page = served.visitor().get("/ledger").await;
    assert_eq!(page.text("dd.hash").replace(' ', ""), hex);
    assert!(page.text("main").contains("register verify"));
    let entry = served
        .visitor()
        .get(&format!("/ledger/{}", proven.entries))
        .await;
    assert_eq!(entry.text("dd.hash").replace(' ', ""), hex);
}

async fn an_entry_says_who_what_when_and_why_and_shows_its_body(url: &str) {
    let served = Served::with_fleet(url).await;
    let at = "2026-11-24T08:00:00Z";
    served
        .import(vec![(at.to_owned(), reading("4101", 640_000))])
        .await;
    let newest = newest(&served).await;
    let page = served.visitor().get(&format!("/ledger/{newest}")).await;
    let title = format!("Entry {newest}: odometer of car 4101 read: 640,000 km");
    assert_eq!(page.text("h1"), title);
    let facts = page.texts("dl.facts dd");
    assert_eq!(
        facts[..4],
        [
            "import",
            "2026-11-25 12:00 +00:00",
            "2026-11-24 08:00 +00:00",
            "for the test"
        ]
    );
    let rows = page.texts("table.fact-rows tr");
    assert_eq!(rows[2], "shown640,000 km");
    assert_eq!(page.count("table.fact-rows a[href=\"/cars/4101\"]"), 1);
    assert!(page.text("pre").contains("\"value\": 640000000"));
    for (path, status) in [
        ("/ledger/0", 422),
        ("/ledger/x", 422),
        ("/ledger/99999", 404),
    ] {
        assert_eq!(served.visitor().get(path).await.status(), status, "{path}");
    }
}

async fn a_wrong_reading_is_withdrawn_with_a_reason_and_due_dates_go_back(url: &str) {
    let served = Served::with_fleet(url).await;
    let at = "2026-11-24T08:00:00Z";
    served
        .import(vec![(at.to_owned(), reading("4101", 650_000))])
        .await;
    let newest = newest(&served).await;
    let planner = served.signed_in(Role::Planner).await;
    let page = planner.get(&format!("/ledger/{newest}")).await;
    let form = page.form("form.fields");
    let refused = planner.submit(&form.clone().fill("reason", "  ")).await;
    assert_eq!(refused.status(), 422);
    assert!(
        refused
            .text("#wrong-reason")
            .contains("why the entry was wrong")
    );

    let form = refused
        .form("form.fields")
        .fill("reason", "digits turned round");
    let shown = planner.submit(&form).await;
    assert_eq!(shown.status(), 200);
    assert_eq!(self::newest(&served).await, newest, "only shown");
    let consequences = shown.text(".caution");
    assert!(consequences.contains("Not yet recorded"), "{consequences}");
    assert!(
        consequences.contains(" due dates move; no decision"),
        "{consequences}"
    );
    assert!(shown.count(".caution tbody tr") > 0);
    let form = shown.form("form.fields");
    let page = planner.submit(&form).await;
    assert_eq!(
        (page.status(), page.path()),
        (200, &*format!("/ledger/{newest}"))
    );
    assert!(
        page.text(".caution")
            .contains(&format!("entry {}", newest + 1))
    );
    assert_eq!(page.count("form.fields"), 0, "it is withdrawn once");
    let withdrawal = planner.get(&format!("/ledger/{}", newest + 1)).await;
    assert_eq!(withdrawal.fact("Why"), "digits turned round");
    let changed = withdrawal.text(".changed");
    assert!(changed.contains("due dates move"), "{changed}");
    assert!(0 < withdrawal.count(".changed .usage-changed tbody tr"));
    let kept = format!("/api/v1/entries/{}", newest + 1);
    let kept = planner.get(&kept).await.json();
    assert!(
        0 < kept["changed"]["usage_moved"].as_u64().unwrap(),
        "{kept}"
    );
    assert!(0 < kept["changed"]["due_moved"].as_u64().unwrap(), "{kept}");
    // Sent twice by an impatient finger, it is recorded once.
    assert_eq!(planner.submit(&form).await.status(), 200);
    assert_eq!(self::newest(&served).await, newest + 1);

    let due = planner.get("/due?car=4101&state=in_window").await;
    assert!(
        due.text("table.due")
            .contains("10,400 km left on 2026-11-01")
    );
    let list = planner.get("/ledger").await;
    let corrected = list.text("tr.corrected");
    assert!(
        corrected.contains(&format!("corrected by entry {}", newest + 1)),
        "{corrected}"
    );
}

async fn a_refused_withdrawal_names_the_entry_that_rests_on_it(url: &str) {
    let served = Served::with_fleet(url).await;
    let morning = |fact| ("2026-11-20T08:00:00Z".to_owned(), fact);
    served
        .import(vec![morning(fitted("9", "4201", FIRST))])
        .await;
    let fitting = newest(&served).await;
    let removal = serde_json::json!({"removed": {
        "component": {"part": "DV/210", "serial": "9"}, "reason": "failed", "to": "Store North",
        "condition": "removed_to_be_judged"}});
    served
        .import(vec![("2026-11-21T08:00:00Z".to_owned(), removal)])
        .await;
    let technician = served.signed_in(Role::Technician).await;
    let page = technician.get(&format!("/ledger/{fitting}")).await;
    let form = page.form("form.fields").fill("reason", "wrong car");
    let page = technician.submit(&form).await;
    assert_eq!(page.status(), 422);
    let refusal = page.text(".refusal");
    assert!(refusal.contains("Nothing was changed"), "{refusal}");
    let link = page.attribute(".refusal a", "href");
    assert_eq!(link, Some(&*format!("/ledger/{}", fitting + 1)));
    assert_eq!(page.text("textarea"), "wrong car");
    assert_eq!(newest(&served).await, fitting + 1);
}

async fn only_who_may_record_a_fact_is_offered_to_withdraw_it(url: &str) {
    let served = Served::with_fleet(url).await;
    let at = "2026-11-24T08:00:00Z";
    served
        .import(vec![(at.to_owned(), reading("4101", 640_000))])
        .await;
    let newest = newest(&served).await;
    let path = format!("/ledger/{newest}");
    let planner = served.signed_in(Role::Planner).await;
    let form = planner
        .get(&path)
        .await
        .form("form.fields")
        .fill("reason", "not so");
    for role in [Role::Stores, Role::Auditor, Role::Administrator] {
        let visitor = served.signed_in(role).await;
        let page = visitor.get(&path).await;
        assert_eq!(page.count("form.fields"), 0, "{role}");
        let token = page
            .attribute("form[action=\"/sign-out\"] input", "value")
            .unwrap();
        let request = visitor.request(reqwest::Method::POST, &format!("{path}/withdraw"));
        let fields = [("form_token", token), ("reason", "not so")];
        assert_eq!(
            visitor.send(request.form(&fields)).await.status(),
            403,
            "{role}"
        );
    }
    assert_eq!(served.visitor().get(&path).await.count("form.fields"), 0);
    assert_eq!(
        planner.get("/ledger/1").await.count("form.fields"),
        0,
        "a part is not withdrawn"
    );
    assert_eq!(planner.submit(&form).await.status(), 200);
}

async fn the_chain_is_proven_on_the_page_and_in_a_saved_copy(url: &str) {
    let served = Served::with_fleet(url).await;
    let last = newest(&served).await;
    let auditor = served.signed_in(Role::Auditor).await;
    let page = auditor.get("/ledger/chain").await;
    assert!(
        page.text(".done")
            .contains(&format!("entries 1 to {last} hold from the very first"))
    );
    let hash = page.fact("Its hash");
    assert_eq!(page.fact(&format!("Hash of entry {last}")), hash);
    let later = auditor.get("/ledger/chain?after=9").await;
    assert!(later.text(".done").contains(&format!(
        "entries 10 to {last} hold, as they follow from entry 9"
    )));
    assert_eq!(auditor.get("/ledger/chain?after=-1").await.status(), 422);

    let form = page.form("form[action=\"/ledger/export\"]");
    let file = auditor.submit(&form).await;
    let head = exchange::ledger_file::verify(file.body().as_bytes(), |_| ()).unwrap();
    assert_eq!((head.first, head.last, head.register_last), (1, last, last));
    assert_eq!(head.last_hash, hash.replace(' ', ""));
    let some = auditor
        .submit(&form.fill("from", "5").fill("to", "7"))
        .await;
    let head = exchange::ledger_file::verify(some.body().as_bytes(), |_| ()).unwrap();
    assert_eq!((head.first, head.last, head.count), (5, 7, 3));
    for bad in ["from=9&to=5", "from=x", "to=999999"] {
        let page = auditor.get(&format!("/ledger/export?{bad}")).await;
        assert_eq!(page.status(), 422, "{bad}");
    }

    let mut tables = tests::tables::Tables::open(url).await;
    tables
        .execute("update ledger set reason = 'changed' where seq = 6")
        .await;
    let broken = auditor.get("/ledger/chain").await;
    assert!(broken.text(".refusal").contains("entry 6 is damaged"));
    assert_eq!(broken.count(".done"), 0);
}

async fn the_ledger_costs_a_handful_of_statements(url: &str) {
    let served = Served::with_fleet(url).await;
    let auditor = served.signed_in(Role::Auditor).await;
    for (path, most) in [("/ledger", 4), ("/ledger?before=30", 4), ("/ledger/9", 4)] {
        auditor.get(path).await;
        served.statements.take();
        auditor.get(path).await;
        let sent = served.statements.take();
        assert!((1..=most).contains(&sent.len()), "{path}: {sent:#?}");
    }
}

each_database!(
    the_chain_is_proven_on_the_page_and_in_a_saved_copy,
    the_ledger_is_read_page_by_page_from_the_newest_to_the_oldest,
    the_last_hash_is_that_which_the_chain_proves,
    an_entry_says_who_what_when_and_why_and_shows_its_body,
    a_wrong_reading_is_withdrawn_with_a_reason_and_due_dates_go_back,
    a_refused_withdrawal_names_the_entry_that_rests_on_it,
    only_who_may_record_a_fact_is_offered_to_withdraw_it,
    entries_are_found_by_kind_by_person_and_by_when_they_were_recorded,
    the_ledger_costs_a_handful_of_statements,
);

fn column(page: &Page, number: usize) -> Vec<String> {
    page.texts(&format!("table.long tbody td:nth-child({number})"))
}

/// The number of the last entry.
async fn newest(served: &Served) -> i64 {
    served.store.view().await.unwrap().last_entry
}
