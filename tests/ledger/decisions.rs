//! Decisions about trains: recorded only as the register finds it, and void by whatever can move
//! the verdict, and by nothing else; checks after cut-outs, confirmed for one cut-out.

use domain::configuration::car::{Orientation, Train, Vehicle};
use domain::configuration::component::{ComponentRef, Condition};
use domain::decision::asked::AskedField;
use domain::decision::checks::CheckKind;
use domain::decision::taken::DecisionTaken;
use domain::due::task::AppliesTo;
use domain::identity::TrainId;
use domain::ledger::dossier::{DecisionRecord, VoidBecause};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::Role;
use domain::refusal::Refusal;
use domain::rule_set::verdict::Permission;
use domain::time::Zone;
use store::read::AsAt;
use tests::decided::decision;
use tests::each_database;
use tests::facts::{
    check_confirmed, component, fitted_at, inside, isolated, judged, leakage_tested, position,
    read, receipt, removed, swapped,
};
use tests::fleet;
use tests::register::{Register, command, person};
use tests::settings::found;

const NOW: &str = "2026-11-25T12:00Z";
const BOGIE_COCK: &str = "=BS1-QM1";

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    tests::tarrenmoor::record(&register.store).await;
    register.now_is(NOW);
    register
}

fn fact(taken: &DecisionTaken) -> Fact {
    Fact::DecisionTaken(Box::new(taken.clone()))
}

/// Decides about train T1 as it stands now.
async fn decide(register: &mut Register) -> Seq {
    let taken = decision(&register.store, "T1", register.now, &[]).await;
    let now = register.now.to_string();
    register.record(&now, fact(&taken)).await
}

/// The last decision about train T1.
async fn last(register: &Register) -> DecisionRecord {
    let id: TrainId = "T1".parse().unwrap();
    let mut view = register.store.view().await.unwrap();
    let about = view.decisions_about(std::slice::from_ref(&id), &[]).await;
    about.unwrap().decisions.remove(0)
}

async fn record_now(register: &mut Register, fact: Fact) -> Seq {
    let now = register.now.to_string();
    register.record(&now, fact).await
}

fn train(id: &str, vehicles: &[Vehicle]) -> Fact {
    Fact::TrainFormed(Train {
        id: id.parse().unwrap(),
        vehicles: vehicles.to_vec(),
    })
}

fn unit(number: &str) -> Vehicle {
    Vehicle::Unit(number.parse().unwrap(), Orientation::Forward)
}

fn car(number: &str) -> Vehicle {
    Vehicle::Car(number.parse().unwrap(), Orientation::Forward)
}

async fn a_decision_is_recorded_only_as_the_register_finds_it(url: &str) {
    let mut register = founded(url).await;
    let taken = decision(&register.store, "T1", register.now, &[]).await;
    let field = |refusal: &Refusal| refusal.field();
    let milder = DecisionTaken {
        found: domain::decision::taken::Found {
            permission: Permission::MayNotRun,
            ..taken.found.clone()
        },
        ..taken.clone()
    };
    let refusal = register.refuses(NOW, fact(&milder)).await;
    assert_eq!(field(&refusal), "found", "{refusal}");
    let other_revision = DecisionTaken {
        revision: "99".parse().unwrap(),
        ..taken.clone()
    };
    let refusal = register.refuses(NOW, fact(&other_revision)).await;
    assert_eq!(field(&refusal), "rule_set", "{refusal}");
    let other_formation = DecisionTaken {
        formed_by: Seq(1),
        ..taken.clone()
    };
    let refusal = register.refuses(NOW, fact(&other_formation)).await;
    assert_eq!(refusal.conflicting_entry(), Some(taken.formed_by));
    let before_it_was_formed = "2026-02-28T00:00Z";
    let refusal = register.refuses(before_it_was_formed, fact(&taken)).await;
    assert_eq!(field(&refusal), "at", "{refusal}");
    let mut unanswered = taken.clone();
    unanswered.asked.insert(AskedField::Load, String::new());
    let refusal = register.refuses(NOW, fact(&unanswered)).await;
    assert_eq!(field(&refusal), "asked", "{refusal}");
    let by_fitter = command(register.now, fact(&taken));
    let refusal = register
        .refuses_of(person(Role::Technician), by_fitter)
        .await;
    assert!(matches!(refusal, Refusal::NotPermitted { .. }), "{refusal}");
    // What was found before somebody closed a cock is not found any more.
    record_now(&mut register, isolated(&position("4101", BOGIE_COCK))).await;
    let now = register.now.to_string();
    let refusal = register.refuses(&now, fact(&taken)).await;
    assert_eq!(field(&refusal), "found", "{refusal}");
    decide(&mut register).await;
    assert_eq!(last(&register).await.void, None);
    register.proves().await;
}

async fn whatever_can_move_the_verdict_makes_it_void_and_nothing_else(url: &str) {
    let mut register = founded(url).await;
    decide(&mut register).await;
    record_now(&mut register, isolated(&position("5101", "=BP-QM1"))).await;
    record_now(&mut register, read("4101", 1_000)).await;
    assert_eq!(last(&register).await.void, None, "another train, a reading");

    let cut_out = isolated(&position("4102", BOGIE_COCK));
    let part = fitted_on_4103(&register).await;
    let changes = [
        (cut_out, VoidBecause::CutOuts),
        (
            train("T1", &[unit("TM102"), unit("TM101")]),
            VoidBecause::Formation,
        ),
        (removed(&part), VoidBecause::Components),
        (train("T9", &[car("4101")]), VoidBecause::Formation),
    ];
    let mut cut_out_entry = None;
    for (change, because) in changes {
        decide(&mut register).await;
        let by = record_now(&mut register, change).await;
        cut_out_entry.get_or_insert(by);
        let void = last(&register).await.void.unwrap();
        assert_eq!((void.by, void.because), (by, because));
    }
    let again = train("T1", &[unit("TM101"), unit("TM102")]);
    record_now(&mut register, again).await;
    decide(&mut register).await;
    let withdrawn = register.withdraw(cut_out_entry.unwrap()).await;
    let void = last(&register).await.void.unwrap();
    assert_eq!(
        (void.by, void.because),
        (withdrawn, VoidBecause::Correction)
    );
    register.proves().await;
}

/// The sheet would be of a train that nobody can see.
async fn a_train_of_which_cars_run_in_a_later_one_is_not_decided_about(url: &str) {
    let mut register = founded(url).await;
    decide(&mut register).await;
    record_now(&mut register, train("T9", &[unit("TM101")])).await;
    let void = last(&register).await.void.unwrap();
    assert_eq!(void.because, VoidBecause::Formation);
    let taken = decision(&register.store, "T1", register.now, &[]).await;
    let now = register.now.to_string();
    let refusal = register.refuses(&now, fact(&taken)).await;
    assert_eq!(refusal.field(), "train", "{refusal}");
    assert!(refusal.to_string().contains("T9"), "{refusal}");
    // The later train may be, and what was told of it late is none of the kind.
    let taken = decision(&register.store, "T9", register.now, &[]).await;
    let now = register.now.to_string();
    register.record(&now, fact(&taken)).await;
    let late = train("T8", &[unit("TM101")]);
    register.record("2026-11-24T06:00Z", late).await;
    let taken = decision(&register.store, "T8", register.now, &[]).await;
    let now = register.now.to_string();
    let refusal = register.refuses(&now, fact(&taken)).await;
    assert_eq!(refusal.field(), "train", "{refusal}");
    // What the later one left over runs in no train.
    record_now(&mut register, isolated(&position("4104", BOGIE_COCK))).await;
    let mut view = register.store.view().await.unwrap();
    let board = view.isolations_in_force().await.unwrap();
    assert_eq!((board[0].train.clone(), board.len()), (None, 1));
    let runs_in = view.train_of_car(&"4104".parse().unwrap()).await.unwrap();
    assert_eq!(runs_in, None);
    drop(view);
    // Formed anew as it runs, it is decided about again.
    record_now(&mut register, train("T1", &[unit("TM102")])).await;
    decide(&mut register).await;
    assert_eq!(last(&register).await.void, None);
    register.proves().await;
}

/// What departs from a baseline is told beside the verdicts.
async fn what_is_told_of_a_setting_or_a_condition_makes_it_void_on_its_train(url: &str) {
    let mut register = founded(url).await;
    let pressure = |car: &str| found(car, "=AS-QN1", "opening pressure", "7.5 bar");
    decide(&mut register).await;
    record_now(&mut register, pressure("5102")).await;
    assert_eq!(last(&register).await.void, None, "on another train");
    let part = fitted_on_4103(&register).await;
    let mut entries = Vec::new();
    for change in [pressure("4101"), judged(&part, Condition::Unserviceable)] {
        decide(&mut register).await;
        let by = record_now(&mut register, change).await;
        let void = last(&register).await.void.unwrap();
        assert_eq!((void.by, void.because), (by, VoidBecause::Departures));
        entries.push(by);
    }
    for entry in entries {
        decide(&mut register).await;
        let by = register.withdraw(entry).await;
        let void = last(&register).await.void.unwrap();
        assert_eq!((void.by, void.because), (by, VoidBecause::Correction));
    }
    register.proves().await;
}

/// Leakage of car 4101 in bar a minute, by a procedure that allows 0.2.
async fn test_now(register: &mut Register, id: &str, leakage: &str) -> Seq {
    let tested = leakage_tested(id, "4101", register.now, leakage);
    record_now(register, tested).await
}

/// A test that was failed is told beside the verdicts until one by the same procedure passes.
async fn a_failed_test_of_a_car_makes_it_void_and_so_does_the_one_that_passes_again(url: &str) {
    let mut register = founded(url).await;
    let Fact::ProcedureDefined(mut procedure) = fleet::procedure() else {
        unreachable!()
    };
    procedure.applies_to = AppliesTo::CarType("TM-DA".parse().unwrap());
    procedure.task = None;
    record_now(&mut register, Fact::ProcedureDefined(procedure)).await;
    decide(&mut register).await;
    test_now(&mut register, "P1", "0.1").await;
    assert_eq!(last(&register).await.void, None, "it passed as before");
    let failed = test_now(&mut register, "F1", "0.3").await;
    let void = last(&register).await.void.unwrap();
    assert_eq!((void.by, void.because), (failed, VoidBecause::Tests));
    decide(&mut register).await;
    let told = "A test was failed and none by the same procedure passed since: \
                car 4101 LT-CAR (test record F1).";
    let warnings = last(&register).await.taken.found.warnings;
    assert!(warnings.iter().any(|one| one == told), "{warnings:?}");
    let passed = test_now(&mut register, "P2", "0.1").await;
    let void = last(&register).await.void.unwrap();
    assert_eq!((void.by, void.because), (passed, VoidBecause::Tests));
    decide(&mut register).await;
    let warnings = last(&register).await.taken.found.warnings;
    assert!(!warnings.iter().any(|one| one == told), "{warnings:?}");
    // Taken back, it tells nothing any more, and the one before stands.
    let withdrawn = register.withdraw(passed).await;
    let void = last(&register).await.void.unwrap();
    assert_eq!(
        (void.by, void.because),
        (withdrawn, VoidBecause::Correction)
    );
    decide(&mut register).await;
    let warnings = last(&register).await.taken.found.warnings;
    assert!(warnings.iter().any(|one| one == told), "{warnings:?}");
    register.proves().await;
}

/// Car 4103 is in train T1; inside its brake control unit is a pilot module with a magnet valve.
async fn an_exchange_inside_an_assembly_makes_it_void_only_on_the_train(url: &str) {
    let mut register = founded(url).await;
    let (module, valve) = ("TRR-4217-01", "TRR-4215-01");
    let [other, spare] = ["S-1", "S-2"].map(|serial| component(valve, serial));
    let store_module = component(module, "S-1");
    for one in [&other, &spare, &store_module] {
        let received = receipt(one, "2026-01-01");
        record_now(&mut register, Fact::ComponentReceived(received)).await;
    }
    decide(&mut register).await;
    let in_store = fitted_at(&other, &inside(&store_module, "-KH1"));
    record_now(&mut register, in_store).await;
    assert_eq!(last(&register).await.void, None, "on no car");
    let fitted = inner_on_4103(&register, valve).await;
    let by = record_now(&mut register, swapped(&fitted, &other)).await;
    let void = last(&register).await.void.unwrap();
    assert_eq!((void.by, void.because), (by, VoidBecause::Components));
    // What came off is in the module in store; exchanging it there says nothing of the train.
    decide(&mut register).await;
    record_now(&mut register, removed(&fitted)).await;
    record_now(
        &mut register,
        fitted_at(&spare, &inside(&store_module, "-KH1")),
    )
    .await;
    assert_eq!(last(&register).await.void, None, "on no car");
    register.proves().await;
}

/// A component of a part inside an assembly on car 4103.
async fn inner_on_4103(register: &Register, part: &str) -> ComponentRef {
    let mut view = register.store.view().await.unwrap();
    let car = view.car(&"4103".parse().unwrap()).await.unwrap().unwrap();
    let now = AsAt {
        effective: register.now,
        known: register.now,
    };
    let fitted = view.fitted(&car, now).await.unwrap();
    let mut components = fitted.into_iter().map(|one| one.component);
    components.find(|one| one.part.as_str() == part).unwrap()
}

/// The component at a position of car 4103.
async fn fitted_on_4103(register: &Register) -> ComponentRef {
    let mut view = register.store.view().await.unwrap();
    let found = view.car(&"4103".parse().unwrap()).await.unwrap().unwrap();
    let car_type = view
        .documents
        .car_type(&found.car, Zone::UTC.day_of(register.now))
        .unwrap();
    let part = car_type.positions[0].approved[0].to_string();
    component(&part, "4103-000")
}

async fn rules_issued_anew_and_a_second_decision_end_the_first(url: &str) {
    let mut register = founded(url).await;
    let first = decide(&mut register).await;
    let second = decide(&mut register).await;
    let proven = {
        let mut view = register.store.view().await.unwrap();
        view.decision(first).await.unwrap().unwrap()
    };
    let void = proven.record.void.unwrap();
    assert_eq!((void.by, void.because), (second, VoidBecause::DecidedAnew));
    let taken = last(&register).await.taken;
    let issued = {
        let view = register.store.view().await.unwrap();
        let key = (taken.rule_set.clone(), taken.revision.clone());
        (*view.documents.rule_sets[&key].document).clone()
    };
    let revised = domain::rule_set::RuleSet {
        revision: "99".parse().unwrap(),
        agreed: None,
        ..issued
    };
    let later = domain::rule_set::RuleSet {
        revision: "98".parse().unwrap(),
        valid_from: Zone::UTC.day_of(register.now).plus_days(1),
        ..revised.clone()
    };
    let proposed = Fact::Proposed(Proposal::RuleSet(Box::new(later)));
    let proposal = record_now(&mut register, proposed).await;
    let now = register.now.to_string();
    register.approve(proposal, &now).await;
    assert_eq!(last(&register).await.void, None, "in force tomorrow only");
    let proposed = Fact::Proposed(Proposal::RuleSet(Box::new(revised)));
    let proposal = record_now(&mut register, proposed).await;
    assert_eq!(last(&register).await.void, None, "proposed is not in force");
    let now = register.now.to_string();
    let by = register.approve(proposal, &now).await;
    let void = last(&register).await.void.unwrap();
    assert_eq!((void.by, void.because), (by, VoidBecause::Design));
    register.proves().await;
}

async fn a_check_is_confirmed_for_one_cut_out_in_force(url: &str) {
    let mut register = founded(url).await;
    let cock = position("4102", BOGIE_COCK);
    let isolation = record_now(&mut register, isolated(&cock)).await;
    let confirmed = |isolation, check| check_confirmed(&cock, isolation, check);
    let refusal = register
        .refuses(NOW, confirmed(Seq(1), CheckKind::RightPlace))
        .await;
    assert_eq!(refusal.field(), "isolation");
    let too_early = "2026-11-24T00:00Z";
    let refusal = register
        .refuses(too_early, confirmed(isolation, CheckKind::PadsFree))
        .await;
    assert_eq!(refusal.conflicting_entry(), Some(isolation));
    let entry = record_now(&mut register, confirmed(isolation, CheckKind::PadsFree)).await;
    let count = "select count(*) from check_confirmed";
    assert_eq!(register.tables.number(count).await, 1);
    register.withdraw(entry).await;
    assert_eq!(register.tables.number(count).await, 0);
    register.proves().await;
}

each_database!(
    a_decision_is_recorded_only_as_the_register_finds_it,
    whatever_can_move_the_verdict_makes_it_void_and_nothing_else,
    a_train_of_which_cars_run_in_a_later_one_is_not_decided_about,
    what_is_told_of_a_setting_or_a_condition_makes_it_void_on_its_train,
    a_failed_test_of_a_car_makes_it_void_and_so_does_the_one_that_passes_again,
    an_exchange_inside_an_assembly_makes_it_void_only_on_the_train,
    rules_issued_anew_and_a_second_decision_end_the_first,
    a_check_is_confirmed_for_one_cut_out_in_force,
);
