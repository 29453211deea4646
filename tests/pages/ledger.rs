//! An entry that was wrong is withdrawn by hand.

use tests::browser::in_browser;
use tests::each_database;

use crate::http::sample::{Served, reading};

async fn a_planner_withdraws_a_wrong_reading_and_sees_that_it_no_longer_holds(url: &str) {
    let served = Served::with_fleet(url).await;
    let at = "2026-11-24T08:00:00Z".to_owned();
    served.import(vec![(at, reading("4101", 650_000))]).await;
    let number = served.store.view().await.unwrap().last_entry;
    let base = served.server.base().to_owned();
    in_browser(async |browser| {
        browser.open(&format!("{base}/sign-in")).await;
        browser
            .follow("form:has(input[value=\"planner\"]) button")
            .await;
        browser.open(&format!("{base}/ledger")).await;
        browser
            .follow(&format!("a[href=\"/ledger/{number}\"]"))
            .await;
        browser.type_into("#reason", "digits turned round").await;
        browser.follow("form.fields button").await;
        let shown = browser.text(".caution").await;
        assert!(shown.contains("Not yet recorded"), "{shown}");
        browser.follow("form.fields button").await;
        let said = browser.text(".caution").await;
        assert!(
            said.contains(&format!("corrected by entry {}", number + 1)),
            "{said}"
        );
        browser.follow(".caution a").await;
        let why = browser.text("main").await;
        assert!(why.contains("digits turned round"), "{why}");
    })
    .await;
}

each_database!(a_planner_withdraws_a_wrong_reading_and_sees_that_it_no_longer_holds);
