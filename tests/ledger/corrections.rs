//! Corrections: an entry is taken back as if it had not been recorded, unless a later one rests
//! on it; then that one is named.

use domain::configuration::component::Condition;
use domain::identity::LocationName;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{
    at, fitted, fitted_until, judged, moved, position, read, relocated, removed, swapped, unit,
};
use tests::fleet::{self, Components, FIRST, SECOND};
use tests::register::{Register, command, correction, person};

async fn founded(url: &str) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    (register, components)
}

fn assert_rests(refusal: &Refusal, on: Seq) {
    assert!(
        matches!(refusal, Refusal::Contradicts { by, .. } if *by == on),
        "{refusal}"
    );
}

async fn a_withdrawn_fitment_never_was(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let here = position("4101", FIRST);
    let shelf = register
        .record("2029-02-01T00:00Z", relocated(one, "Shelf 3"))
        .await;
    let fit = register
        .record("2029-03-01T00:00Z", fitted(one, &here))
        .await;
    register.withdraw(fit).await;
    let life = register.life(one).await;
    assert_eq!(life.fitments.len(), 0);
    let location: LocationName = "Shelf 3".parse().unwrap();
    assert_eq!(life.record.location(), Some(&location));
    assert_eq!(
        (life.record.since, life.record.since_by),
        (at("2029-02-01T00:00Z"), shelf)
    );
    let early = register
        .refuses("2029-01-15T00:00Z", fitted(one, &here))
        .await;
    assert_rests(&early, shelf);
    register
        .record("2029-03-01T00:00Z", fitted(other, &here))
        .await;
    register.proves().await;
}

async fn another_fitment_takes_the_place_of_a_wrong_one(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, third, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (here, there) = (position("4101", FIRST), position("4101", SECOND));
    let fit = register
        .record("2029-03-01T00:00Z", fitted(one, &here))
        .await;
    register
        .record("2029-03-01T00:00Z", fitted(third, &there))
        .await;
    let taken = register
        .refuses_correction(fit, "2029-03-01T00:00Z", fitted(other, &there))
        .await;
    assert!(matches!(taken, Refusal::PositionTaken { .. }), "{taken}");
    let fit = register
        .correct(fit, "2029-02-20T00:00Z", fitted(other, &here))
        .await;
    let life = register.life(other).await;
    assert_eq!(life.fitments[0].from, at("2029-02-20T00:00Z"));
    assert_eq!(life.fitments[0].fitted_by, fit);
    assert_eq!(register.life(one).await.fitments.len(), 0);
    register.proves().await;
}

async fn a_fitment_is_corrected_only_after_what_ended_it(url: &str) {
    let (mut register, components) = founded(url).await;
    let one = &components.valves[0];
    let here = position("4101", FIRST);
    let fit = register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    let removal = register.record("2029-03-01T00:00Z", removed(one)).await;
    assert_rests(&register.refuses_withdrawal(fit).await, removal);
    register.withdraw(removal).await;
    register.withdraw(fit).await;
    // A fitment that was recorded with its end is corrected as one.
    let until = fitted_until(one, &here, at("2029-03-01T00:00Z"));
    let both = register.record("2029-02-01T00:00Z", until).await;
    register.withdraw(both).await;
    assert_eq!(register.life(one).await.fitments.len(), 0);
    register.proves().await;
}

async fn a_removal_is_withdrawn_while_nothing_has_happened_since(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let here = position("4101", FIRST);
    register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    let removal = register.record("2029-03-01T00:00Z", removed(one)).await;
    let successor = register
        .record("2029-03-02T00:00Z", fitted(other, &here))
        .await;
    let rests = register.refuses_withdrawal(removal).await;
    assert_rests(&rests, successor);
    let since = format!("contradicts {successor}, effective 2029-03-02 00:00 +00:00");
    assert!(rests.to_string().contains(&since), "{rests}");
    register.withdraw(successor).await;
    let shelf = register
        .record("2029-03-02T00:00Z", relocated(one, "Shelf 3"))
        .await;
    assert_rests(&register.refuses_withdrawal(removal).await, shelf);
    register.withdraw(shelf).await;
    let judgement = judged(one, Condition::Serviceable);
    let judgement = register.record("2029-03-02T00:00Z", judgement).await;
    assert_rests(&register.refuses_withdrawal(removal).await, judgement);
    let again = register
        .record("2029-03-03T00:00Z", fitted(one, &here))
        .await;
    assert_rests(&register.refuses_withdrawal(judgement).await, again);
    register.withdraw(again).await;
    register.withdraw(judgement).await;
    register.withdraw(removal).await;
    let life = register.life(one).await;
    assert_eq!(life.record.condition, Condition::Serviceable);
    assert_eq!(life.record.location(), None);
    assert!(life.fitments[0].end.is_none());
    register.proves().await;
}

async fn a_move_goes_back_only_to_a_place_that_stayed_empty(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (a, b, c) = (
        position("4101", FIRST),
        position("4102", FIRST),
        position("4103", FIRST),
    );
    register.record("2029-02-01T00:00Z", fitted(one, &a)).await;
    let shift = register.record("2029-03-01T00:00Z", moved(one, &b)).await;
    let successor = register
        .record("2029-03-02T00:00Z", fitted(other, &a))
        .await;
    assert_rests(&register.refuses_withdrawal(shift).await, successor);
    // It is no better when the successor has gone again.
    let away = register.record("2029-03-03T00:00Z", moved(other, &c)).await;
    assert_rests(&register.refuses_withdrawal(shift).await, successor);
    register.withdraw(away).await;
    register.withdraw(successor).await;
    register
        .correct(shift, "2029-03-01T00:00Z", moved(one, &c))
        .await;
    let places: Vec<_> = register
        .life(one)
        .await
        .fitments
        .into_iter()
        .map(|f| f.at)
        .collect();
    assert_eq!(places, [a, c]);
    register.proves().await;
}

async fn a_swap_is_withdrawn_with_both_sides(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (a, b) = (position("4101", FIRST), position("4102", FIRST));
    register.record("2029-02-01T00:00Z", fitted(one, &a)).await;
    register
        .record("2029-02-01T00:00Z", fitted(other, &b))
        .await;
    let swap = register
        .record("2029-03-01T00:00Z", swapped(one, other))
        .await;
    let removal = register.record("2029-04-01T00:00Z", removed(other)).await;
    assert_rests(&register.refuses_withdrawal(swap).await, removal);
    register.withdraw(removal).await;
    register.withdraw(swap).await;
    for (valve, place) in [(one, a), (other, b)] {
        let fitments = register.life(valve).await.fitments;
        assert_eq!(fitments.len(), 1);
        assert_eq!((&fitments[0].at, &fitments[0].end), (&place, &None));
    }
    register.proves().await;
}

async fn an_entry_is_corrected_once_by_an_entry_of_its_kind(url: &str) {
    let (mut register, _) = founded(url).await;
    let when = "2029-02-01T00:00Z";
    let reading = register.record(when, read("4101", 1_000)).await;
    let other_kind = register
        .refuses_correction(reading, when, unit("49", &["4103"]))
        .await;
    assert!(
        matches!(
            other_kind,
            Refusal::Impossible {
                field: "corrects",
                ..
            }
        ),
        "{other_kind}"
    );
    let corrected = register.correct(reading, when, read("4101", 1_001)).await;
    assert_rests(&register.refuses_withdrawal(reading).await, corrected);
    register.withdraw(corrected).await;
    let nothing = register.refuses_withdrawal(Seq(9_999)).await;
    assert!(
        matches!(
            nothing,
            Refusal::Unknown {
                what: "corrects",
                ..
            }
        ),
        "{nothing}"
    );
    let nothing = register.refuses(when, Fact::Withdrawn).await;
    assert!(
        matches!(
            nothing,
            Refusal::Impossible {
                field: "corrects",
                ..
            }
        ),
        "{nothing}"
    );
    register.proves().await;
}

async fn what_others_were_built_on_is_not_corrected(url: &str) {
    let (mut register, _) = founded(url).await;
    // Parts, car types, tasks, the procedure, cars and the unit.
    let last = register.tables.number("select seq from ledger_head").await;
    for seq in 1..=last {
        let mut view = register.store.view().await.unwrap();
        let kept = view.entry(Seq(seq)).await.unwrap().unwrap();
        drop(view);
        if kept.entry.fact.is_correctable() {
            continue;
        }
        let refusal = register.refuses_withdrawal(Seq(seq)).await;
        let Refusal::Impossible { field, allowed, .. } = &refusal else {
            panic!("{refusal}");
        };
        assert_eq!(*field, "corrects");
        assert_eq!(allowed, "record what is true now as a new entry");
    }
}

async fn a_correction_says_why_and_needs_the_role_for_both_entries(url: &str) {
    let (mut register, components) = founded(url).await;
    let one = &components.valves[0];
    let fit = fitted(one, &position("4101", FIRST));
    let fit = register.record("2029-02-01T00:00Z", fit).await;
    let silent = Command {
        reason: "  ".to_owned(),
        ..correction(fit, register.now, Fact::Withdrawn)
    };
    let silent = register
        .refuses_of(person(Role::BrakeEngineer), silent)
        .await;
    assert!(
        matches!(
            silent,
            Refusal::Impossible {
                field: "reason",
                ..
            }
        ),
        "{silent}"
    );
    let planner = correction(fit, register.now, Fact::Withdrawn);
    let planner = register.refuses_of(person(Role::Planner), planner).await;
    assert!(matches!(planner, Refusal::NotPermitted { .. }), "{planner}");
    let long = Command {
        reason: "x".repeat(501),
        ..command(at("2029-02-01T00:00Z"), read("4101", 1_000))
    };
    let long = register.refuses_of(person(Role::BrakeEngineer), long).await;
    assert!(
        matches!(
            long,
            Refusal::Impossible {
                field: "reason",
                ..
            }
        ),
        "{long}"
    );
}

each_database!(
    a_withdrawn_fitment_never_was,
    another_fitment_takes_the_place_of_a_wrong_one,
    a_fitment_is_corrected_only_after_what_ended_it,
    a_removal_is_withdrawn_while_nothing_has_happened_since,
    a_move_goes_back_only_to_a_place_that_stayed_empty,
    a_swap_is_withdrawn_with_both_sides,
    an_entry_is_corrected_once_by_an_entry_of_its_kind,
    what_others_were_built_on_is_not_corrected,
    a_correction_says_why_and_needs_the_role_for_both_entries,
);
