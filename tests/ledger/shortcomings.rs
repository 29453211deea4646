//! What a verdict is told of components that are fitted and yet are not as they must be.

use domain::configuration::car::{Orientation, Vehicle};
use domain::configuration::component::{ComponentRef, Condition};
use domain::decision::shortcoming::{Fault, Shortcoming, incomplete, shortcomings};
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use tests::assemblies::{self, PANEL_PLACE};
use tests::each_database;
use tests::facts::{fitted, fitted_at, inside, judged, position, removed};
use tests::register::Register;

const FOUNDED: &str = "2029-01-01T00:00Z";

/// What a verdict on car 4101 by itself is told of what is fitted.
async fn told(register: &Register) -> Vec<Shortcoming> {
    let mut view = register.store.view().await.unwrap();
    let alone = Vehicle::Car("4101".parse().unwrap(), Orientation::Forward);
    let cars = view.formation(&[alone], None).await.unwrap().unwrap();
    shortcomings(&view.documents, &cars[0].told, &cars[0].filled)
}

/// A panel that does not go on a car without its valve, and valves for it.
async fn with_needy_panel(register: &mut Register) -> (ComponentRef, Vec<ComponentRef>) {
    let components = assemblies::found(register, FOUNDED).await;
    let needs = domain::configuration::part::Vacancy::Forbidden;
    let kind = domain::configuration::car_type::PositionKind::DistributorValve;
    let inner = assemblies::inner("-K9", kind, &[tests::fleet::VALVE], needs);
    register
        .record(
            "2029-01-02T00:00Z",
            assemblies::assembly("BP-39", vec![inner]),
        )
        .await;
    let panel = tests::facts::component("BP-39", "1");
    let receipt = Fact::ComponentReceived(tests::facts::receipt(&panel, "2020-01-01"));
    register.record("2029-01-02T00:00Z", receipt).await;
    let kind = domain::configuration::car_type::PositionKind::ControlPanel;
    let place = tests::fleet::place(PANEL_PLACE, kind, &["BP-39"]);
    let car_type = tests::fleet::car_type_with("E", &[], [place]);
    register.record("2029-01-02T00:00Z", car_type).await;
    let car = tests::facts::car("4101", "E", tests::fleet::DEPOT);
    register.bring("2029-01-02T00:00Z", car).await;
    (panel, components.valves.clone())
}

async fn a_verdict_knows_what_is_missing_in_an_assembly_and_what_was_found_unfit(url: &str) {
    let mut register = Register::open(url).await;
    let (panel, valves) = with_needy_panel(&mut register).await;
    let valve = valves[0].clone();
    let put = fitted_at(&valve, &inside(&panel, "-K9"));
    register.record("2029-02-01T00:00Z", put).await;
    let on_car = fitted(&panel, &position("4101", PANEL_PLACE));
    register.record("2029-02-02T00:00Z", on_car).await;
    assert_eq!(told(&register).await, []);
    let found = judged(&panel, Condition::BeyondSalvage);
    register.record("2029-02-03T00:00Z", found).await;
    let unfit = Shortcoming {
        position: PANEL_PLACE.parse().unwrap(),
        fault: Fault::Unfit(Condition::BeyondSalvage),
    };
    let found = told(&register).await;
    assert_eq!(found, std::slice::from_ref(&unfit));
    register.record("2029-02-04T00:00Z", removed(&valve)).await;
    let missing = Shortcoming {
        position: format!("{PANEL_PLACE}-K9").parse().unwrap(),
        fault: Fault::Missing,
    };
    let both = told(&register).await;
    assert_eq!(both, [unfit, missing]);
    let outer = PANEL_PLACE.parse().unwrap();
    let beside = format!("{PANEL_PLACE}0").parse().unwrap();
    let counted = incomplete([&outer, &beside].into_iter(), &both);
    assert_eq!(counted, [outer], "it cannot be counted on");
}

async fn an_assembly_went_on_a_car_only_with_what_it_needs_also_after_a_correction(url: &str) {
    let mut register = Register::open(url).await;
    let (panel, valves) = with_needy_panel(&mut register).await;
    let into = inside(&panel, "-K9");
    let first = register
        .record("2029-02-01T00:00Z", fitted_at(&valves[0], &into))
        .await;
    let on_car = fitted(&panel, &position("4101", PANEL_PLACE));
    let went_on = register.record("2029-02-02T00:00Z", on_car).await;
    let refused = register.refuses_withdrawal(first).await;
    assert!(
        matches!(refused, Refusal::Contradicts { by, .. } if by == went_on),
        "{refused}"
    );
    assert!(refused.to_string().contains("with what it needs inside it"));
    // Another valve in its place leaves it complete; one that came later does not.
    let late = fitted_at(&valves[1], &into);
    let late = register
        .refuses_correction(first, "2029-02-03T00:00Z", late)
        .await;
    assert!(
        matches!(late, Refusal::Contradicts { by, .. } if by == went_on),
        "{late}"
    );
    let other = fitted_at(&valves[1], &into);
    register.correct(first, "2029-02-01T00:00Z", other).await;
    assert_eq!(told(&register).await, []);
    // What was put in on the car can be withdrawn; what is missing then is a finding.
    let off = removed(&valves[1]);
    register.record("2029-02-04T00:00Z", off).await;
    let again = fitted_at(&valves[2], &into);
    let again = register.record("2029-02-05T00:00Z", again).await;
    assert_eq!(departs(&register).await, [""; 0]);
    register.withdraw(again).await;
    let place = format!("{PANEL_PLACE}-K9");
    assert_eq!(departs(&register).await, [format!("{place} incomplete")]);
    let unfit = judged(&panel, Condition::Unserviceable);
    register.record("2029-02-06T00:00Z", unfit).await;
    assert_eq!(
        departs(&register).await,
        [
            format!("{PANEL_PLACE} unfit"),
            format!("{place} incomplete")
        ]
    );
    register.proves().await;
}

/// How car 4101 departs at the panel's place and below it.
async fn departs(register: &Register) -> Vec<String> {
    let mut all = register.departures("4101", "2029-02-07").await;
    all.retain(|one| one.starts_with(PANEL_PLACE));
    all
}

each_database!(
    a_verdict_knows_what_is_missing_in_an_assembly_and_what_was_found_unfit,
    an_assembly_went_on_a_car_only_with_what_it_needs_also_after_a_correction,
);
