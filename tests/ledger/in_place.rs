//! A correction is decided on the history that comes of it: what was recorded since goes on where that
//! can be, and else is named.

use domain::configuration::component::{Condition, RemovalReason};
use domain::ledger::entry::Seq;
use domain::ledger::fact::{CutOut, Fact};
use domain::refusal::Refusal;
use domain::time::Instant;
use store::read::AsAt;
use tests::each_database;
use tests::facts::{
    at, fitted, fitted_until, isolated, isolation_ended, judged, leakage_tested, moved, position,
    relocated, removed, removed_as,
};
use tests::fleet::{self, COCK, Components, FIRST};
use tests::register::Register;

async fn founded(url: &str) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    (register, components)
}

fn assert_against(refusal: &Refusal, entry: Seq) {
    assert_eq!(refusal.conflicting_entry(), Some(entry), "{refusal}");
}

async fn a_removal_is_corrected_though_another_was_fitted_since(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let here = position("4101", FIRST);
    register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    let removal = register.record("2029-03-01T10:00Z", removed(one)).await;
    let successor = fitted(other, &here);
    let successor = register.record("2029-03-01T11:00Z", successor).await;
    let removal = register
        .correct(removal, "2029-03-01T10:30Z", removed(one))
        .await;
    let mut failed = removed(one);
    if let Fact::Removed { removal, .. } = &mut failed {
        removal.reason = RemovalReason::Failed;
    }
    let removal = register
        .correct(removal, "2029-03-01T10:30Z", failed.clone())
        .await;
    let life = register.life(one).await;
    let end = life.fitments[0].end.as_ref().expect("it came off");
    assert_eq!((end.at, end.by), (at("2029-03-01T10:30Z"), removal));
    assert_eq!(end.reason, Some(RemovalReason::Failed));
    let late = register
        .refuses_correction(removal, "2029-03-01T11:30Z", failed.clone())
        .await;
    assert_against(&late, successor);
    // What was said of it in store was said after it came off.
    let shelf = relocated(one, "Shelf 3");
    let shelf = register.record("2029-03-01T12:00Z", shelf).await;
    register.withdraw(successor).await;
    let later = register
        .refuses_correction(removal, "2029-03-01T13:00Z", failed)
        .await;
    assert_against(&later, shelf);
    register.proves().await;
}

async fn a_removal_is_not_made_worse_than_the_next_fitment_allows(url: &str) {
    let (mut register, components) = founded(url).await;
    let one = &components.valves[0];
    let (here, there) = (position("4101", FIRST), position("4102", FIRST));
    register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    let off = removed_as(one, Condition::Serviceable);
    let removal = register.record("2029-03-01T10:00Z", off).await;
    let again = register
        .record("2029-03-02T10:00Z", fitted(one, &there))
        .await;
    let unjudged = register
        .refuses_correction(removal, "2029-03-01T10:00Z", removed(one))
        .await;
    assert_against(&unjudged, again);
    // As it was, at another time, it goes on.
    let off = removed_as(one, Condition::Serviceable);
    register.correct(removal, "2029-03-01T09:00Z", off).await;
    let life = register.life(one).await;
    assert_eq!(life.fitments.len(), 2);
    assert!(life.fitments.iter().any(|one| one.end.is_none()));
    register.proves().await;
}

async fn a_fitting_moved_in_time_ends_as_it_did(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let here = position("4101", FIRST);
    let before = fitted_until(other, &here, at("2029-01-20T00:00Z"));
    let before = register.record("2029-01-10T00:00Z", before).await;
    let fit = register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    let removal = register.record("2029-03-01T00:00Z", removed(one)).await;
    let fit = register
        .correct(fit, "2029-02-02T00:00Z", fitted(one, &here))
        .await;
    let life = register.life(one).await;
    let [fitment] = &life.fitments[..] else {
        panic!("{:?}", life.fitments)
    };
    assert_eq!(
        (fitment.from, fitment.fitted_by),
        (at("2029-02-02T00:00Z"), fit)
    );
    let end = fitment.end.as_ref().expect("it came off");
    assert_eq!((end.at, end.by), (at("2029-03-01T00:00Z"), removal));
    assert_eq!(life.record.since_by, removal);
    let late = register
        .refuses_correction(fit, "2029-03-01T06:00Z", fitted(one, &here))
        .await;
    assert_against(&late, removal);
    let early = register
        .refuses_correction(fit, "2029-01-15T00:00Z", fitted(one, &here))
        .await;
    assert_against(&early, before);
    register.proves().await;
}

async fn an_entry_that_was_corrected_names_the_other_with_both_times(url: &str) {
    let (mut register, components) = founded(url).await;
    let here = position("4101", FIRST);
    let fit = fitted(&components.valves[0], &here);
    let first = register.record("2029-02-01T00:00Z", fit.clone()).await;
    let second = register
        .correct(first, "2029-02-02T00:00Z", fit.clone())
        .await;
    let refused = register
        .refuses_correction(first, "2029-02-03T00:00Z", fit.clone())
        .await;
    assert_against(&refused, second);
    let told = refused.to_string();
    assert!(told.contains("which was effective 2029-02-01"), "{told}");
    let against = format!("contradicts {second}, effective 2029-02-02");
    assert!(told.contains(&against), "{told}");
    // What holds from the same time is told with one.
    let third = register
        .correct(second, "2029-02-02T00:00Z", fit.clone())
        .await;
    let refused = register
        .refuses_correction(second, "2029-02-03T00:00Z", fit)
        .await;
    assert_against(&refused, third);
    let told = refused.to_string();
    assert!(!told.contains("which was effective"), "{told}");
    register.proves().await;
}

async fn a_move_takes_place_at_another_time_while_its_places_are_free(url: &str) {
    let (mut register, components) = founded(url).await;
    let [one, other, ..] = &components.valves[..] else {
        unreachable!()
    };
    let (a, b) = (position("4101", FIRST), position("4102", FIRST));
    register.record("2029-02-01T00:00Z", fitted(one, &a)).await;
    let shift = register.record("2029-03-01T00:00Z", moved(one, &b)).await;
    let successor = register
        .record("2029-03-05T00:00Z", fitted(other, &a))
        .await;
    let removal = register.record("2029-04-01T00:00Z", removed(one)).await;
    let shift = register
        .correct(shift, "2029-03-02T00:00Z", moved(one, &b))
        .await;
    let mut fitments = register.life(one).await.fitments;
    fitments.sort_by_key(|fitment| fitment.from);
    let ends = fitments
        .iter()
        .map(|one| one.end.as_ref().map(|end| end.by));
    assert_eq!(ends.collect::<Vec<_>>(), [Some(shift), Some(removal)]);
    let late = register
        .refuses_correction(shift, "2029-03-06T00:00Z", moved(one, &b))
        .await;
    assert_against(&late, successor);
    register.proves().await;
}

/// The cut-outs of car 4101 until the middle of February, as known at a time: since when, and when
/// they ended.
async fn cut_outs_known(register: &Register, known: &str) -> Vec<(Instant, Option<Instant>)> {
    let mut view = register.store.view().await.unwrap();
    let car = view.car(&"4101".parse().unwrap()).await.unwrap().unwrap();
    let as_at = AsAt {
        effective: at("2029-02-15T00:00Z"),
        known: at(known),
    };
    let told = view.cut_outs_told(&car, as_at).await.unwrap();
    let told = told.into_iter();
    told.map(|one| (one.since, one.ended.map(|(at, _)| at)))
        .collect()
}

async fn a_cut_out_that_has_ended_and_its_end_are_corrected(url: &str) {
    let (mut register, _) = founded(url).await;
    let cock = position("4101", COCK);
    let cut_out = register.record("2029-02-01T00:00Z", isolated(&cock)).await;
    let tested = leakage_tested("T 1", "4101", at("2029-02-02T00:00Z"), "0.1");
    register.record("2029-02-02T00:00Z", tested).await;
    let end = isolation_ended(&cock, "T 1");
    let ended = register.record("2029-02-03T00:00Z", end.clone()).await;
    let again = register.record("2029-03-01T00:00Z", isolated(&cock)).await;
    let Fact::Isolated(wrong) = isolated(&cock) else {
        unreachable!()
    };
    let right = Fact::Isolated(CutOut {
        cause: "a broken pipe".to_owned(),
        ..wrong
    });
    register.now_is("2030-03-05T06:00Z");
    let cut_out = register
        .correct(cut_out, "2029-01-31T00:00Z", right.clone())
        .await;
    for (known, since) in [
        ("2030-03-01T00:00Z", "2029-02-01T00:00Z"),
        ("2030-03-09T00:00Z", "2029-01-31T00:00Z"),
    ] {
        let told = cut_outs_known(&register, known).await;
        assert_eq!(
            told,
            [(at(since), Some(at("2029-02-03T00:00Z")))],
            "{known}"
        );
    }
    // The test is then from before.
    let late = register
        .refuses_correction(cut_out, "2029-02-02T06:00Z", right.clone())
        .await;
    assert_against(&late, ended);
    let after = register
        .refuses_correction(cut_out, "2029-02-04T00:00Z", right)
        .await;
    assert_against(&after, ended);
    let ended = register
        .correct(ended, "2029-02-02T12:00Z", end.clone())
        .await;
    let meets = register
        .refuses_correction(ended, "2029-03-02T00:00Z", end)
        .await;
    assert_against(&meets, again);
    let in_force = "select count(*) from isolation where ended_at is null";
    assert_eq!(register.tables.number(in_force).await, 1);
    let since =
        "select count(*) from isolation where ended_at is not null and cause = 'a broken pipe'";
    assert_eq!(register.tables.number(since).await, 1);
    register.proves().await;
}

async fn the_evidence_of_a_judgement_is_corrected_though_it_was_fitted_since(url: &str) {
    let (mut register, components) = founded(url).await;
    let one = &components.valves[0];
    let here = position("4101", FIRST);
    register
        .record("2029-02-01T00:00Z", fitted(one, &here))
        .await;
    register.record("2029-03-01T00:00Z", removed(one)).await;
    let judgement = judged(one, Condition::Serviceable);
    let judgement = register.record("2029-03-02T00:00Z", judgement).await;
    let again = register
        .record("2029-03-03T00:00Z", fitted(one, &here))
        .await;
    let right = Fact::ConditionJudged {
        component: one.clone(),
        condition: Condition::Serviceable,
        evidence: "certificate 7".to_owned(),
    };
    let judgement = register
        .correct(judgement, "2029-03-02T00:00Z", right.clone())
        .await;
    let late = register
        .refuses_correction(judgement, "2029-03-04T00:00Z", right)
        .await;
    assert_against(&late, again);
    let unfit = judged(one, Condition::Unserviceable);
    let unfit = register
        .refuses_correction(judgement, "2029-03-02T00:00Z", unfit)
        .await;
    assert_against(&unfit, again);
    register.proves().await;
}

async fn what_is_held_only_by_a_correction_is_released_by_nobody_who_did_not_know(url: &str) {
    let (mut register, components) = founded(url).await;
    let one = &components.valves[0];
    let unfit = judged(one, Condition::Unserviceable);
    let unfit = register.record("2029-03-01T00:00Z", unfit).await;
    let fit = judged(one, Condition::Serviceable);
    register.record("2029-03-02T00:00Z", fit.clone()).await;
    let worse = judged(one, Condition::RemovedToBeJudged);
    let unfit = register.correct(unfit, "2029-03-01T00:00Z", worse).await;
    let held = judged(one, Condition::Quarantined);
    let held = register.correct(unfit, "2029-03-01T00:00Z", held).await;
    let life = register.life(one).await;
    assert_eq!(life.record.condition, Condition::Serviceable);
    let alone = register.refuses("2029-03-03T00:00Z", fit).await;
    assert_against(&alone, held);
    register.proves().await;
}

each_database!(
    an_entry_that_was_corrected_names_the_other_with_both_times,
    a_removal_is_corrected_though_another_was_fitted_since,
    a_removal_is_not_made_worse_than_the_next_fitment_allows,
    a_fitting_moved_in_time_ends_as_it_did,
    a_move_takes_place_at_another_time_while_its_places_are_free,
    a_cut_out_that_has_ended_and_its_end_are_corrected,
    the_evidence_of_a_judgement_is_corrected_though_it_was_fitted_since,
    what_is_held_only_by_a_correction_is_released_by_nobody_who_did_not_know,
);
