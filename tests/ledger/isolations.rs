//! Isolations: in force once at a position, from the moment they are found until a passed test
//! of that car proves the brake restored.

use domain::configuration::component::PositionRef;
use domain::ledger::entry::Seq;
use domain::ledger::fact::{CutOut, Fact};
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{at, isolated, isolation_ended, leakage_tested, position};
use tests::fleet::{self, COCK};
use tests::register::Register;

async fn founded(url: &str) -> (Register, PositionRef) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    (register, position("4101", COCK))
}

async fn tested(register: &mut Register, id: &str, car: &str, when: &str, leakage: &str) {
    let test = leakage_tested(id, car, at(when), leakage);
    register.record(when, test).await;
}

async fn in_force(register: &mut Register) -> i64 {
    let in_force = "select count(*) from isolation where ended_at is null";
    register.tables.number(in_force).await
}

fn assert_contradicts(refusal: &Refusal, entry: Seq) {
    assert!(
        matches!(refusal, Refusal::Contradicts { by, .. } if *by == entry),
        "{refusal}"
    );
}

async fn a_position_is_isolated_once_at_a_time(url: &str) {
    let (mut register, cock) = founded(url).await;
    let first = register.record("2029-02-01T00:00Z", isolated(&cock)).await;
    let again = register.refuses("2029-03-01T00:00Z", isolated(&cock)).await;
    assert_contradicts(&again, first);
    let before = register.refuses("2029-01-15T00:00Z", isolated(&cock)).await;
    assert_contradicts(&before, first);
    register
        .record("2029-03-01T00:00Z", isolated(&position("4102", COCK)))
        .await;
    assert_eq!(in_force(&mut register).await, 2);
    register.proves().await;
}

async fn only_a_passed_test_of_that_car_since_then_ends_it(url: &str) {
    let (mut register, cock) = founded(url).await;
    tested(&mut register, "before", "4101", "2029-01-31T00:00Z", "0.1").await;
    let cut_out = register.record("2029-02-01T00:00Z", isolated(&cock)).await;
    tested(&mut register, "failed", "4101", "2029-02-02T00:00Z", "0.3").await;
    tested(
        &mut register,
        "other car",
        "4102",
        "2029-02-02T00:00Z",
        "0.1",
    )
    .await;
    tested(&mut register, "passed", "4101", "2029-02-03T00:00Z", "0.2").await;
    let end = |test| isolation_ended(&cock, test);
    for test in ["before", "failed", "other car"] {
        let refusal = register.refuses("2029-02-04T00:00Z", end(test)).await;
        assert!(
            matches!(
                refusal,
                Refusal::Impossible {
                    field: "proved_by",
                    ..
                }
            ),
            "{refusal}"
        );
    }
    let too_late = register.refuses("2029-02-02T00:00Z", end("passed")).await;
    assert!(
        matches!(
            too_late,
            Refusal::Impossible {
                field: "proved_by",
                ..
            }
        ),
        "{too_late}"
    );
    let too_early = register.refuses("2029-01-31T00:00Z", end("passed")).await;
    assert_contradicts(&too_early, cut_out);
    let unknown = register.refuses("2029-02-04T00:00Z", end("T 99")).await;
    assert!(
        matches!(
            unknown,
            Refusal::Unknown {
                what: "proved_by",
                ..
            }
        ),
        "{unknown}"
    );
    register.record("2029-02-03T00:00Z", end("passed")).await;
    assert_eq!(in_force(&mut register).await, 0);
    let over = register.refuses("2029-02-04T00:00Z", end("passed")).await;
    assert!(
        matches!(
            over,
            Refusal::Unknown {
                what: "position",
                ..
            }
        ),
        "{over}"
    );
    register.proves().await;
}

async fn a_test_record_is_recorded_once(url: &str) {
    let (mut register, _) = founded(url).await;
    let when = "2029-02-01T00:00Z";
    let test = |leakage| leakage_tested("T 1", "4101", at(when), leakage);
    let first = register.record(when, test("0.1")).await;
    let again = register.refuses(when, test("0.3")).await;
    assert!(
        matches!(again, Refusal::AlreadyDefined { by, .. } if by == first),
        "{again}"
    );
}

async fn an_end_is_withdrawn_only_while_the_position_was_not_isolated_again(url: &str) {
    let (mut register, cock) = founded(url).await;
    let cut_out = register.record("2029-02-01T00:00Z", isolated(&cock)).await;
    tested(&mut register, "T 1", "4101", "2029-02-02T00:00Z", "0.1").await;
    let end = register
        .record("2029-02-02T00:00Z", isolation_ended(&cock, "T 1"))
        .await;
    assert_contradicts(&register.refuses_withdrawal(cut_out).await, end);
    let again = register.record("2029-03-01T00:00Z", isolated(&cock)).await;
    assert_contradicts(&register.refuses_withdrawal(end).await, again);
    // Nor when the later one has ended as well.
    tested(&mut register, "T 2", "4101", "2029-03-02T00:00Z", "0.1").await;
    let second = register
        .record("2029-03-02T00:00Z", isolation_ended(&cock, "T 2"))
        .await;
    assert_contradicts(&register.refuses_withdrawal(end).await, again);
    register.withdraw(second).await;
    register.withdraw(again).await;
    register.withdraw(end).await;
    assert_eq!(in_force(&mut register).await, 1);
    register
        .correct(cut_out, "2029-01-20T00:00Z", isolated(&cock))
        .await;
    register.proves().await;
}

async fn a_cut_out_has_a_position_a_cause_and_no_time_ahead(url: &str) {
    let (mut register, cock) = founded(url).await;
    let Fact::Isolated(cut_out) = isolated(&cock) else {
        unreachable!()
    };
    let silent = CutOut {
        cause: " ".to_owned(),
        ..cut_out.clone()
    };
    let silent = register
        .refuses("2029-02-01T00:00Z", Fact::Isolated(silent))
        .await;
    assert!(
        matches!(silent, Refusal::Impossible { field: "cause", .. }),
        "{silent}"
    );
    let after = CutOut {
        not_before: Some(at("2029-02-02T00:00Z")),
        ..cut_out
    };
    let after = register
        .refuses("2029-02-01T00:00Z", Fact::Isolated(after))
        .await;
    assert!(
        matches!(
            after,
            Refusal::Impossible {
                field: "not_before",
                ..
            }
        ),
        "{after}"
    );
    let nowhere = isolated(&position("4101", "=BS-X9"));
    let nowhere = register.refuses("2029-02-01T00:00Z", nowhere).await;
    assert!(
        matches!(
            nowhere,
            Refusal::Unknown {
                what: "position",
                ..
            }
        ),
        "{nowhere}"
    );
}

each_database!(
    a_position_is_isolated_once_at_a_time,
    only_a_passed_test_of_that_car_since_then_ends_it,
    a_test_record_is_recorded_once,
    an_end_is_withdrawn_only_while_the_position_was_not_isolated_again,
    a_cut_out_has_a_position_a_cause_and_no_time_ahead,
);
