//! A brake that may drag by what is cut out does not where somebody confirmed that its pads are free,
//! until the cut-out is in another state; and a check is confirmed only where it is asked.

use domain::configuration::component::PositionRef;
use domain::decision::checks::CheckKind;
use domain::isolation::CutOutState;
use domain::ledger::fact::{CutOut, Fact};
use tests::decided::decision;
use tests::each_database;
use tests::facts::{check_confirmed, position};
use tests::register::Register;

const NOW: &str = "2026-11-25T12:00Z";

async fn warnings(register: &Register) -> String {
    let taken = decision(&register.store, "T1", register.now, &[]).await;
    taken.found.warnings.join("\n")
}

fn in_state(at: &PositionRef, state: CutOutState) -> Fact {
    Fact::Isolated(CutOut {
        at: at.clone(),
        state,
        cause: "leaking cylinder".to_owned(),
        not_before: None,
    })
}

async fn who_saw_pads_free_is_believed_until_the_state_changes(url: &str) {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is(NOW);
    let cock = position("4101", "=BS1-QM1");
    let trapped = in_state(&cock, CutOutState::ClosedTrapped);
    let cut_out = register.record(NOW, trapped).await;
    let before = warnings(&register).await;
    assert!(before.contains(" drag, or may: car 4101"), "{before}");
    let seen = check_confirmed(&cock, cut_out, CheckKind::PadsFree);
    register.record(NOW, seen).await;
    let after = warnings(&register).await;
    assert!(!after.contains("drag, or may"), "{after}");
    assert!(
        after.contains("seen free: by F. Fitter on 2026-11-25 12:00"),
        "{after}"
    );
    // What is decided is what the register finds by itself, the check included.
    let taken = decision(&register.store, "T1", register.now, &[]).await;
    let now = register.now.to_string();
    register
        .record(&now, Fact::DecisionTaken(Box::new(taken)))
        .await;
    let reopened = in_state(&cock, CutOutState::ReopenedNotProven);
    let now = register.now.to_string();
    register.record(&now, reopened).await;
    let again = warnings(&register).await;
    assert!(again.contains(" drag, or may: car 4101"), "{again}");
    register.proves().await;
}

async fn what_a_spring_does_when_air_returns_is_confirmed_of_no_cock(url: &str) {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is(NOW);
    let cock = position("4101", "=BS1-QM1");
    let spring = position("4101", "=PB-MS1");
    let closed = in_state(&cock, CutOutState::ClosedVented);
    let closed = register.record(NOW, closed).await;
    let released = in_state(&spring, CutOutState::ReleasedByHand);
    let released = register.record(NOW, released).await;
    let refusal = register
        .refuses(NOW, check_confirmed(&cock, closed, CheckKind::ReArming))
        .await;
    assert_eq!(refusal.field(), "check");
    let found = check_confirmed(&spring, released, CheckKind::ReArming);
    register.record(NOW, found).await;
    let reset = in_state(&spring, CutOutState::ReleasedUntilReset);
    let now = register.now.to_string();
    let reset = register.record(&now, reset).await;
    let refusal = register
        .refuses(&now, check_confirmed(&spring, reset, CheckKind::ReArming))
        .await;
    assert_eq!(refusal.field(), "check");
    register.proves().await;
}

each_database!(
    who_saw_pads_free_is_believed_until_the_state_changes,
    what_a_spring_does_when_air_returns_is_confirmed_of_no_cock,
);
