//! Isolations: in force once at a position, from the moment they are found until a passed test
//! of that car, which measured the brake behind it, proves it restored.

use domain::configuration::component::PositionRef;
use domain::due::task::AppliesTo;
use domain::isolation::CutOutState;
use domain::ledger::entry::Seq;
use domain::ledger::fact::{CutOut, Fact};
use domain::refusal::Refusal;
use domain::test_record::procedure::Measurand;
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
            Refusal::Impossible {
                field: "position",
                ..
            }
        ),
        "{over}"
    );
    register.proves().await;
}

async fn a_later_failed_test_of_the_same_procedure_stands_against_the_end(url: &str) {
    let (mut register, cock) = founded(url).await;
    register.record("2029-02-01T00:00Z", isolated(&cock)).await;
    tested(&mut register, "passed", "4101", "2029-02-02T00:00Z", "0.1").await;
    let failed = leakage_tested("failed", "4101", at("2029-02-03T00:00Z"), "0.3");
    let failed = register.record("2029-02-03T00:00Z", failed).await;
    // Of another car, and of this one after the end.
    tested(&mut register, "other", "4102", "2029-02-03T00:00Z", "0.3").await;
    tested(&mut register, "later", "4101", "2029-02-06T00:00Z", "0.3").await;
    let end = |test| isolation_ended(&cock, test);
    let refusal = register.refuses("2029-02-05T00:00Z", end("passed")).await;
    assert_contradicts(&refusal, failed);
    tested(&mut register, "again", "4101", "2029-02-04T00:00Z", "0.1").await;
    let refusal = register.refuses("2029-02-05T00:00Z", end("passed")).await;
    assert_contradicts(&refusal, failed);
    register.record("2029-02-05T00:00Z", end("again")).await;
    assert_eq!(in_force(&mut register).await, 0);
    register.proves().await;
}

/// A procedure for cars of the first type of the invented fleet, with the places where its one result
/// is measured.
fn measuring(code: &str, places: &[&str]) -> Fact {
    let Fact::ProcedureDefined(mut procedure) = fleet::procedure() else {
        unreachable!()
    };
    procedure.code = code.parse().unwrap();
    procedure.applies_to = AppliesTo::CarType("TM-DA".parse().unwrap());
    procedure.task = None;
    let mut measurands: Vec<Measurand> = procedure.measurands.clone().into();
    measurands[0].measured_at = places.iter().map(|place| place.parse().unwrap()).collect();
    procedure.measurands = measurands.try_into().unwrap();
    Fact::ProcedureDefined(procedure)
}

async fn only_a_test_that_measured_behind_the_cut_out_ends_it(url: &str) {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is("2026-11-25T12:00Z");
    let cock = position("4101", "=BS1-QM1");
    register.record("2026-11-25T08:00Z", isolated(&cock)).await;
    let procedures: [(&str, &[&str]); 4] = [
        ("DOOR", &[]),
        ("PIPE", &["=MP-XT1"]),
        ("OTHER-BOGIE", &["=BS2-XT1"]),
        ("BOGIE", &["=BS1-XT1"]),
    ];
    for (code, places) in procedures {
        register
            .record("2026-11-25T08:00Z", measuring(code, places))
            .await;
        let when = "2026-11-25T09:00Z";
        let Fact::TestRecorded(mut record) = leakage_tested(code, "4101", at(when), "0.1") else {
            unreachable!()
        };
        record.procedure = code.parse().unwrap();
        register.record(when, Fact::TestRecorded(record)).await;
        let end = isolation_ended(&cock, code);
        if code == "BOGIE" {
            register.record("2026-11-25T10:00Z", end).await;
            continue;
        }
        let refusal = register.refuses("2026-11-25T10:00Z", end).await;
        assert_eq!(refusal.field(), "proved_by", "{refusal}");
        let told = refusal.to_string();
        assert!(
            told.contains("measured behind =BS1-QM1 of car 4101"),
            "{told}"
        );
        assert!(told.contains("=BS1-XT1"), "{told}");
    }
    assert_eq!(in_force(&mut register).await, 0);
    register.proves().await;
}

fn in_state(cock: &PositionRef, state: CutOutState, not_before: Option<&str>) -> Fact {
    Fact::Isolated(CutOut {
        at: cock.clone(),
        state,
        cause: "leaking cylinder".to_owned(),
        not_before: not_before.map(at),
    })
}

async fn another_state_takes_the_place_of_the_one_in_force_and_proves_nothing(url: &str) {
    let (mut register, cock) = founded(url).await;
    let trapped = in_state(&cock, CutOutState::ClosedTrapped, Some("2029-01-20T00:00Z"));
    let found = register.record("2029-02-01T00:00Z", trapped).await;
    tested(&mut register, "between", "4101", "2029-02-02T00:00Z", "0.1").await;
    let vented = register.record("2029-02-03T00:00Z", isolated(&cock)).await;
    assert_eq!(in_force(&mut register).await, 1);
    let by = "select ended_by from isolation where ended_at is not null";
    assert_eq!(register.tables.number(by).await, vented.0);
    // What was passed before the last change proves nothing of it.
    let early = register
        .refuses("2029-02-04T00:00Z", isolation_ended(&cock, "between"))
        .await;
    assert!(
        matches!(
            early,
            Refusal::Impossible {
                field: "proved_by",
                ..
            }
        ),
        "{early}"
    );
    assert_contradicts(&register.refuses_withdrawal(found).await, vented);
    let vented = register
        .correct(vented, "2029-02-02T12:00Z", isolated(&cock))
        .await;
    assert_contradicts(&register.refuses_withdrawal(found).await, vented);
    register.withdraw(vented).await;
    assert_eq!(in_force(&mut register).await, 1);
    let left = "select count(*) from isolation where state = 'closed_trapped' and ended_at is null";
    assert_eq!(register.tables.number(left).await, 1);
    register.record("2029-02-05T00:00Z", isolated(&cock)).await;
    tested(&mut register, "after", "4101", "2029-02-06T00:00Z", "0.1").await;
    register
        .record("2029-02-06T00:00Z", isolation_ended(&cock, "after"))
        .await;
    assert_eq!(in_force(&mut register).await, 0);
    register.proves().await;
}

async fn when_it_was_last_seen_right_is_told_more_narrowly(url: &str) {
    let (mut register, cock) = founded(url).await;
    let seen = |not_before| in_state(&cock, CutOutState::ClosedVented, Some(not_before));
    let found = register
        .record("2029-02-01T00:00Z", seen("2029-01-20T00:00Z"))
        .await;
    let wider = register
        .refuses("2029-02-02T00:00Z", seen("2029-01-19T00:00Z"))
        .await;
    assert_contradicts(&wider, found);
    let after = register
        .refuses("2029-02-03T00:00Z", seen("2029-02-02T00:00Z"))
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
    register
        .record("2029-02-02T00:00Z", seen("2029-01-25T00:00Z"))
        .await;
    assert_eq!(in_force(&mut register).await, 1);
    register.proves().await;
}

async fn only_what_is_cut_out_is_open_again_and_it_stays_cut_out(url: &str) {
    let (mut register, cock) = founded(url).await;
    let reopened = || in_state(&cock, CutOutState::ReopenedNotProven, None);
    let refusal = register.refuses("2029-02-01T00:00Z", reopened()).await;
    assert!(
        matches!(refusal, Refusal::Impossible { field: "state", .. }),
        "{refusal}"
    );
    register.record("2029-02-01T00:00Z", isolated(&cock)).await;
    register.record("2029-02-02T00:00Z", reopened()).await;
    assert_eq!(in_force(&mut register).await, 1);
    tested(&mut register, "T 1", "4101", "2029-02-03T00:00Z", "0.1").await;
    register
        .record("2029-02-03T00:00Z", isolation_ended(&cock, "T 1"))
        .await;
    assert_eq!(in_force(&mut register).await, 0);
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
    a_later_failed_test_of_the_same_procedure_stands_against_the_end,
    only_a_test_that_measured_behind_the_cut_out_ends_it,
    another_state_takes_the_place_of_the_one_in_force_and_proves_nothing,
    when_it_was_last_seen_right_is_told_more_narrowly,
    only_what_is_cut_out_is_open_again_and_it_stays_cut_out,
    a_test_record_is_recorded_once,
    an_end_is_withdrawn_only_while_the_position_was_not_isolated_again,
    a_cut_out_has_a_position_a_cause_and_no_time_ahead,
);
