//! What comes off and is kept apart: serviceable only on evidence, quarantined after a recall, held
//! when it is evidence; and what comes out of an assembly that is not serviceable is judged by itself.

use domain::configuration::component::Condition::{
    Quarantined, RemovedToBeJudged, Serviceable, Unserviceable,
};
use domain::configuration::component::{ComponentRef, RemovalReason};
use domain::configuration::held::Held;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use tests::assemblies::{self, INNER_RELAY, INNER_VALVE, PANEL_PLACE};
use tests::each_database;
use tests::facts::{
    at, fitted, fitted_at, held, hold_lifted, inside, judged, moved, moved_to, position, released,
    relocated, removed, removed_as, swapped,
};
use tests::fleet::{self, FIRST, SECOND};
use tests::register::{Register, command};

const FOUNDED: &str = "2029-01-01T00:00Z";

/// A valve at the first position of car 4101.
async fn founded(url: &str) -> (Register, ComponentRef) {
    let mut register = Register::open(url).await;
    let valve = fleet::found(&mut register, FOUNDED).await.valves[0].clone();
    let on_car = fitted(&valve, &position("4101", FIRST));
    register.record("2029-02-01T00:00Z", on_car).await;
    (register, valve)
}

/// A removal for another reason.
fn because(reason: RemovalReason, mut fact: Fact) -> Fact {
    if let Fact::Removed { removal, .. } = &mut fact {
        removal.reason = reason;
    }
    fact
}

fn conflict(refusal: &Refusal) -> Seq {
    match refusal {
        Refusal::Contradicts { by, .. } => *by,
        other => panic!("{other}"),
    }
}

/// `practice.md`, C.4: removed serviceable needs its own evidence. Common practice, no source.
async fn what_comes_off_serviceable_does_so_on_evidence(url: &str) {
    let (mut register, valve) = founded(url).await;
    let mut silent = removed_as(&valve, Serviceable);
    if let Fact::Removed { removal, .. } = &mut silent {
        removal.evidence = None;
    }
    let refusal = register.refuses("2029-03-01T00:00Z", silent.clone()).await;
    assert_eq!(refusal.field(), "evidence", "{refusal}");
    // History that is brought in may not tell it.
    let brought = register.bring("2029-03-01T00:00Z", silent).await;
    register.withdraw(brought).await;
    let said = removed_as(&valve, Serviceable);
    register.record("2029-03-01T00:00Z", said).await;
    assert_eq!(register.life(&valve).await.record.condition, Serviceable);
    register.proves().await;
}

/// `practice.md`, C.4: a recall is doubt, which two people end. Common practice, no source.
async fn what_was_recalled_is_quarantined_until_two_people_release_it(url: &str) {
    let (mut register, valve) = founded(url).await;
    for condition in [RemovedToBeJudged, Unserviceable] {
        let off = because(RemovalReason::Recall, removed_as(&valve, condition));
        let refusal = register.refuses("2029-03-01T00:00Z", off).await;
        assert_eq!(refusal.field(), "condition", "{refusal}");
        assert!(refusal.to_string().contains("quarantined"), "{refusal}");
    }
    let off = because(RemovalReason::Recall, removed_as(&valve, Quarantined));
    register.record("2029-03-01T00:00Z", off).await;
    let alone = judged(&valve, Serviceable);
    let alone = register.refuses("2029-03-02T00:00Z", alone).await;
    assert!(matches!(alone, Refusal::ConditionForbids { .. }), "{alone}");
    let release = released(&valve, Serviceable);
    let release = register.record("2029-03-02T00:00Z", release).await;
    register.approve(release, "2029-03-02T00:00Z").await;
    assert_eq!(register.life(&valve).await.record.condition, Serviceable);
    register.proves().await;
}

/// `practice.md`, C.4: accident evidence is held and not even opened until the investigation is over.
/// Common practice, no source.
async fn nothing_is_done_to_evidence_before_it_was_held(url: &str) {
    let (mut register, valve) = founded(url).await;
    let off = because(RemovalReason::Evidence, removed(&valve));
    let refusal = register.refuses("2029-03-01T00:00Z", off).await;
    assert_eq!(refusal.field(), "condition", "{refusal}");
    let off = because(RemovalReason::Evidence, removed_as(&valve, Quarantined));
    let removal = register.record("2029-03-01T00:00Z", off).await;
    for fact in [
        released(&valve, Serviceable),
        judged(&valve, Unserviceable),
        relocated(&valve, "Shelf 3"),
        fitted(&valve, &position("4102", FIRST)),
    ] {
        let refusal = register.refuses("2029-03-02T00:00Z", fact).await;
        assert_eq!(conflict(&refusal), removal, "{refusal}");
        assert!(refusal.to_string().contains("hold it"), "{refusal}");
    }
    let hold = held(Held::Component(valve.clone()));
    let hold = register.record("2029-03-03T00:00Z", hold).await;
    let refusal = register
        .refuses("2029-03-04T00:00Z", released(&valve, Serviceable))
        .await;
    assert!(
        matches!(refusal, Refusal::HeldAsEvidence { by, .. } if by == hold),
        "{refusal}"
    );
    register
        .record("2029-03-05T00:00Z", hold_lifted(hold))
        .await;
    let alone = judged(&valve, Serviceable);
    let alone = register.refuses("2029-03-06T00:00Z", alone).await;
    assert!(matches!(alone, Refusal::ConditionForbids { .. }), "{alone}");
    let release = released(&valve, Serviceable);
    let release = register.record("2029-03-06T00:00Z", release).await;
    register.approve(release, "2029-03-06T00:00Z").await;
    let again = fitted(&valve, &position("4102", FIRST));
    register.record("2029-03-07T00:00Z", again).await;
    register.proves().await;
}

async fn that_it_was_evidence_can_be_corrected(url: &str) {
    let (mut register, valve) = founded(url).await;
    let off = because(RemovalReason::Evidence, removed_as(&valve, Quarantined));
    let removal = register.record("2029-03-01T00:00Z", off).await;
    let failed = because(RemovalReason::Failed, removed_as(&valve, Quarantined));
    register.correct(removal, "2029-03-01T00:00Z", failed).await;
    let away = Command {
        reason: "to the quarantine store".to_owned(),
        ..command(at("2029-03-02T00:00Z"), relocated(&valve, "Shelf 3"))
    };
    register.kept(away).await;
    register.proves().await;
}

/// The removal was of another component. Each refusal names what comes next.
async fn evidence_recorded_on_the_wrong_component_is_taken_back_in_three_steps(url: &str) {
    let (mut register, valve) = founded(url).await;
    let off = because(RemovalReason::Evidence, removed_as(&valve, Quarantined));
    let removal = register.record("2029-03-01T00:00Z", off).await;
    let refusal = register.refuses_withdrawal(removal).await;
    let told = refusal.to_string();
    let first = told.find("register_error").expect("the first step");
    let second = told.find("another approves").expect("the second");
    let third = told.find("then withdraw").expect("the third");
    assert!(first < second && second < third, "{told}");
    let refusal = register
        .refuses("2029-03-02T00:00Z", released(&valve, Serviceable))
        .await;
    assert!(
        refusal.to_string().contains("correct that entry"),
        "{refusal}"
    );

    let slip = because(
        RemovalReason::RegisterError,
        removed_as(&valve, Quarantined),
    );
    let removal = register.correct(removal, "2029-03-01T00:00Z", slip).await;
    let refusal = register.refuses_withdrawal(removal).await;
    assert!(
        refusal.to_string().contains("another approves"),
        "{refusal}"
    );
    let alone = judged(&valve, Serviceable);
    register.refuses("2029-03-02T00:00Z", alone).await;

    let release = released(&valve, Serviceable);
    let release = register.record("2029-03-02T00:00Z", release).await;
    register.approve(release, "2029-03-02T00:00Z").await;
    register.withdraw(removal).await;
    let life = register.life(&valve).await;
    assert_eq!(life.record.condition, Serviceable);
    assert!(
        life.fitments.iter().any(|one| one.end.is_none()),
        "on the car"
    );
    register.proves().await;
}

/// A panel with a valve and a relay valve in it, taken off a car and judged, and another in store.
struct Judged {
    register: Register,
    panels: [ComponentRef; 2],
    valve: ComponentRef,
    other: ComponentRef,
    relay: ComponentRef,
    by: Seq,
}

async fn judged_panel(url: &str) -> Judged {
    let mut register = Register::open(url).await;
    let components = assemblies::found(&mut register, FOUNDED).await;
    let [panel, second, _] = assemblies::components();
    let [valve, other] = [0, 1].map(|n| components.valves[n].clone());
    let relay = components.relay.clone();
    for (fact, day) in [
        (fitted_at(&valve, &inside(&panel, INNER_VALVE)), 1),
        (fitted_at(&relay, &inside(&panel, INNER_RELAY)), 1),
        (fitted(&panel, &position("4101", PANEL_PLACE)), 2),
        (fitted(&other, &position("4102", FIRST)), 2),
        (removed(&panel), 10),
    ] {
        let moment = format!("2029-02-{day:02}T00:00Z");
        register.record(&moment, fact).await;
    }
    let by = judged(&panel, Quarantined);
    let by = register.record("2029-02-11T00:00Z", by).await;
    Judged {
        register,
        panels: [panel, second],
        valve,
        other,
        relay,
        by,
    }
}

/// `practice.md`, C.4 and `domain.md`, invariant 4: only what was judged by itself is fitted.
async fn what_is_inside_a_quarantined_panel_goes_straight_to_no_position(url: &str) {
    let Judged {
        mut register,
        panels: [_, second],
        valve,
        other,
        by,
        ..
    } = judged_panel(url).await;
    for fact in [
        moved(&valve, &position("4102", SECOND)),
        moved_to(&valve, &inside(&second, INNER_VALVE)),
        swapped(&valve, &other),
        swapped(&other, &valve),
        removed_as(&valve, Serviceable),
    ] {
        let refusal = register.refuses("2029-02-12T00:00Z", fact).await;
        assert_eq!(conflict(&refusal), by, "{refusal}");
        assert!(refusal.to_string().contains("quarantined"), "{refusal}");
    }
    // Before the panel came off all were sound.
    let sound = removed_as(&valve, Serviceable);
    let sound = register.record("2029-02-05T00:00Z", sound).await;
    register.withdraw(sound).await;
    // It comes out to be judged, and is judged by itself.
    register.record("2029-02-12T00:00Z", removed(&valve)).await;
    let unjudged = fitted(&valve, &position("4102", SECOND));
    let unjudged = register.refuses("2029-02-13T00:00Z", unjudged).await;
    assert!(
        matches!(unjudged, Refusal::ConditionForbids { .. }),
        "{unjudged}"
    );
    let sound = judged(&valve, Serviceable);
    register.record("2029-02-14T00:00Z", sound).await;
    let on = fitted(&valve, &position("4102", SECOND));
    register.record("2029-02-15T00:00Z", on).await;
    register.proves().await;
}

async fn what_leaves_a_panel_that_is_to_be_judged_is_judged_too(url: &str) {
    let Judged {
        mut register,
        panels: [panel, _],
        relay,
        by,
        ..
    } = judged_panel(url).await;
    // Of a time at which the panel had come off and was not judged yet.
    let between = removed_as(&relay, Serviceable);
    let refusal = register.refuses("2029-02-10T12:00Z", between).await;
    assert!(conflict(&refusal) < by, "{refusal}");
    assert!(
        refusal.to_string().contains(&panel.to_string()),
        "{refusal}"
    );
    register.record("2029-02-12T00:00Z", removed(&relay)).await;
    register.proves().await;
}

async fn what_befell_a_panel_is_told_in_the_lives_of_what_was_inside(url: &str) {
    let Judged {
        mut register,
        panels: [panel, _],
        valve,
        other,
        by,
        ..
    } = judged_panel(url).await;
    register.record("2029-02-12T00:00Z", removed(&valve)).await;
    let later = released(&panel, RemovedToBeJudged);
    let later = register.record("2029-02-13T00:00Z", later).await;
    let later = register.approve(later, "2029-02-13T00:00Z").await;
    let told = async |component: &ComponentRef| {
        let found = register.life(component).await;
        let mut view = register.store.view().await.unwrap();
        let entries = view.entries_of(&found.record).await.unwrap();
        entries.iter().map(|entry| entry.seq).collect::<Vec<_>>()
    };
    let of_valve = told(&valve).await;
    assert!(of_valve.contains(&by), "{of_valve:?}");
    assert!(!of_valve.contains(&later), "it had left it: {of_valve:?}");
    assert!(!told(&other).await.contains(&by));
    let of_panel = told(&panel).await;
    assert!(of_panel.contains(&by) && of_panel.contains(&later));
    register.proves().await;
}

each_database!(
    what_comes_off_serviceable_does_so_on_evidence,
    what_was_recalled_is_quarantined_until_two_people_release_it,
    nothing_is_done_to_evidence_before_it_was_held,
    that_it_was_evidence_can_be_corrected,
    evidence_recorded_on_the_wrong_component_is_taken_back_in_three_steps,
    what_is_inside_a_quarantined_panel_goes_straight_to_no_position,
    what_leaves_a_panel_that_is_to_be_judged_is_judged_too,
    what_befell_a_panel_is_told_in_the_lives_of_what_was_inside,
);
