//! Each position has the states that it can be in: a cock is closed, a spring is released by hand,
//! and of a hose nobody sets a state.

use domain::people::Role;
use tests::each_database;
use tests::page::Page;

use super::isolations::{CYLINDER_COCK, record};
use super::sample::Served;

async fn a_state_that_a_position_cannot_be_in_is_neither_recorded_nor_supposed(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let fails = "can be: failed: it delivers nothing";
    for (position, state, expected, in_words) in [
        (
            "=BS1-QM1",
            "bypassed",
            "one of closed_vented, closed_trapped, supply_cut, failed",
            "can be: closed, and what lies behind it emptied; closed, with air trapped behind it; ",
        ),
        (
            "=BS1-QM2",
            "electrically_off",
            "one of closed_vented,",
            "can be: closed, ",
        ),
        ("=BS1-QN3", "released_by_hand", "one of failed", fails),
        ("=MP-WH1", "bypassed", "one of failed", fails),
        ("=BS1-XT1", "supply_cut", "one of failed", fails),
        (
            "=PB-MS1",
            "closed_vented",
            "one of released_by_hand, failed",
            "can be: released by hand; of a spring, what it does when air returns is not known; failed",
        ),
    ] {
        let nonsense = [
            ("position", position),
            ("state", state),
            ("cause", "a slip"),
        ];
        let page = record(&technician, "4101", &nonsense).await;
        let says = page.text("#new-state-wrong");
        assert_eq!(page.status(), 422, "{position} {state}");
        assert!(says.contains(in_words), "{position} {state}: {says}");
        let close = format!("4101%3A%3D{}%3A{state}", &position[1..]);
        let page = technician.get(&format!("/trains/T1?close={close}")).await;
        assert_eq!(page.status(), 422, "{position} {state}");
        assert!(page.text(".refusal").contains(expected), "{position}");
    }
    assert_eq!(technician.get("/isolations").await.count("table"), 0);
}

async fn a_form_of_a_known_position_offers_only_the_states_that_it_can_be_in(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let path = "/isolations/new?car=4101";
    let known = technician.get(&format!("{path}&position=%3DPB-MS1")).await;
    let offered = |page: &Page, name: &str| -> Vec<String> {
        let options = page.attributes(&format!("select[name={name}] option"), "value");
        options.into_iter().map(str::to_owned).collect()
    };
    assert_eq!(offered(&known, "position"), ["", "=PB-MS1"]);
    assert_eq!(
        offered(&known, "state"),
        [
            "",
            "released_by_hand",
            "failed",
            "released_until_air_returns",
            "released_until_reset"
        ]
    );
    assert_eq!(known.count(&format!("a[href='{path}']")), 1);
    for unknown in [path.to_owned(), format!("{path}&position=%3DXX-QM9")] {
        let page = technician.get(&unknown).await;
        assert_eq!(page.count("select[name=state] option"), 11, "{unknown}");
    }
}

/// Why it was closed is the reason of the entry too, and is called as the form calls it.
async fn a_cause_that_is_refused_is_called_as_the_form_calls_it(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let long = "x".repeat(501);
    let fields = CYLINDER_COCK.map(|(name, value)| match name {
        "cause" => (name, long.as_str()),
        _ => (name, value),
    });
    let page = record(&technician, "4102", &fields).await;
    let refusal = page.text(".refusal");
    assert!(
        refusal.starts_with("Why it was closed, or how it was found: "),
        "{refusal}"
    );
    assert_eq!(technician.get("/isolations").await.count("table"), 0);
}

/// Nothing has charged it, and its air would count as brake; a cylinder may come under pressure by a leak,
/// and that is told.
async fn what_was_told_as_emptied_fills_by_no_other_state_while_its_cock_is_closed(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    let told = |position, state, at| {
        [
            ("position", position),
            ("state", state),
            ("cause", "leak at the control unit"),
            ("at", at),
        ]
    };
    let (supply, cylinder) = ("=BS-QM1", "=BS1-QM1");
    let emptied = told(supply, "closed_vented", "2026-11-25 11:50");
    let emptied = record(&technician, "4101", &emptied).await;
    assert_eq!(emptied.status(), 200, "{}", emptied.text("main"));
    for state in ["supply_cut", "closed_trapped"] {
        let charged = told(supply, state, "2026-11-25 11:54");
        let page = record(&technician, "4101", &charged).await;
        assert_ne!(page.status(), 200, "{state}");
        let refusal = page.text(".refusal");
        assert!(
            refusal.contains("correct the entry that tells it as emptied"),
            "{state}: {refusal}"
        );
    }
    for (position, state, at) in [
        (supply, "reopened_not_proven", "2026-11-25 11:55"),
        (supply, "supply_cut", "2026-11-25 11:57"),
        (cylinder, "closed_vented", "2026-11-25 11:50"),
        (cylinder, "closed_trapped", "2026-11-25 11:55"),
    ] {
        let page = record(&technician, "4101", &told(position, state, at)).await;
        assert_eq!(
            page.status(),
            200,
            "{position} {state}: {}",
            page.text("main")
        );
    }
    // Told late, it does not come before what is charged by then either.
    let late = told(supply, "closed_vented", "2026-11-25 11:56");
    let page = record(&technician, "4101", &late).await;
    assert_ne!(page.status(), 200);
}

each_database!(
    a_state_that_a_position_cannot_be_in_is_neither_recorded_nor_supposed,
    a_form_of_a_known_position_offers_only_the_states_that_it_can_be_in,
    a_cause_that_is_refused_is_called_as_the_form_calls_it,
    what_was_told_as_emptied_fills_by_no_other_state_while_its_cock_is_closed,
);
