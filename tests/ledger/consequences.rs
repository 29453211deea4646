//! What an entry told late, or a correction, changes beyond what it says is worked out when it is
//! recorded and kept with it: use, due dates, departures, and verdicts of the past.

use domain::configuration::car::{OrderedCar, Orientation, Train, Unit, Vehicle};
use domain::configuration::effectivity::Effectivity;
use domain::identity::Revision;
use domain::ledger::consequences::{
    CameOrWent, Certainty, Consequences, FoundPart, Reconsidered, VerdictMoved,
};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::{CutOut, Fact};
use domain::ledger::proposal::Proposal;
use domain::people::Role;
use domain::units::{Amount, Meter};
use store::Foresight;
use tests::decided::decision;
use tests::each_database;
use tests::facts::{at, fitted, isolated, position, read};
use tests::fleet::{self, FIRST};
use tests::register::{Register, command, correction, person};
use tests::settings::found;

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
    assert_eq!(told_late(&register, later).await, Some(entry.seq));
    assert_eq!(told_late(&register, decided).await, None);
    // Its withdrawal finds again what was found.
    let back = correction(entry.seq, at("2026-11-21T06:00Z"), Fact::Withdrawn);
    let back = register.kept(back).await;
    let [moved] = &told(&back).verdicts.told[..] else {
        panic!("{:?}", told(&back).verdicts)
    };
    assert_eq!(moved.now, Reconsidered::Found(moved.told.clone()));
    assert_eq!(told_late(&register, later).await, None, "as it was again");
    register.proves().await;
}

async fn a_cut_out_found_now_names_the_decisions_since_it_was_last_seen_right(url: &str) {
    let (mut register, [first, second]) = decided_twice(url).await;
    let Fact::Isolated(cut_out) = isolated(&position("4101", "=BS1-QM1")) else {
        unreachable!()
    };
    let found = Fact::Isolated(CutOut {
        not_before: Some(at("2026-11-21T06:00Z")),
        ..cut_out
    });
    let entry = kept(&mut register, "2026-11-25T12:00Z", found).await;
    let [moved] = &told(&entry).verdicts.told[..] else {
        panic!("{:?}", told(&entry).verdicts)
    };
    assert_eq!(
        moved.decision, second,
        "the first was before it was seen right"
    );
    assert_eq!(moved.certainty, Certainty::Perhaps);
    let Reconsidered::Found(now) = &moved.now else {
        panic!("{:?}", moved.now)
    };
    assert_eq!(now.cut_outs, 1, "{now}");
    assert_eq!(told_late(&register, second).await, Some(entry.seq));
    assert_eq!(told_late(&register, first).await, None);
    // Taken back, it may have been there no more.
    register.withdraw(entry.seq).await;
    assert_eq!(told_late(&register, second).await, None);
    register.proves().await;
}

/// The entry told since a decision with which it would have found something else.
async fn told_late(register: &Register, decision: Seq) -> Option<Seq> {
    let mut view = register.store.view().await.unwrap();
    let kept = view.decision(decision).await.unwrap().unwrap();
    kept.record.told_late
}

async fn what_is_told_late_by_hours_is_told_where_a_decision_lies_between(url: &str) {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is("2026-11-21T12:00Z");
    let decided = decide(&mut register).await;
    register.now_is("2026-11-21T14:00Z");
    // Closed an hour after the decision: nobody was told wrongly.
    let after = isolated(&position("4102", "=BS1-QM1"));
    let after = kept(&mut register, "2026-11-21T13:00Z", after).await;
    assert_eq!(after.consequences, None);
    register.withdraw(after.seq).await;
    register.now_is("2026-11-21T15:00Z");
    let again = decide(&mut register).await;
    register.now_is("2026-11-21T16:00Z");
    let before = isolated(&position("4101", "=BS1-QM1"));
    let before = kept(&mut register, "2026-11-21T11:00Z", before).await;
    let moved = told(&before).verdicts.told.iter().map(|one| one.decision);
    assert_eq!(moved.collect::<Vec<_>>(), [decided, again]);
    register.proves().await;
}

/// It is void by what came after it, and still did not know of what came before.
async fn a_void_decision_is_marked_by_what_is_told_late_by_hours(url: &str) {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is("2026-11-21T12:00Z");
    let decided = decide(&mut register).await;
    register.now_is("2026-11-21T14:00Z");
    let after = isolated(&position("4102", "=BS1-QM1"));
    let after = kept(&mut register, "2026-11-21T13:00Z", after).await;
    assert_eq!(after.consequences, None);
    assert_eq!(told_late(&register, decided).await, None);
    register.now_is("2026-11-21T15:00Z");
    let before = isolated(&position("4101", "=BS1-QM1"));
    let before = kept(&mut register, "2026-11-21T11:00Z", before).await;
    assert_eq!(told_late(&register, decided).await, Some(before.seq));
    register.proves().await;
}

/// Two decisions about train T1, on 20 and 21 November, and it is the 25th.
async fn decided_twice(url: &str) -> (Register, [Seq; 2]) {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is("2026-11-20T12:00Z");
    let first = decide(&mut register).await;
    register.now_is("2026-11-21T12:00Z");
    let second = decide(&mut register).await;
    register.now_is("2026-11-25T12:00Z");
    (register, [first, second])
}

/// It moves no verdict, and would have been told beside it.
async fn a_setting_told_late_names_the_decisions_that_did_not_know_of_it(url: &str) {
    let (mut register, [_, second]) = decided_twice(url).await;
    let found = found("4101", "=AS-QN1", "opening pressure", "7.5 bar");
    let entry = kept(&mut register, "2026-11-21T06:00Z", found).await;
    let [moved] = &told(&entry).verdicts.told[..] else {
        panic!("{:?}", told(&entry).verdicts)
    };
    assert_eq!(moved.decision, second);
    assert_eq!(moved.now, Reconsidered::Found(moved.told.clone()));
    assert_eq!(moved.others, [FoundPart::Cautions]);
    assert_eq!(told(&entry).void.len(), 1);
    register.proves().await;
}

/// A cut-out told late moved the verdict; what is told beside it moves none.
async fn what_moves_no_verdict_leaves_the_blame_with_what_did(url: &str) {
    let (mut register, [_, second]) = decided_twice(url).await;
    let cut_out = isolated(&position("4101", "=BS1-QM1"));
    let cut_out = kept(&mut register, "2026-11-21T11:00Z", cut_out).await;
    let [moved] = &told(&cut_out).verdicts.told[..] else {
        panic!("{:?}", told(&cut_out).verdicts)
    };
    assert_eq!(moved.before, None, "it found what the decision told");
    let found = found("4101", "=AS-QN1", "opening pressure", "7.5 bar");
    let entry = kept(&mut register, "2026-11-21T06:00Z", found).await;
    let [moved] = &told(&entry).verdicts.told[..] else {
        panic!("{:?}", told(&entry).verdicts)
    };
    let before = moved.before.as_ref().expect("what the cut-out moved");
    assert_eq!(before.found, moved.now);
    assert_ne!(moved.now, Reconsidered::Found(moved.told.clone()));
    assert_eq!(before.changed, [FoundPart::Cautions]);
    assert_eq!(told_late(&register, second).await, Some(cut_out.seq));
    register.proves().await;
}

fn numbers(moved: &VerdictMoved) -> Vec<&str> {
    moved.cars.iter().map(|place| place.car.as_str()).collect()
}

async fn a_formation_told_late_names_the_decisions_about_other_cars(url: &str) {
    let (mut register, [_, second]) = decided_twice(url).await;
    let vehicles = vec![Vehicle::Unit(
        "TM102".parse().unwrap(),
        Orientation::Forward,
    )];
    let formed = Fact::TrainFormed(Train {
        id: "T1".parse().unwrap(),
        vehicles,
    });
    let entry = kept(&mut register, "2026-11-21T06:00Z", formed).await;
    let [moved] = &told(&entry).verdicts.told[..] else {
        panic!("{:?}", told(&entry).verdicts)
    };
    assert_eq!(moved.decision, second, "the first was about what ran then");
    assert_eq!(numbers(moved), ["4104", "4105", "4106"]);
    // The unit had other cars, told later still, from a time before the second decision on.
    let place = |car: &str| OrderedCar {
        car: car.parse().unwrap(),
        orientation: Orientation::Forward,
    };
    let unit = Fact::UnitFormed(Unit {
        number: "TM102".parse().unwrap(),
        cars: ["4106", "4105", "4104"].map(place).into(),
    });
    let entry = kept(&mut register, "2026-11-20T18:00Z", unit).await;
    let [moved] = &told(&entry).verdicts.told[..] else {
        panic!("{:?}", told(&entry).verdicts)
    };
    assert_eq!(moved.decision, second);
    assert_eq!(numbers(moved), ["4106", "4105", "4104"]);
    register.proves().await;
}

async fn a_revision_put_in_force_for_days_that_are_over_names_their_decisions(url: &str) {
    let (mut register, [_, second]) = decided_twice(url).await;
    let mut design = {
        let view = register.store.view().await.unwrap();
        let mut types = view.documents.car_types.values();
        let design = types.find(|known| known.document.name.as_str() == "TM-DA");
        design.unwrap().document.as_ref().clone()
    };
    design.revision = "Z".parse().unwrap();
    let defined = Fact::CarTypeDefined(Box::new(design));
    register.bring("2026-11-25T00:00Z", defined).await;
    // Both cars are in the train.
    for cars in ["4104", "4101"] {
        let effectivity = Effectivity {
            car_type: "TM-DA".parse().unwrap(),
            revision: "Z".parse().unwrap(),
            cars: cars.parse().unwrap(),
            from: "2026-11-21".parse().unwrap(),
        };
        let proposed = Fact::Proposed(Proposal::Effectivity(effectivity));
        let now = register.now.to_string();
        let proposal = register.record(&now, proposed).await;
        let now = register.now.to_string();
        let by = register.approve(proposal, &now).await;
        let mut view = register.store.view().await.unwrap();
        let entry = view.entry(by).await.unwrap().unwrap().entry;
        let verdicts = told(&entry).verdicts.told.iter();
        let moved: Vec<Seq> = verdicts.map(|one| one.decision).collect();
        assert_eq!(moved, [second], "{cars}: the first was before that day");
    }
    register.proves().await;
}

async fn rules_issued_for_days_that_are_over_name_the_decisions_by_others(url: &str) {
    let (mut register, [_, second]) = decided_twice(url).await;
    let taken = {
        let mut view = register.store.view().await.unwrap();
        let kept = view.decision(second).await.unwrap().unwrap();
        kept.record.taken
    };
    let mut revised = {
        let view = register.store.view().await.unwrap();
        let key = (taken.rule_set.clone(), taken.revision.clone());
        view.documents.rule_sets[&key].document.as_ref().clone()
    };
    revised.revision = "99".parse().unwrap();
    revised.agreed = None;
    revised.valid_from = "2026-11-21".parse().unwrap();
    for rule in &mut revised.rules {
        rule.title.push_str(" anew");
    }
    let now = register.now.to_string();
    let proposed = Fact::Proposed(Proposal::RuleSet(Box::new(revised)));
    let proposal = register.record(&now, proposed).await;
    let now = register.now.to_string();
    let by = register.approve(proposal, &now).await;
    let mut view = register.store.view().await.unwrap();
    let entry = view.entry(by).await.unwrap().unwrap().entry;
    drop(view);
    let [moved] = &told(&entry).verdicts.told[..] else {
        panic!("{:?}", told(&entry).verdicts)
    };
    assert_eq!(
        moved.decision, second,
        "the first was before they were valid"
    );
    let revision = moved.revision.as_ref().map(Revision::as_str);
    assert_eq!(revision, Some("99"));
    register.proves().await;
}

each_database!(
    a_setting_told_late_names_the_decisions_that_did_not_know_of_it,
    what_moves_no_verdict_leaves_the_blame_with_what_did,
    what_is_told_late_by_hours_is_told_where_a_decision_lies_between,
    a_void_decision_is_marked_by_what_is_told_late_by_hours,
    a_formation_told_late_names_the_decisions_about_other_cars,
    a_revision_put_in_force_for_days_that_are_over_names_their_decisions,
    rules_issued_for_days_that_are_over_name_the_decisions_by_others,
    a_corrected_reading_tells_what_it_changed_of_use_and_due_dates,
    what_is_recorded_in_time_tells_nothing,
    departures_that_come_or_go_are_told,
    a_cut_out_told_late_names_the_decisions_that_did_not_know_of_it,
    a_cut_out_found_now_names_the_decisions_since_it_was_last_seen_right,
);
