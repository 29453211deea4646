//! The design of assemblies: what a part may say of its own positions, and a car type of places
//! inside what is approved at its positions.

use domain::configuration::car_type::{Position, PositionKind};
use domain::configuration::part::{InnerPosition, LEVELS_MAX, Vacancy};
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use tests::assemblies::{self, INNER_VALVE, PANEL, PANEL_PLACE, assembly};
use tests::each_database;
use tests::facts::{fitted, fitted_at, inside, moved, position, removed};
use tests::fleet::{self, VALVE};
use tests::register::Register;

use PositionKind::{ControlPanel, DistributorValve, RelayValve};

const SINCE: &str = "2029-01-01T00:00Z";

async fn founded(url: &str) -> Register {
    let mut register = Register::open(url).await;
    assemblies::found(&mut register, SINCE).await;
    register
}

fn inner(code: &str, kind: PositionKind, approved: &[&str]) -> InnerPosition {
    assemblies::inner(code, kind, approved, Vacancy::Finding)
}

async fn refused(register: &mut Register, fact: Fact) -> String {
    let refusal = register.refuses("2029-02-01T00:00Z", fact).await;
    assert!(
        matches!(
            refusal,
            Refusal::Impossible { .. } | Refusal::Unknown { .. }
        ),
        "{refusal}"
    );
    refusal.to_string()
}

async fn a_part_may_not_hold_itself_or_what_is_not_known(url: &str) {
    let mut register = founded(url).await;
    let itself = assembly("BX-1", vec![inner("-P1", ControlPanel, &["BX-1"])]);
    let why = refused(&mut register, itself).await;
    assert_eq!(why, "part BX-1 is not in the register");
    let other_kind = assembly("BX-2", vec![inner("-K1", RelayValve, &[VALVE])]);
    let why = refused(&mut register, other_kind).await;
    assert!(why.contains("made for a distributor valve"), "{why}");
}

async fn codes_of_a_part_cannot_be_mistaken_for_one_another(url: &str) {
    let mut register = founded(url).await;
    for (one, other) in [("-K1", "-K1"), ("-K1", "-K1-V2"), ("-K1-V2", "-K1")] {
        let place = |code| inner(code, DistributorValve, &[VALVE]);
        let part = assembly("BX-1", vec![place(one), place(other)]);
        let why = refused(&mut register, part).await;
        assert!(why.contains("none that begins with another"), "{why}");
    }
    let apart = ["-K1", "-K12"].map(|code| inner(code, DistributorValve, &[VALVE]));
    register.record(SINCE, assembly("BX-1", apart.into())).await;
}

async fn assemblies_go_eight_levels_deep_and_no_further(url: &str) {
    let mut register = founded(url).await;
    let mut below = PANEL.to_owned();
    for level in 2..=LEVELS_MAX {
        let number = format!("BX-{level}");
        let part = assembly(&number, vec![inner("-P1", ControlPanel, &[&below])]);
        register.record(SINCE, part).await;
        below = number;
    }
    let part = assembly("BX-9", vec![inner("-P1", ControlPanel, &[&below])]);
    let why = refused(&mut register, part).await;
    assert!(
        why.contains("at most 8 assemblies inside one another"),
        "{why}"
    );
    let long = format!("-{}", "P".repeat(78));
    let part = assembly("BX-10", vec![inner(&long, ControlPanel, &[PANEL])]);
    let why = refused(&mut register, part).await;
    assert!(why.contains("at most 80 characters"), "{why}");
    register.proves().await;
}

fn panel_place(approved: &[&str]) -> Position {
    fleet::place(PANEL_PLACE, ControlPanel, approved)
}

async fn a_place_inside_is_listed_only_as_all_approved_parts_have_it(url: &str) {
    let mut register = founded(url).await;
    let other = assembly("BX-1", vec![inner("-K9", DistributorValve, &[VALVE])]);
    register.record(SINCE, other).await;
    let full = |kind, approved: &[&str]| fleet::place("=BS-P1-K1", kind, approved);
    let car_type =
        |inside, host: &[&str]| fleet::car_type_with("D", &[], [panel_place(host), inside]);
    for (inside, host) in [
        (full(RelayValve, &[]), vec![PANEL]),
        (full(DistributorValve, &[]), vec![PANEL, "BX-1"]),
    ] {
        let why = refused(&mut register, car_type(inside, &host)).await;
        assert!(
            why.contains("inside every part approved at =BS-P1"),
            "{why}"
        );
    }
    let approved = full(DistributorValve, &[VALVE]);
    let why = refused(&mut register, car_type(approved, &[PANEL])).await;
    assert!(why.contains("its part says what is approved"), "{why}");
    let right = full(DistributorValve, &[]);
    register.record(SINCE, car_type(right, &[PANEL])).await;
}

/// The positions of a car that hold a component, as a decision about a train reads them.
async fn filled(register: &Register, number: &str) -> Vec<String> {
    use domain::configuration::car::{Orientation, Vehicle};
    let vehicle = Vehicle::Car(number.parse().unwrap(), Orientation::Forward);
    let mut view = register.store.view().await.unwrap();
    let cars = view.formation(&[vehicle], None).await.unwrap().unwrap();
    cars[0].filled.codes().map(str::to_owned).collect()
}

async fn the_circuit_sees_what_is_inside_a_panel(url: &str) {
    let mut register = founded(url).await;
    let [panel, ..] = assemblies::components();
    let valve = fleet::components().valves[0].clone();
    let put = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    register.record("2029-02-01T00:00Z", put).await;
    let [first, second] = ["4101", "4102"].map(|car| position(car, PANEL_PLACE));
    register
        .record("2029-02-02T00:00Z", fitted(&panel, &first))
        .await;
    let both = [PANEL_PLACE, "=BS-P1-K1"];
    assert_eq!(filled(&register, "4101").await, both);
    register
        .record("2029-02-03T00:00Z", moved(&panel, &second))
        .await;
    assert_eq!(filled(&register, "4101").await, [""; 0]);
    assert_eq!(filled(&register, "4102").await, both);
    register.record("2029-02-04T00:00Z", removed(&valve)).await;
    assert_eq!(filled(&register, "4102").await, [PANEL_PLACE]);
}

each_database!(
    a_part_may_not_hold_itself_or_what_is_not_known,
    codes_of_a_part_cannot_be_mistaken_for_one_another,
    assemblies_go_eight_levels_deep_and_no_further,
    a_place_inside_is_listed_only_as_all_approved_parts_have_it,
    the_circuit_sees_what_is_inside_a_panel,
);
