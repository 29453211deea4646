//! What an entry told late, or a correction, changes beyond what it says is worked out when it is
//! recorded and kept with it: use, due dates, departures, and verdicts of the past.

use domain::ledger::consequences::{CameOrWent, Consequences, Reconsidered};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::units::{Amount, Meter};
use store::Foresight;
use tests::decided::decision;
use tests::each_database;
use tests::facts::{at, fitted, isolated, position, read};
use tests::fleet::{self, FIRST};
use tests::register::{Register, command, correction, person};

async fn kept(register: &mut Register, effective_at: &str, fact: Fact) -> Entry {
    register.kept(command(at(effective_at), fact)).await
}

fn told(entry: &Entry) -> &Consequences {
    entry.consequences.as_ref().expect("what it changed")
}

async fn a_corrected_reading_tells_what_it_changed_of_use_and_due_dates(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let valve = &components.valves[0];
    kept(&mut register, "2029-01-02T00:00Z", read("4101", 100_000)).await;
    let here = position("4101", FIRST);
    kept(&mut register, "2029-01-02T00:00Z", fitted(valve, &here)).await;
    let wrong = kept(&mut register, "2029-07-02T00:00Z", read("4101", 190_000)).await;
    let right = correction(wrong.seq, at("2029-07-02T00:00Z"), read("4101", 160_000));
    let actor = person(Role::BrakeEngineer);
    let foreseen = register.store.foresee(&actor, right.clone(), register.now);
    let Ok(Foresight::Would(foreseen)) = foreseen.await else {
        panic!("it may be recorded")
    };
    let entry = register.kept(right).await;
    assert_eq!(*foreseen, *told(&entry), "as it was shown");
    let used = told(&entry).usage.told.iter();
    let mut used = used.filter(|one| one.component == *valve && one.meter == Meter::Odometer);
    let used = used.next().expect("its use");
    assert_eq!(used.before, Some(Amount::whole(90_000)));
    assert_eq!(used.after, Some(Amount::whole(60_000)));
    // It is in the ledger and in its hash, and is read again as it was.
    let mut view = register.store.view().await.unwrap();
    let again = view.entry(entry.seq).await.unwrap().unwrap();
    assert_eq!(again.entry, entry);
    drop(view);
    register.proves().await;
}

async fn what_is_recorded_in_time_tells_nothing(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let now = register.now.to_string();
    let entry = kept(&mut register, &now, read("4101", 100_000)).await;
    assert_eq!(entry.consequences, None);
}

async fn departures_that_come_or_go_are_told(url: &str) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let here = position("4101", FIRST);
    let fit = kept(
        &mut register,
        "2029-01-02T00:00Z",
        fitted(&components.valves[0], &here),
    )
    .await;
    let went = &told(&fit).departures.told;
    assert!(
        went.iter()
            .any(|one| one.departure.at == here && one.change == CameOrWent::Went),
        "{went:?}"
    );
    let back = register.withdraw(fit.seq).await;
    let mut view = register.store.view().await.unwrap();
    let back = view.entry(back).await.unwrap().unwrap().entry;
    let came = &told(&back).departures.told;
    assert!(
        came.iter()
            .any(|one| one.departure.at == here && one.change == CameOrWent::Came),
        "{came:?}"
    );
}

/// Decides about train T1 as it stands now.
async fn decide(register: &mut Register) -> Seq {
    let taken = decision(&register.store, "T1", register.now, &[]).await;
    let now = register.now.to_string();
    register
        .record(&now, Fact::DecisionTaken(Box::new(taken)))
        .await
}

async fn a_cut_out_told_late_names_the_decisions_that_did_not_know_of_it(url: &str) {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is("2026-11-20T12:00Z");
    let decided = decide(&mut register).await;
    register.now_is("2026-11-21T12:00Z");
    let later = decide(&mut register).await;
    register.now_is("2026-11-25T12:00Z");
    let cock = position("4101", "=BS1-QM1");
    // Closed between the two decisions, and told of days later.
    let entry = kept(&mut register, "2026-11-21T06:00Z", isolated(&cock)).await;
    let [moved] = &told(&entry).verdicts.told[..] else {
        panic!("{:?}", told(&entry).verdicts)
    };
    assert_eq!(moved.decision, later);
    assert_eq!(moved.decided_by.as_str(), "C. Controller");
    assert_eq!(moved.told.cut_outs, 0);
    let Reconsidered::Found(now) = &moved.now else {
        panic!("{:?}", moved.now)
    };
    assert_eq!(now.cut_outs, 1, "{now}");
    assert_eq!(told(&entry).void.len(), 1, "the later one stood");
    assert_ne!(decided, later);
    // Its withdrawal finds again what was found.
    let back = correction(entry.seq, at("2026-11-21T06:00Z"), Fact::Withdrawn);
    let back = register.kept(back).await;
    let [moved] = &told(&back).verdicts.told[..] else {
        panic!("{:?}", told(&back).verdicts)
    };
    assert_eq!(moved.now, Reconsidered::Found(moved.told.clone()));
    register.proves().await;
}

each_database!(
    a_corrected_reading_tells_what_it_changed_of_use_and_due_dates,
    what_is_recorded_in_time_tells_nothing,
    departures_that_come_or_go_are_told,
    a_cut_out_told_late_names_the_decisions_that_did_not_know_of_it,
);
