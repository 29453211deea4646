//! A state of a cut-out that is told late takes its place between those that were told before it: they
//! stand in the order of their times, and the latest is the one in force.

use domain::configuration::component::PositionRef;
use domain::isolation::CutOutState;
use domain::ledger::entry::Seq;
use domain::ledger::fact::{CutOut, Fact};
use domain::refusal::Refusal;
use store::read::AsAt;
use tests::each_database;
use tests::facts::{at, isolation_ended, leakage_tested, position};
use tests::fleet::{self, COCK};
use tests::register::Register;

fn told(cock: &PositionRef, state: CutOutState, not_before: Option<&str>) -> Fact {
    Fact::Isolated(CutOut {
        at: cock.clone(),
        state,
        cause: "leaking cylinder".to_owned(),
        not_before: not_before.map(at),
    })
}

/// A cock that was closed with air trapped, and vented four days later, by these entries.
async fn two_states(url: &str) -> (Register, PositionRef, [Seq; 2]) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let cock = position("4101", COCK);
    let trapped = told(&cock, CutOutState::ClosedTrapped, Some("2029-01-20T00:00Z"));
    let trapped = register.record("2029-02-01T00:00Z", trapped).await;
    let vented = told(&cock, CutOutState::ClosedVented, None);
    let vented = register.record("2029-02-05T00:00Z", vented).await;
    (register, cock, [trapped, vented])
}

/// By which entry the state of an entry ended; nought where it holds.
async fn ended_by(register: &mut Register, state: Seq) -> i64 {
    let Seq(state) = state;
    let ended = format!("select coalesce(ended_by, 0) from isolation where id = {state}");
    register.tables.number(&ended).await
}

async fn in_force(register: &mut Register) -> i64 {
    let in_force = "select id from isolation where ended_at is null";
    register.tables.number(in_force).await
}

/// The states that held at a time, as they were known at another.
async fn held(register: &Register, effective: &str, known: &str) -> Vec<CutOutState> {
    let mut view = register.store.view().await.unwrap();
    let car = view.car(&"4101".parse().unwrap()).await.unwrap().unwrap();
    let as_at = AsAt {
        effective: at(effective),
        known: at(known),
    };
    let mut told = view.cut_outs_told(&car, as_at).await.unwrap();
    told.retain(|state| state.ended.is_none());
    told.into_iter().map(|state| state.cut_out.state).collect()
}

fn assert_contradicts(refusal: &Refusal, entry: Seq) {
    assert!(
        matches!(refusal, Refusal::Contradicts { by, .. } if *by == entry),
        "{refusal}"
    );
}

async fn a_state_between_two_others_lasts_until_the_later_which_stands(url: &str) {
    let (mut register, cock, [trapped, vented]) = two_states(url).await;
    register.now_is("2030-01-02T06:00Z");
    let supply_cut = || told(&cock, CutOutState::SupplyCut, None);
    let late = register.record("2029-02-03T00:00Z", supply_cut()).await;
    assert_eq!(in_force(&mut register).await, vented.0);
    assert_eq!(ended_by(&mut register, trapped).await, late.0);
    assert_eq!(ended_by(&mut register, late).await, vented.0);
    let first = "select count(*) from isolation where not_before is not null";
    assert_eq!(
        register.tables.number(first).await,
        3,
        "since when it may have been cut out is known of each"
    );
    let (before, since) = ("2030-01-01T12:00Z", "2030-01-03T00:00Z");
    for (effective, known, state) in [
        ("2029-02-04T00:00Z", before, CutOutState::ClosedTrapped),
        ("2029-02-04T00:00Z", since, CutOutState::SupplyCut),
        ("2029-02-02T00:00Z", since, CutOutState::ClosedTrapped),
        ("2029-02-06T00:00Z", before, CutOutState::ClosedVented),
        ("2029-02-06T00:00Z", since, CutOutState::ClosedVented),
    ] {
        let held = held(&register, effective, known).await;
        assert_eq!(held, [state], "{effective} as known at {known}");
    }
    register.proves().await;

    assert_contradicts(&register.refuses_withdrawal(trapped).await, late);
    let past = register
        .refuses_correction(late, "2029-02-06T00:00Z", supply_cut())
        .await;
    assert_contradicts(&past, vented);
    let late = register
        .correct(late, "2029-02-04T00:00Z", supply_cut())
        .await;
    assert_eq!(ended_by(&mut register, trapped).await, late.0);
    assert_eq!(ended_by(&mut register, late).await, vented.0);
    register.withdraw(late).await;
    assert_eq!(ended_by(&mut register, trapped).await, vented.0);
    assert_eq!(in_force(&mut register).await, vented.0);
    register.proves().await;
}

async fn what_no_state_told_late_can_say_is_refused_with_what_to_do(url: &str) {
    let (mut register, cock, [trapped, vented]) = two_states(url).await;
    let supply_cut = |not_before| told(&cock, CutOutState::SupplyCut, not_before);
    let same = told(&cock, CutOutState::ClosedTrapped, None);
    let same = register.refuses("2029-02-03T00:00Z", same).await;
    assert_contradicts(&same, trapped);
    let seen = supply_cut(Some("2029-01-25T00:00Z"));
    let seen = register.refuses("2029-02-03T00:00Z", seen).await;
    assert_eq!(seen.field(), "not_before", "{seen}");
    let before = register
        .refuses("2029-01-31T00:00Z", supply_cut(None))
        .await;
    assert_contradicts(&before, trapped);
    let says = before.to_string();
    assert!(says.contains("correct the time of that entry"), "{says}");

    let test = leakage_tested("T 1", "4101", at("2029-02-08T00:00Z"), "0.1");
    register.record("2029-02-08T00:00Z", test).await;
    let end = isolation_ended(&cock, "T 1");
    let end = register.record("2029-02-08T00:00Z", end).await;
    let after = register
        .refuses("2029-02-06T00:00Z", supply_cut(None))
        .await;
    assert_contradicts(&after, end);
    let says = after.to_string();
    assert!(
        says.contains("end it again with a test made since"),
        "{says}"
    );
    // Between the two states it is history, and the end stays proved.
    let late = register.record("2029-02-03T00:00Z", supply_cut(None)).await;
    assert_eq!(ended_by(&mut register, late).await, vented.0);
    assert_eq!(ended_by(&mut register, vented).await, end.0);
    register.proves().await;
}

each_database!(
    a_state_between_two_others_lasts_until_the_later_which_stands,
    what_no_state_told_late_can_say_is_refused_with_what_to_do,
);
