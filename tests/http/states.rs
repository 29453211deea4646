//! Each position has the states that it can be in: a cock is closed, a spring is released by hand,
//! and of a hose nobody sets a state.

use domain::people::Role;
use tests::each_database;

use super::isolations::record;
use super::sample::Served;

async fn a_state_that_a_position_cannot_be_in_is_neither_recorded_nor_supposed(url: &str) {
    let served = Served::with_trains(url).await;
    let technician = served.signed_in(Role::Technician).await;
    for (position, state, expected) in [
        (
            "=BS1-QM1",
            "bypassed",
            "one of closed_vented, closed_trapped, supply_cut, failed",
        ),
        ("=BS1-QM2", "electrically_off", "one of closed_vented,"),
        ("=BS1-QN3", "released_by_hand", "one of failed"),
        ("=MP-WH1", "bypassed", "one of failed"),
        ("=BS1-XT1", "supply_cut", "one of failed"),
        (
            "=PB-MS1",
            "closed_vented",
            "one of released_by_hand, failed",
        ),
    ] {
        let nonsense = [
            ("position", position),
            ("state", state),
            ("cause", "a slip"),
        ];
        let page = record(&technician, "4101", &nonsense).await;
        let says = page.text("main");
        assert_eq!(page.status(), 422, "{position} {state}");
        assert!(says.contains(expected), "{position} {state}: {says}");
        let close = format!("4101%3A%3D{}%3A{state}", &position[1..]);
        let page = technician.get(&format!("/trains/T1?close={close}")).await;
        assert_eq!(page.status(), 422, "{position} {state}");
        assert!(page.text(".refusal").contains(expected), "{position}");
    }
    assert_eq!(technician.get("/isolations").await.count("table"), 0);
}

each_database!(a_state_that_a_position_cannot_be_in_is_neither_recorded_nor_supposed);
