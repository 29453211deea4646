//! `register decide`: the same answer as the page, as text.

use super::program::Place;
use crate::http::sample::Served;
use tests::each_database;

const BOGIE: &str = "4101:=BS1-QM1:closed_vented";

async fn the_answer_as_text_is_that_of_the_page(url: &str) {
    let served = Served::with_trains(url).await;
    let page = served
        .visitor()
        .get("/trains/T1?close=4101%3A%3DBS1-QM1%3Aclosed_vented")
        .await;
    let told = Place::on(url).run_on_database(&["decide", "--train", "T1", "--close", BOGIE]);
    assert_eq!(told.code, Some(0), "{told:?}");
    let first = told.out.lines().take(2).collect::<Vec<_>>();
    assert_eq!(first[0], "Train T1");
    assert!(first[1].starts_with("WHAT IF"), "{first:?}");
    let verdicts = page.texts(".verdict h2");
    assert!(!verdicts.is_empty());
    for verdict in verdicts {
        let headline = verdict.trim_start_matches(|c: char| !c.is_ascii_alphabetic());
        let headline = headline.to_uppercase();
        assert!(told.out.contains(&headline), "{headline} in {}", told.out);
    }
    let isolated = "car 4101, bogie 1, main brake: isolated: ";
    assert!(told.out.contains(isolated), "{}", told.out);
    assert!(told.out.contains("all others: released"), "{}", told.out);
    assert!(!told.out.contains("Air that stays stored"), "{}", told.out);
}

async fn stored_air_is_told_with_its_steps_and_its_drain_cock(url: &str) {
    let _served = Served::with_trains(url).await;
    let cut = [
        "decide",
        "--train",
        "T1",
        "--close",
        "4101:=BS-QM1:supply_cut",
    ];
    let told = Place::on(url).run_on_database(&cut);
    let stored =
        "car 4101 =BS-CM1, 125 l, drained at car 4101 =BS-QM2; feeds 8 brakes, full applications: ";
    assert!(told.out.contains(stored), "{}", told.out);
    assert!(told.out.contains("Boyle"), "{}", told.out);
}

async fn what_is_not_there_or_cannot_be_read_is_an_error_and_no_answer(url: &str) {
    let _served = Served::with_trains(url).await;
    for (asked, expected) in [
        (["--train", "T9"], "train T9 is not in the register"),
        (["--formation", "TM999"], "TM999"),
    ] {
        let told = Place::on(url).run_on_database(&["decide", asked[0], asked[1]]);
        assert_eq!(told.code, Some(1), "{told:?}");
        assert!(told.err.contains(expected), "{told:?}");
        assert_eq!(told.out, "");
    }
    let steep = ["decide", "--train", "T1", "--gradient", "steep"];
    let told = Place::on(url).run_on_database(&steep);
    assert_eq!((told.code, told.out.as_str()), (Some(1), ""), "{told:?}");
    assert!(told.err.contains("--gradient"), "{told:?}");
}

each_database!(
    the_answer_as_text_is_that_of_the_page,
    stored_air_is_told_with_its_steps_and_its_drain_cock,
    what_is_not_there_or_cannot_be_read_is_an_error_and_no_answer,
);
