//! That something was beyond salvage, or scrapped, is told only after somebody judged it: whoever judges it
//! better then is refused as if it had been told in time. `domain.md`, invariant 4. Common practice, no
//! source.

use super::told_after::{in_other_words, judged_twice, kept, standing, told};
use domain::configuration::component::Condition;
use domain::configuration::component::Condition::{
    BeyondSalvage, Quarantined, Scrapped, Serviceable, Unserviceable,
};
use domain::ledger::consequences::DoubtKind;
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{at, fitted, judged, position, released};
use tests::fleet::FIRST;
use tests::register::{correction, person};

async fn ended(url: &str, as_what: Condition, better: &[Condition]) {
    let (mut register, valve, [_, fit]) = judged_twice(url).await;
    let held = judged(&valve, as_what);
    let late = kept(&mut register, "2029-03-03T00:00Z", held.clone()).await;
    let found = told(&late, &valve);
    let [DoubtKind::JudgedBefore { told, by, .. }] = &found[..] else {
        panic!("{found:?}");
    };
    assert_eq!((*told, *by), (as_what, fit));
    for better in better {
        let alone = judged(&valve, *better);
        let alone = register.refuses("2029-03-06T00:00Z", alone).await;
        assert_eq!(alone.conflicting_entry(), Some(late.seq), "{alone}");
    }
    let two = released(&valve, Serviceable);
    let two = register.refuses("2029-03-06T00:00Z", two).await;
    assert_eq!(two.conflicting_entry(), Some(late.seq), "{two}");
    let on = fitted(&valve, &position("4101", FIRST));
    let on = register.refuses("2029-03-06T00:00Z", on).await;
    assert_eq!(on.conflicting_entry(), Some(late.seq), "{on}");
    assert_eq!(standing(&register, &valve).await, [late.seq]);
    register.record("2029-03-07T00:00Z", held).await;
    assert_eq!(standing(&register, &valve).await, []);
    assert_eq!(register.life(&valve).await.record.condition, as_what);
    register.proves().await;
}

async fn what_is_told_after_to_be_beyond_salvage_is_judged_better_by_nobody(url: &str) {
    let better = [Serviceable, Unserviceable, Quarantined];
    ended(url, BeyondSalvage, &better).await;
}

async fn what_is_told_after_to_be_scrapped_stays_so(url: &str) {
    let better = [Serviceable, Quarantined, BeyondSalvage];
    ended(url, Scrapped, &better).await;
}

async fn only_a_brake_engineer_takes_back_what_was_told_after_to_be_beyond_salvage(url: &str) {
    let (mut register, valve, _) = judged_twice(url).await;
    let held = judged(&valve, BeyondSalvage);
    let late = register.record("2029-03-03T00:00Z", held.clone()).await;
    for fact in [Fact::Withdrawn, judged(&valve, Unserviceable)] {
        let back = correction(late, at("2029-03-03T00:00Z"), fact);
        let technician = person(Role::Technician);
        let refusal = register.refuses_of(technician, back).await;
        assert!(
            matches!(
                refusal,
                Refusal::ConditionForbids {
                    condition: BeyondSalvage,
                    ..
                }
            ),
            "{refusal}"
        );
    }
    // In other words it says the same still, and goes on raising the doubt.
    let words = in_other_words(&held);
    let late = register.correct(late, "2029-03-03T00:00Z", words).await;
    assert_eq!(standing(&register, &valve).await, [late]);
    register.withdraw(late).await;
    assert_eq!(standing(&register, &valve).await, []);
    let on = fitted(&valve, &position("4101", FIRST));
    register.record("2029-03-06T00:00Z", on).await;
    register.proves().await;
}

each_database!(
    what_is_told_after_to_be_beyond_salvage_is_judged_better_by_nobody,
    what_is_told_after_to_be_scrapped_stays_so,
    only_a_brake_engineer_takes_back_what_was_told_after_to_be_beyond_salvage,
);
