//! A quarantine that is told only after somebody judged, or took something out of it, is history; whoever
//! did not know of it judges again. `practice.md`, C.4, and `domain.md`, invariant 4. Common
//! practice, no source.

use domain::configuration::component::ComponentRef;
use domain::configuration::component::Condition::{Quarantined, Serviceable, Unserviceable};
use domain::ledger::consequences::DoubtKind;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::ledger::record::founder;
use domain::refusal::Refusal;
use store::Imported;
use tests::assemblies::{self, INNER_RELAY, INNER_VALVE, PANEL_PLACE};
use tests::each_database;
use tests::facts::{
    at, fitted, fitted_at, inside, judged, position, released, removed, removed_as,
};
use tests::fleet::{self, FIRST, SECOND};
use tests::keep_all::KeepAll;
use tests::register::{Register, command};

const FOUNDED: &str = "2029-01-01T00:00Z";

/// The doubts that an entry told of a component.
pub(super) fn told(entry: &Entry, of: &ComponentRef) -> Vec<DoubtKind> {
    let told = entry.consequences.iter().flat_map(|told| &told.doubts);
    let told = told.filter(|doubt| doubt.component == *of);
    told.map(|doubt| doubt.why.clone()).collect()
}

pub(super) async fn kept(register: &mut Register, effective: &str, fact: Fact) -> Entry {
    register.kept(command(at(effective), fact)).await
}

async fn entry(register: &Register, seq: Seq) -> Entry {
    let mut view = register.store.view().await.unwrap();
    view.entry(seq).await.unwrap().unwrap().entry
}

/// The entries that raised the doubts about a component which stand.
pub(super) async fn standing(register: &Register, of: &ComponentRef) -> Vec<Seq> {
    let mut view = register.store.view().await.unwrap();
    let doubts = view.doubts_of(of).await.unwrap();
    let all = view.doubted().await.unwrap();
    assert_eq!(
        doubts.len(),
        all.iter().filter(|one| one.doubt.component == *of).count()
    );
    doubts.iter().map(|one| one.raised_by).collect()
}

/// A valve that was found unserviceable and then serviceable, with the entry of that.
pub(super) async fn judged_twice(url: &str) -> (Register, ComponentRef, [Seq; 2]) {
    let mut register = Register::open(url).await;
    let valve = fleet::found(&mut register, FOUNDED).await.valves[0].clone();
    let unfit = judged(&valve, Unserviceable);
    let unfit = register.record("2029-03-01T00:00Z", unfit).await;
    let fit = judged(&valve, Serviceable);
    let fit = register.record("2029-03-05T00:00Z", fit).await;
    (register, valve, [unfit, fit])
}

/// The doubt about a valve that was judged twice.
async fn unaware(register: &Register, fit: Seq, since: &str, told_by: Option<Seq>) -> DoubtKind {
    DoubtKind::JudgedBefore {
        told: Quarantined,
        since: since.parse().unwrap(),
        judged: Serviceable,
        on: "2029-03-05".parse().unwrap(),
        by: fit,
        judged_by: Some(entry(register, fit).await.actor),
        told_by,
    }
}

async fn a_quarantine_told_after_a_judgement_leaves_it_in_doubt_until_two_people_judge(url: &str) {
    let (mut register, valve, [_, fit]) = judged_twice(url).await;
    let held = judged(&valve, Quarantined);
    let late = kept(&mut register, "2029-03-03T00:00Z", held).await;
    let expected = unaware(&register, fit, "2029-03-03", None).await;
    assert_eq!(told(&late, &valve), [expected]);
    assert_eq!(register.life(&valve).await.record.condition, Serviceable);
    assert_eq!(standing(&register, &valve).await, [late.seq]);

    // It is seen again when it is fitted, and that raises no doubt of its own.
    let on = fitted(&valve, &position("4101", FIRST));
    let on = kept(&mut register, "2029-03-06T00:00Z", on).await;
    let again = unaware(&register, fit, "2029-03-03", Some(late.seq)).await;
    assert_eq!(told(&on, &valve), [again]);
    assert_eq!(standing(&register, &valve).await, [late.seq]);

    let alone = judged(&valve, Serviceable);
    let alone = register.refuses("2029-03-07T00:00Z", alone).await;
    assert_eq!(alone.conflicting_entry(), Some(late.seq), "{alone}");
    // To take it off is not to judge it.
    register.record("2029-03-07T00:00Z", removed(&valve)).await;
    let alone = judged(&valve, Unserviceable);
    let alone = register.refuses("2029-03-08T00:00Z", alone).await;
    assert_eq!(alone.conflicting_entry(), Some(late.seq), "{alone}");
    assert_eq!(standing(&register, &valve).await, [late.seq]);

    let release = released(&valve, Serviceable);
    let release = register.record("2029-03-08T00:00Z", release).await;
    register.approve(release, "2029-03-08T00:00Z").await;
    assert_eq!(standing(&register, &valve).await, []);
    let idle = register
        .refuses("2029-03-09T00:00Z", released(&valve, Serviceable))
        .await;
    assert!(matches!(idle, Refusal::ConditionForbids { .. }), "{idle}");
    register.proves().await;
}

async fn a_correction_that_says_so_leaves_it_in_doubt_too(url: &str) {
    let (mut register, valve, [unfit, fit]) = judged_twice(url).await;
    let held = judged(&valve, Quarantined);
    let right = register
        .correct(unfit, "2029-03-01T00:00Z", held.clone())
        .await;
    let expected = unaware(&register, fit, "2029-03-01", None).await;
    assert_eq!(told(&entry(&register, right).await, &valve), [expected]);
    assert_eq!(standing(&register, &valve).await, [right]);
    register.withdraw(right).await;
    assert_eq!(standing(&register, &valve).await, []);
    register.proves().await;
}

async fn who_knew_of_the_quarantine_is_in_no_doubt_when_its_time_is_corrected(url: &str) {
    let mut register = Register::open(url).await;
    let valve = fleet::found(&mut register, FOUNDED).await.valves[0].clone();
    let held = judged(&valve, Quarantined);
    let wrong = register.record("2029-03-01T10:00Z", held.clone()).await;
    let release = released(&valve, Serviceable);
    let release = register.record("2029-03-02T00:00Z", release).await;
    register.approve(release, "2029-03-02T00:00Z").await;
    let right = register.correct(wrong, "2029-03-01T10:05Z", held).await;
    assert_eq!(told(&entry(&register, right).await, &valve), []);
    assert_eq!(standing(&register, &valve).await, []);
    register.proves().await;
}

/// The same judgement on other evidence.
pub(super) fn in_other_words(judged: &Fact) -> Fact {
    let mut told = judged.clone();
    if let Fact::ConditionJudged { evidence, .. } = &mut told {
        "its label".clone_into(evidence);
    }
    told
}

async fn a_doubt_goes_on_by_the_correction_of_what_raised_it_until_it_is_answered(url: &str) {
    let (mut register, valve, _) = judged_twice(url).await;
    let held = judged(&valve, Quarantined);
    let late = register.record("2029-03-03T00:00Z", held.clone()).await;
    let late = register
        .correct(late, "2029-03-03T00:00Z", in_other_words(&held))
        .await;
    assert_eq!(standing(&register, &valve).await, [late]);
    let release = released(&valve, Serviceable);
    let release = register.record("2029-03-08T00:00Z", release).await;
    register.approve(release, "2029-03-08T00:00Z").await;
    register.correct(late, "2029-03-04T00:00Z", held).await;
    assert_eq!(standing(&register, &valve).await, []);
    register.proves().await;
}

async fn a_doubt_about_what_left_goes_on_by_the_correction_of_what_raised_it(url: &str) {
    let (mut register, [panel, valve, _], _) = with_panel(url).await;
    let out = removed_as(&valve, Serviceable);
    register.record("2029-02-05T00:00Z", out).await;
    let held = judged(&panel, Quarantined);
    let late = register.record("2029-02-03T00:00Z", held.clone()).await;
    let late = register
        .correct(late, "2029-02-03T00:00Z", in_other_words(&held))
        .await;
    assert_eq!(standing(&register, &valve).await, [late]);
    let sound = judged(&valve, Serviceable);
    register.record("2029-02-08T00:00Z", sound).await;
    register.correct(late, "2029-02-03T00:00Z", held).await;
    assert_eq!(standing(&register, &valve).await, []);
    register.proves().await;
}

async fn a_released_quarantine_that_is_corrected_is_answered_no_second_time(url: &str) {
    let mut register = Register::open(url).await;
    let valve = fleet::found(&mut register, FOUNDED).await.valves[0].clone();
    let held = judged(&valve, Quarantined);
    let mut wrong = register.record("2029-03-01T10:00Z", held.clone()).await;
    let release = released(&valve, Serviceable);
    let release = register.record("2029-03-02T00:00Z", release).await;
    register.approve(release, "2029-03-02T00:00Z").await;
    // Once in its time, and once in its words alone.
    for fact in [held.clone(), in_other_words(&held)] {
        wrong = register.correct(wrong, "2029-03-01T10:05Z", fact).await;
        assert_eq!(standing(&register, &valve).await, []);
    }
    let again = released(&valve, Serviceable);
    let again = register.refuses("2029-03-03T00:00Z", again).await;
    assert!(matches!(again, Refusal::ConditionForbids { .. }), "{again}");
    let alone = judged(&valve, Unserviceable);
    register.record("2029-03-03T00:00Z", alone).await;
    register.proves().await;
}

async fn who_takes_the_late_quarantine_back_answers_it_alone(url: &str) {
    let (mut register, valve, _) = judged_twice(url).await;
    let held = judged(&valve, Quarantined);
    let late = register.record("2029-03-03T00:00Z", held).await;
    let unfit = judged(&valve, Unserviceable);
    let right = register.correct(late, "2029-03-03T00:00Z", unfit).await;
    assert_eq!(told(&entry(&register, right).await, &valve), []);
    assert_eq!(standing(&register, &valve).await, []);
    let sound = judged(&valve, Serviceable);
    register.record("2029-03-08T00:00Z", sound).await;
    register.proves().await;
}

/// Brings facts in by one import.
async fn imports(register: &Register, facts: Vec<(&str, Fact)>) {
    let machine = founder("machine".parse().unwrap());
    let commands = facts.into_iter();
    let commands = commands.map(|(effective, fact)| ((), command(at(effective), fact)));
    let mut watch = KeepAll;
    let imported = register
        .store
        .import(&machine, register.now, commands, &mut watch);
    let imported = imported.await.unwrap();
    assert!(matches!(imported, Imported::Kept(_)), "{imported:?}");
}

async fn an_import_raises_doubts_about_what_was_judged_before_it(url: &str) {
    let (mut register, valve, [_, fit]) = judged_twice(url).await;
    let held = judged(&valve, Quarantined);
    imports(&register, vec![("2029-03-03T00:00Z", held.clone())]).await;
    let late = standing(&register, &valve).await;
    let [late] = late[..] else { panic!("{late:?}") };
    let expected = unaware(&register, fit, "2029-03-03", None).await;
    assert_eq!(told(&entry(&register, late).await, &valve), [expected]);
    let alone = judged(&valve, Serviceable);
    let alone = register.refuses("2029-03-07T00:00Z", alone).await;
    assert_eq!(alone.conflicting_entry(), Some(late), "{alone}");
    // Who brings in a judgement with it knows of both, in whichever order the two are told.
    let fit = judged(&valve, Serviceable);
    let both = vec![("2029-03-09T00:00Z", fit), ("2029-03-08T00:00Z", held)];
    imports(&register, both).await;
    assert_eq!(standing(&register, &valve).await, []);
    register.proves().await;
}

/// A panel with a valve and a relay valve in it, on a car since 2 February; with the entry that put the
/// relay valve in.
async fn with_panel(url: &str) -> (Register, [ComponentRef; 3], Seq) {
    let mut register = Register::open(url).await;
    let components = assemblies::found(&mut register, FOUNDED).await;
    let [panel, ..] = assemblies::components();
    let valve = components.valves[0].clone();
    let relay = components.relay.clone();
    let inner = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    register.record("2029-02-01T00:00Z", inner).await;
    let inner = fitted_at(&relay, &inside(&panel, INNER_RELAY));
    let inner = register.record("2029-02-01T00:00Z", inner).await;
    let on = fitted(&panel, &position("4101", PANEL_PLACE));
    register.record("2029-02-02T00:00Z", on).await;
    (register, [panel, valve, relay], inner)
}

fn left(panel: &ComponentRef, since: &str, left: Option<&str>) -> DoubtKind {
    DoubtKind::LeftHeld {
        assembly: panel.clone(),
        condition: Quarantined,
        since: since.parse().unwrap(),
        left: left.map(|day| day.parse().unwrap()),
        told_by: None,
    }
}

async fn what_had_left_a_panel_that_is_quarantined_for_an_earlier_time_is_judged_again(url: &str) {
    let (mut register, [panel, valve, relay], _) = with_panel(url).await;
    let out = removed_as(&valve, Serviceable);
    register.record("2029-02-05T00:00Z", out).await;
    let on = fitted(&valve, &position("4102", FIRST));
    register.record("2029-02-06T00:00Z", on).await;
    let held = judged(&panel, Quarantined);
    let late = kept(&mut register, "2029-02-03T00:00Z", held).await;
    let expected = left(&panel, "2029-02-03", Some("2029-02-05"));
    assert_eq!(told(&late, &valve), [expected]);
    assert_eq!(told(&late, &relay), [], "it is inside it");
    assert_eq!(standing(&register, &valve).await, [late.seq]);
    // It was quarantined itself by nobody: one person judges it.
    let sound = judged(&valve, Serviceable);
    register.record("2029-02-08T00:00Z", sound).await;
    assert_eq!(standing(&register, &valve).await, []);
    register.proves().await;
}

async fn what_is_told_after_to_have_left_before_a_quarantine_is_judged_again(url: &str) {
    let (mut register, [panel, valve, relay], inner) = with_panel(url).await;
    let held = judged(&panel, Quarantined);
    register.record("2029-02-11T00:00Z", held).await;
    let out = removed_as(&valve, Serviceable);
    let late = kept(&mut register, "2029-02-05T00:00Z", out).await;
    let expected = left(&panel, "2029-02-11", Some("2029-02-05"));
    assert_eq!(told(&late, &valve), [expected]);
    assert_eq!(standing(&register, &valve).await, [late.seq]);
    // Never inside it is out of it as well.
    let never = register.withdraw(inner).await;
    let expected = left(&panel, "2029-02-11", None);
    assert_eq!(told(&entry(&register, never).await, &relay), [expected]);
    // To come out to be judged leaves no doubt.
    register.withdraw(late.seq).await;
    let off = kept(&mut register, "2029-02-05T00:00Z", removed(&valve)).await;
    assert_eq!(told(&off, &valve), []);
    let unjudged = fitted(&valve, &position("4102", SECOND));
    register.refuses("2029-02-12T00:00Z", unjudged).await;
    register.proves().await;
}

each_database!(
    a_doubt_goes_on_by_the_correction_of_what_raised_it_until_it_is_answered,
    a_doubt_about_what_left_goes_on_by_the_correction_of_what_raised_it,
    a_released_quarantine_that_is_corrected_is_answered_no_second_time,
    who_takes_the_late_quarantine_back_answers_it_alone,
    an_import_raises_doubts_about_what_was_judged_before_it,
    a_quarantine_told_after_a_judgement_leaves_it_in_doubt_until_two_people_judge,
    a_correction_that_says_so_leaves_it_in_doubt_too,
    who_knew_of_the_quarantine_is_in_no_doubt_when_its_time_is_corrected,
    what_had_left_a_panel_that_is_quarantined_for_an_earlier_time_is_judged_again,
    what_is_told_after_to_have_left_before_a_quarantine_is_judged_again,
);
