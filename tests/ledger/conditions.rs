//! Conditions: what forbids fitting, and who may lift it. Nothing makes a component serviceable
//! by a side door.

use domain::configuration::component::Condition::{
    BeyondSalvage, Quarantined, RemovedToBeJudged, Scrapped, Serviceable, Unserviceable,
};
use domain::configuration::component::{ComponentRef, Condition, PositionRef};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::people::Role;
use domain::refusal::Refusal;
use tests::each_database;
use tests::facts::{at, fitted, fitted_until_as, judged, position, released, removed, removed_as};
use tests::fleet::{self, FIRST};
use tests::register::{Register, command, correction, person};

/// A fleet with one valve fitted to the first car since 2029-02-01.
struct OneFitted {
    register: Register,
    valve: ComponentRef,
    here: PositionRef,
}

impl OneFitted {
    async fn new(url: &str) -> Self {
        let mut register = Register::open(url).await;
        let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
        let (valve, here) = (components.valves[0].clone(), position("4101", FIRST));
        register
            .record("2029-02-01T00:00Z", fitted(&valve, &here))
            .await;
        Self {
            register,
            valve,
            here,
        }
    }

    async fn condition(&self) -> Condition {
        self.register.life(&self.valve).await.record.condition
    }

    async fn refuses_of(&mut self, role: Role, effective_at: &str, fact: Fact) -> Refusal {
        let command = command(at(effective_at), fact);
        self.register.refuses_of(person(role), command).await
    }

    async fn refuses_withdrawal_of(&mut self, role: Role, target: Seq) -> Refusal {
        let command = correction(target, self.register.now, Fact::Withdrawn);
        self.register.refuses_of(person(role), command).await
    }
}

fn forbids(component: &ComponentRef, condition: Condition) -> impl Fn(&Refusal) -> bool {
    let component = component.clone();
    move |refusal| {
        matches!(refusal, Refusal::ConditionForbids { component: of, condition: is, .. }
            if *of == component && *is == condition)
    }
}

async fn a_removal_makes_nothing_better_than_it_was(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    fleet
        .register
        .record("2029-03-01T00:00Z", judged(&valve, Quarantined))
        .await;
    for better in [Serviceable, RemovedToBeJudged, Unserviceable] {
        let refusal = fleet
            .register
            .refuses("2029-04-01T00:00Z", removed_as(&valve, better))
            .await;
        assert!(forbids(&valve, Quarantined)(&refusal), "{refusal}");
    }
    fleet
        .register
        .record("2029-04-01T00:00Z", removed_as(&valve, Quarantined))
        .await;
    let role = Role::Technician;
    let by_technician = fleet
        .refuses_of(role, "2029-04-02T00:00Z", judged(&valve, Serviceable))
        .await;
    assert!(
        forbids(&valve, Quarantined)(&by_technician),
        "{by_technician}"
    );
    let alone = judged(&valve, Unserviceable);
    let alone = fleet.register.refuses("2029-04-02T00:00Z", alone).await;
    assert!(forbids(&valve, Quarantined)(&alone), "{alone}");
    let release = released(&valve, Unserviceable);
    let proposal = fleet.register.record("2029-04-02T00:00Z", release).await;
    fleet.register.approve(proposal, "2029-04-02T00:00Z").await;
    assert_eq!(fleet.condition().await, Unserviceable);
    fleet.register.proves().await;
}

async fn a_past_fitment_makes_nothing_better_than_it_was(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let (valve, here) = (fleet.valve.clone(), fleet.here.clone());
    fleet
        .register
        .record("2029-03-01T00:00Z", removed(&valve))
        .await;
    fleet
        .register
        .record("2029-04-01T00:00Z", judged(&valve, Scrapped))
        .await;
    let since = |until| fitted_until_as(&valve, &here, at(until), Serviceable);
    let scrapped = fleet
        .register
        .refuses("2029-05-01T00:00Z", since("2029-06-01T00:00Z"))
        .await;
    assert!(forbids(&valve, Scrapped)(&scrapped), "{scrapped}");
    let unjudged = fleet
        .register
        .refuses("2029-03-02T00:00Z", since("2029-03-03T00:00Z"))
        .await;
    assert!(forbids(&valve, RemovedToBeJudged)(&unjudged), "{unjudged}");
    // Before it was fitted it could have been elsewhere, and is scrapped all the same.
    fleet
        .register
        .record("2029-01-05T00:00Z", since("2029-01-06T00:00Z"))
        .await;
    assert_eq!(fleet.condition().await, Scrapped);
    fleet.register.proves().await;
}

async fn what_is_learned_late_of_the_past_leaves_the_present(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    fleet
        .register
        .record("2029-05-01T00:00Z", removed(&valve))
        .await;
    fleet
        .register
        .record("2029-04-01T00:00Z", judged(&valve, Serviceable))
        .await;
    assert_eq!(fleet.condition().await, RemovedToBeJudged);
    fleet.register.proves().await;
}

async fn at_one_moment_a_component_came_off_was_judged_and_was_fitted(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let (valve, moment) = (fleet.valve.clone(), "2029-05-01T00:00Z");
    // Recorded in another order, as when only days are known.
    let good = judged(&valve, Serviceable);
    fleet.register.record(moment, good).await;
    fleet.register.record(moment, removed(&valve)).await;
    assert_eq!(fleet.condition().await, Serviceable);
    let elsewhere = fitted(&valve, &position("4102", FIRST));
    fleet.register.record(moment, elsewhere).await;
    fleet.register.proves().await;
}

async fn a_fitment_learned_late_needs_the_condition_of_its_own_time(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let other = fleet::components().valves[1].clone();
    let there = position("4102", FIRST);
    let quarantine = judged(&other, Quarantined);
    fleet.register.record("2029-05-01T00:00Z", quarantine).await;
    fleet
        .register
        .record("2029-04-01T00:00Z", fitted(&other, &there))
        .await;
    let life = fleet.register.life(&other).await;
    assert_eq!(
        (life.record.condition, life.record.location().cloned()),
        (Quarantined, None)
    );
    // What was scrapped was not on a car then.
    let valve = fleet.valve.clone();
    fleet
        .register
        .record("2029-03-01T00:00Z", removed_as(&valve, Serviceable))
        .await;
    let scrap = judged(&valve, Scrapped);
    let scrap = fleet.register.record("2029-04-01T00:00Z", scrap).await;
    let beyond = fitted_until_as(&valve, &fleet.here, at("2029-04-02T00:00Z"), Serviceable);
    let beyond = fleet.register.refuses("2029-03-02T00:00Z", beyond).await;
    assert!(
        matches!(beyond, Refusal::Contradicts { by, .. } if by == scrap),
        "{beyond}"
    );
    let until_then = fitted_until_as(&valve, &fleet.here, at("2029-04-01T00:00Z"), Serviceable);
    fleet.register.record("2029-03-02T00:00Z", until_then).await;
    assert_eq!(fleet.condition().await, Scrapped);
    fleet.register.proves().await;
}

async fn a_condition_that_forbids_a_later_fitment_is_refused(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    let by = |refusal: &Refusal| match refusal {
        Refusal::Contradicts { by, since, .. } => (*by, since.at),
        other => panic!("{other}"),
    };
    let fit = Seq(fleet
        .register
        .tables
        .number("select seq from ledger_head")
        .await);
    let in_store = fleet
        .register
        .refuses("2029-01-15T00:00Z", judged(&valve, Unserviceable))
        .await;
    assert_eq!(by(&in_store), (fit, at("2029-02-01T00:00Z")));
    let elsewhere = position("4102", FIRST);
    let past = fitted_until_as(
        &valve,
        &elsewhere,
        at("2029-01-20T00:00Z"),
        RemovedToBeJudged,
    );
    let unjudged = fleet
        .register
        .refuses("2029-01-10T00:00Z", past.clone())
        .await;
    assert_eq!(by(&unjudged), (fit, at("2029-02-01T00:00Z")));
    // With the judgement between, the same past is possible.
    let judgement = fleet
        .register
        .record("2029-01-25T00:00Z", judged(&valve, Serviceable))
        .await;
    fleet.register.record("2029-01-10T00:00Z", past).await;
    assert_eq!(fleet.condition().await, Serviceable);
    // And that judgement stays, since the fitment after it now rests on it.
    let without = fleet.register.refuses_withdrawal(judgement).await;
    assert_eq!(by(&without), (fit, at("2029-02-01T00:00Z")));
    fleet.register.proves().await;
}

async fn scrapping_needs_a_component_that_is_off_the_car_and_is_for_good(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    let fitted = fleet
        .register
        .refuses("2029-03-01T00:00Z", judged(&valve, Scrapped))
        .await;
    assert!(forbids(&valve, Serviceable)(&fitted), "{fitted}");
    fleet
        .register
        .record("2029-03-01T00:00Z", removed(&valve))
        .await;
    let while_fitted = fleet
        .register
        .refuses("2029-02-15T00:00Z", judged(&valve, Scrapped))
        .await;
    assert!(
        forbids(&valve, RemovedToBeJudged)(&while_fitted),
        "{while_fitted}"
    );
    let scrap = fleet
        .register
        .record("2029-03-02T00:00Z", judged(&valve, Scrapped))
        .await;
    let raised = fleet
        .register
        .refuses("2029-03-03T00:00Z", judged(&valve, Serviceable))
        .await;
    assert!(forbids(&valve, Scrapped)(&raised), "{raised}");
    // The wrong serial number was typed: a brake engineer takes it back, nobody else.
    let technician = fleet.refuses_withdrawal_of(Role::Technician, scrap).await;
    assert!(forbids(&valve, Scrapped)(&technician), "{technician}");
    fleet.register.withdraw(scrap).await;
    assert_eq!(fleet.condition().await, RemovedToBeJudged);
    fleet.register.proves().await;
}

async fn a_correction_releases_nothing_from_quarantine(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    let removal = removed_as(&valve, Quarantined);
    let removal = fleet.register.record("2029-03-01T00:00Z", removal).await;
    let released = fleet.refuses_withdrawal_of(Role::Technician, removal).await;
    assert!(forbids(&valve, Quarantined)(&released), "{released}");
    let bettered = correction(removal, at("2029-03-01T00:00Z"), removed(&valve));
    let bettered = fleet
        .register
        .refuses_of(person(Role::Stores), bettered)
        .await;
    assert!(forbids(&valve, Quarantined)(&bettered), "{bettered}");
    // A technician may still correct the time.
    let later = correction(
        removal,
        at("2029-03-02T00:00Z"),
        removed_as(&valve, Quarantined),
    );
    fleet
        .register
        .send(person(Role::Technician), later)
        .await
        .unwrap();
    assert_eq!(fleet.condition().await, Quarantined);
    fleet.register.proves().await;
}

async fn a_withdrawn_removal_leaves_the_condition_it_found(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    fleet
        .register
        .record("2029-03-01T00:00Z", judged(&valve, Unserviceable))
        .await;
    let removal = fleet
        .register
        .record("2029-04-01T00:00Z", removed(&valve))
        .await;
    fleet.register.withdraw(removal).await;
    assert_eq!(fleet.condition().await, Unserviceable);
    fleet.register.proves().await;
}

async fn what_is_beyond_salvage_is_only_destroyed(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    let ended = removed_as(&valve, BeyondSalvage);
    fleet.register.record("2029-02-10T00:00Z", ended).await;
    for to in [Serviceable, Unserviceable, RemovedToBeJudged, Quarantined] {
        let refusal = fleet
            .register
            .refuses("2029-02-11T00:00Z", judged(&valve, to))
            .await;
        assert!(forbids(&valve, BeyondSalvage)(&refusal), "{refusal}");
    }
    let here = fleet.here.clone();
    let again = fleet
        .register
        .refuses("2029-02-11T00:00Z", fitted(&valve, &here))
        .await;
    assert!(forbids(&valve, BeyondSalvage)(&again), "{again}");
    // Laid aside, no work is due on it.
    let life = fleet.register.life(&valve).await;
    let due = life.history().due(
        &fleet.register.store.view().await.unwrap().documents,
        &domain::ledger::reached::HostMeters::UNKNOWN,
        &domain::time::Zone::UTC,
    );
    assert_eq!(due.len(), 0);
    fleet
        .register
        .record("2029-02-13T00:00Z", judged(&valve, Scrapped))
        .await;
    assert_eq!(fleet.condition().await, Scrapped);
    fleet.register.proves().await;
}

async fn only_a_brake_engineer_takes_back_that_a_component_was_beyond_salvage(url: &str) {
    let mut fleet = OneFitted::new(url).await;
    let valve = fleet.valve.clone();
    fleet
        .register
        .record("2029-02-10T00:00Z", removed(&valve))
        .await;
    let said = fleet
        .register
        .record("2029-02-11T00:00Z", judged(&valve, BeyondSalvage))
        .await;
    let refusal = fleet.refuses_withdrawal_of(Role::Technician, said).await;
    assert!(forbids(&valve, BeyondSalvage)(&refusal), "{refusal}");
    fleet.register.withdraw(said).await;
    assert_eq!(fleet.condition().await, RemovedToBeJudged);
    fleet.register.proves().await;
}

each_database!(
    only_a_brake_engineer_takes_back_that_a_component_was_beyond_salvage,
    what_is_beyond_salvage_is_only_destroyed,
    a_removal_makes_nothing_better_than_it_was,
    a_past_fitment_makes_nothing_better_than_it_was,
    what_is_learned_late_of_the_past_leaves_the_present,
    at_one_moment_a_component_came_off_was_judged_and_was_fitted,
    a_fitment_learned_late_needs_the_condition_of_its_own_time,
    a_condition_that_forbids_a_later_fitment_is_refused,
    scrapping_needs_a_component_that_is_off_the_car_and_is_for_good,
    a_correction_releases_nothing_from_quarantine,
    a_withdrawn_removal_leaves_the_condition_it_found,
);
