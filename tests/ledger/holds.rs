//! Evidence holds: while one lasts, what it holds is neither moved, opened, tested, scrapped nor
//! amended, and only whoever set it lifts it alone.

use domain::configuration::component::{ComponentRef, Condition};
use domain::configuration::held::Held;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::Role;
use domain::refusal::Refusal;
use store::Recorded;
use tests::assemblies::{self, INNER_VALVE, PANEL_PLACE};
use tests::each_database;
use tests::facts::{
    at, car_of_fleet, check_confirmed, done, fitted, fitted_at, fitted_until, held, hold_lifted,
    inside, isolated, isolation_ended, judged, leakage_tested, moved, odometer_replaced, position,
    read, released, relocated, removed, swapped, unit,
};
use tests::fleet::{self, COCK, Components, FIRST, OVERHAUL, SECOND, UNIT};
use tests::register::{Register, command, correction, person, second_engineer};

async fn founded(url: &str) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    (register, components)
}

fn assert_held(refusal: &Refusal, by: Seq) {
    assert!(
        matches!(refusal, Refusal::HeldAsEvidence { by: hold, .. } if *hold == by),
        "{refusal}"
    );
}

/// A valve fitted at the first position of a car.
async fn fit(register: &mut Register, valve: &ComponentRef, car: &str) -> Seq {
    let place = position(car, FIRST);
    register
        .record("2029-02-01T00:00Z", fitted(valve, &place))
        .await
}

async fn a_held_component_is_neither_moved_opened_tested_nor_scrapped(url: &str) {
    let (mut register, components) = founded(url).await;
    let [valve, other, third, _] = &components.valves[..] else {
        panic!("four valves");
    };
    fit(&mut register, valve, "4101").await;
    fit(&mut register, other, "4102").await;
    let hold = Held::Component(valve.clone());
    let hold = register.record("2029-03-01T00:00Z", held(hold)).await;
    let elsewhere = position("4103", FIRST);
    for fact in [
        removed(valve),
        moved(valve, &elsewhere),
        swapped(valve, other),
        swapped(other, valve),
        judged(valve, Condition::Scrapped),
        judged(valve, Condition::Serviceable),
        relocated(valve, "Workshop"),
        done(valve, OVERHAUL),
        fitted_until(valve, &elsewhere, at("2029-01-20T00:00Z")),
        leakage_tested("T-1", "4101", at("2029-03-02T00:00Z"), "0.1"),
    ] {
        let refusal = register.refuses("2029-03-02T00:00Z", fact).await;
        assert_held(&refusal, hold);
        assert_eq!(refusal.conflicting_entry(), Some(hold));
    }
    // What happened before the hold is not told after it: the record is held too.
    let late = register.refuses("2029-02-15T00:00Z", removed(valve)).await;
    assert_held(&late, hold);
    // Nothing else is held.
    register.record("2029-03-02T00:00Z", removed(other)).await;
    let next = position("4102", FIRST);
    register
        .record("2029-03-03T00:00Z", fitted(third, &next))
        .await;
    register.proves().await;
}

async fn entries_about_what_is_held_are_not_corrected(url: &str) {
    let (mut register, components) = founded(url).await;
    let valve = &components.valves[0];
    let fitting = fit(&mut register, valve, "4101").await;
    let reading = register
        .record("2029-02-01T00:00Z", read("4101", 1_000))
        .await;
    let hold = Held::Component(valve.clone());
    let hold = register.record("2029-03-01T00:00Z", held(hold)).await;
    assert_held(&register.refuses_withdrawal(fitting).await, hold);
    let elsewhere = fitted(valve, &position("4103", FIRST));
    let corrected = register
        .refuses_correction(fitting, "2029-02-01T00:00Z", elsewhere)
        .await;
    assert_held(&corrected, hold);
    // A reading of before would change what the valve had run.
    assert_held(&register.refuses_withdrawal(reading).await, hold);
    let between = register
        .refuses("2029-02-15T00:00Z", read("4101", 2_000))
        .await;
    assert_held(&between, hold);
    register
        .record("2029-03-02T00:00Z", read("4101", 3_000))
        .await;
    register.proves().await;
}

async fn on_a_held_car_nothing_is_done_but_what_is_found_is_taken_down(url: &str) {
    let (mut register, components) = founded(url).await;
    let [valve, other, ..] = &components.valves[..] else {
        panic!("four valves");
    };
    fit(&mut register, valve, "4101").await;
    fit(&mut register, other, "4103").await;
    let cock = position("4101", COCK);
    let before = register.record("2029-02-20T00:00Z", isolated(&cock)).await;
    let test = leakage_tested("T-1", "4101", at("2029-02-21T00:00Z"), "0.1");
    register.record("2029-02-21T00:00Z", test).await;
    let hold = held(Held::Car("4101".parse().unwrap()));
    let hold = register.record("2029-03-01T00:00Z", hold).await;
    for fact in [
        removed(valve),
        swapped(other, valve),
        moved(other, &position("4101", SECOND)),
        fitted(&components.valves[2], &position("4101", SECOND)),
        done(valve, OVERHAUL),
        leakage_tested("T-2", "4101", at("2029-03-02T00:00Z"), "0.1"),
        isolation_ended(&cock, "T-1"),
        odometer_replaced("4101", 1_000, 0),
        car_of_fleet("4101"),
        unit(UNIT, &["4102", "4103"]),
    ] {
        let refusal = register.refuses("2029-03-02T00:00Z", fact).await;
        assert_held(&refusal, hold);
    }
    assert_held(&register.refuses_withdrawal(before).await, hold);
    let other_cock = position("4101", "=BS-Q2");
    let found = isolated(&other_cock);
    let unknown = register.refuses("2029-03-02T00:00Z", found).await;
    assert!(matches!(unknown, Refusal::Unknown { .. }), "{unknown}");
    let checks = domain::decision::checks::CheckKind::PadsFree;
    let confirmed = check_confirmed(&cock, before, checks);
    // A check is no act on the car.
    register.record("2029-03-02T00:00Z", confirmed).await;
    register
        .record("2029-03-02T00:00Z", read("4101", 3_000))
        .await;
    register
        .record("2029-03-02T00:00Z", isolated(&position("4102", COCK)))
        .await;
    register.proves().await;
}

async fn a_cut_out_is_taken_down_on_a_held_car(url: &str) {
    let (mut register, _) = founded(url).await;
    let hold = held(Held::Car("4101".parse().unwrap()));
    register.record("2029-03-01T00:00Z", hold).await;
    let cock = position("4101", COCK);
    register.record("2029-03-01T01:00Z", isolated(&cock)).await;
    register.proves().await;
}

async fn a_held_assembly_holds_all_that_is_inside_it(url: &str) {
    let mut register = Register::open(url).await;
    let components = assemblies::found(&mut register, "2029-01-01T00:00Z").await;
    let [panel, ..] = assemblies::components();
    let [valve, other, ..] = &components.valves[..] else {
        panic!("four valves");
    };
    let within = inside(&panel, INNER_VALVE);
    register
        .record("2029-02-01T00:00Z", fitted_at(valve, &within))
        .await;
    let hold = Held::Component(panel.clone());
    let hold_on_panel = register.record("2029-03-01T00:00Z", held(hold)).await;
    for fact in [
        removed(valve),
        done(valve, OVERHAUL),
        judged(valve, Condition::Unserviceable),
        fitted(&panel, &position("4101", PANEL_PLACE)),
        fitted_at(&components.relay, &inside(&panel, "-K2")),
    ] {
        let refusal = register.refuses("2029-03-02T00:00Z", fact).await;
        assert_held(&refusal, hold_on_panel);
    }
    let view = register.store.view().await.unwrap();
    assert_eq!(view.holds.of_component(valve, None).count(), 1);
    assert_eq!(view.holds.of_component(other, None).count(), 0);
    drop(view);
    register
        .record("2029-03-03T00:00Z", hold_lifted(hold_on_panel))
        .await;
    // And what is inside an assembly that would move is held with it.
    let hold = Held::Component(valve.clone());
    let inner = register.record("2029-03-04T00:00Z", held(hold)).await;
    let fitting = fitted(&panel, &position("4101", PANEL_PLACE));
    assert_held(&register.refuses("2029-03-05T00:00Z", fitting).await, inner);
    register.proves().await;
}

async fn a_held_record_is_not_amended(url: &str) {
    let (mut register, components) = founded(url).await;
    let fitting = fit(&mut register, &components.valves[0], "4101").await;
    let hold = register
        .record("2029-03-01T00:00Z", held(Held::Entry(fitting)))
        .await;
    assert_held(&register.refuses_withdrawal(fitting).await, hold);
    // The component itself is free.
    register
        .record("2029-03-02T00:00Z", removed(&components.valves[0]))
        .await;
    let ahead = held(Held::Entry(Seq(100_000)));
    let none = register.refuses("2029-03-02T00:00Z", ahead).await;
    assert!(
        matches!(none, Refusal::Unknown { what: "entry", .. }),
        "{none}"
    );
    register.proves().await;
}

async fn only_whoever_set_a_hold_lifts_it(url: &str) {
    let (mut register, components) = founded(url).await;
    let valve = &components.valves[0];
    let fact = held(Held::Component(valve.clone()));
    let controller = || person(Role::Controller);
    let set = command(at("2029-03-01T00:00Z"), fact.clone());
    register.send(controller(), set).await.unwrap();
    let hold = Seq(register.store.view().await.unwrap().last_entry);
    for actor in [person(Role::BrakeEngineer), second_engineer()] {
        let lift = command(at("2029-03-02T00:00Z"), hold_lifted(hold));
        let refusal = register.refuses_of(actor, lift).await;
        assert!(
            matches!(&refusal, Refusal::NotTheSetter { hold: of, .. } if *of == hold),
            "{refusal}"
        );
    }
    for role in [
        Role::Administrator,
        Role::Stores,
        Role::Technician,
        Role::Auditor,
        Role::Planner,
    ] {
        let lift = command(at("2029-03-02T00:00Z"), hold_lifted(hold));
        let refusal = register.refuses_of(person(role), lift).await;
        assert!(matches!(refusal, Refusal::NotPermitted { .. }), "{refusal}");
    }
    // Nobody withdraws a hold; the one who set it does not set it twice; another may as well.
    let withdrawal = correction(hold, at("2029-03-02T00:00Z"), Fact::Withdrawn);
    let refusal = register.refuses_of(controller(), withdrawal).await;
    assert!(
        matches!(
            refusal,
            Refusal::Impossible {
                field: "corrects",
                ..
            }
        ),
        "{refusal}"
    );
    let again = command(at("2029-03-02T00:00Z"), fact.clone());
    let refusal = register.refuses_of(controller(), again).await;
    assert_eq!(refusal.conflicting_entry(), Some(hold), "{refusal}");
    let second = register.record("2029-03-02T00:00Z", fact).await;
    let lift = command(at("2029-03-03T00:00Z"), hold_lifted(hold));
    register.send(controller(), lift).await.unwrap();
    assert_held(
        &register
            .refuses("2029-03-04T00:00Z", relocated(valve, "Workshop"))
            .await,
        second,
    );
    register
        .record("2029-03-04T00:00Z", hold_lifted(second))
        .await;
    register
        .record("2029-03-04T00:00Z", relocated(valve, "Workshop"))
        .await;
    let over = register
        .refuses("2029-03-05T00:00Z", hold_lifted(second))
        .await;
    assert!(
        matches!(over, Refusal::Unknown { what: "hold", .. }),
        "{over}"
    );
    assert_eq!(register.store.view().await.unwrap().holds.holds, []);
    register.proves().await;
}

async fn nothing_is_told_to_have_happened_while_it_was_held(url: &str) {
    let (mut register, components) = founded(url).await;
    let valve = &components.valves[0];
    let fact = held(Held::Component(valve.clone()));
    let hold = register.record("2029-03-01T00:00Z", fact).await;
    let early = register
        .refuses("2029-02-28T00:00Z", hold_lifted(hold))
        .await;
    assert_eq!(early.conflicting_entry(), Some(hold), "{early}");
    register
        .record("2029-03-10T00:00Z", hold_lifted(hold))
        .await;
    let meanwhile = register
        .refuses("2029-03-05T00:00Z", relocated(valve, "Workshop"))
        .await;
    assert!(
        matches!(meanwhile, Refusal::Contradicts { .. }),
        "{meanwhile}"
    );
    assert_eq!(meanwhile.conflicting_entry(), Some(hold));
    register
        .record("2029-03-10T00:00Z", relocated(valve, "Workshop"))
        .await;
    register.proves().await;
}

async fn what_is_quarantined_and_held_is_not_released_by_two_people(url: &str) {
    let (mut register, components) = founded(url).await;
    let valve = &components.valves[0];
    register
        .record("2029-02-01T00:00Z", judged(valve, Condition::Quarantined))
        .await;
    let proposal = released(valve, Condition::Serviceable);
    let proposal = register.record("2029-02-02T00:00Z", proposal).await;
    let hold = held(Held::Component(valve.clone()));
    let hold = register.record("2029-03-01T00:00Z", hold).await;
    let approval = command(at("2029-03-02T00:00Z"), Fact::Approved { proposal });
    let refusal = register.refuses_of(second_engineer(), approval).await;
    assert_held(&refusal, hold);
    let again = released(valve, Condition::Serviceable);
    assert_held(&register.refuses("2029-03-02T00:00Z", again).await, hold);
    register.proves().await;
}

/// Whoever has left, or brought it in, lifts nothing any more.
async fn two_people_lift_the_hold_of_somebody_who_cannot(url: &str) {
    let (mut register, components) = founded(url).await;
    let valve = &components.valves[0];
    let hold = held(Held::Component(valve.clone()));
    let hold = register.bring("2029-03-01T00:00Z", hold).await;
    let alone = register
        .refuses("2029-04-01T00:00Z", hold_lifted(hold))
        .await;
    assert!(matches!(alone, Refusal::NotTheSetter { .. }), "{alone}");
    let lifting = |hold: Seq| {
        Fact::Proposed(Proposal::Lifting {
            hold,
            evidence: "released by the investigator, letter 12".to_owned(),
        })
    };
    let none = register.refuses("2029-04-01T00:00Z", lifting(Seq(1))).await;
    assert!(
        matches!(none, Refusal::Unknown { what: "hold", .. }),
        "{none}"
    );
    let controller = command(at("2029-04-01T00:00Z"), lifting(hold));
    let proposal = match register.send(person(Role::Controller), controller).await {
        Ok(Recorded::Now(entry)) => entry.seq,
        other => panic!("{other:?}"),
    };
    let still = relocated(valve, "Workshop");
    let still = register.refuses("2029-04-02T00:00Z", still).await;
    assert_held(&still, hold);
    register.approve(proposal, "2029-04-02T00:00Z").await;
    register
        .record("2029-04-03T00:00Z", relocated(valve, "Workshop"))
        .await;
    register.proves().await;
}

each_database!(
    two_people_lift_the_hold_of_somebody_who_cannot,
    a_cut_out_is_taken_down_on_a_held_car,
    a_held_assembly_holds_all_that_is_inside_it,
    a_held_component_is_neither_moved_opened_tested_nor_scrapped,
    a_held_record_is_not_amended,
    entries_about_what_is_held_are_not_corrected,
    nothing_is_told_to_have_happened_while_it_was_held,
    on_a_held_car_nothing_is_done_but_what_is_found_is_taken_down,
    only_whoever_set_a_hold_lifts_it,
    what_is_quarantined_and_held_is_not_released_by_two_people,
);
