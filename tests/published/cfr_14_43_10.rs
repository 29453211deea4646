//! Life status of life-limited parts: source 14 CFR 43.10 (67 FR 2110, 2002; 79 FR 67055, 2014).
//! On each removal the record is brought up to date with the current life status, under part
//! number and serial number. A temporary removal needs none if the part goes back on the same
//! product and nothing accumulates meanwhile. The numbers are ours.
//!
//! The register does not refuse a removal for want of a reading, since what came off has come
//! off; it says that the life status is unknown, and since when.

use domain::configuration::component::{ComponentRef, Condition};
use domain::due::point::Lack;
use domain::ledger::dossier::MeterValues;
use domain::ledger::used::Used;
use domain::time::Zone;
use domain::units::{Amount, Meter};
use domain::usage::carried::{FittedUse, counted};
use tests::assemblies::{self, INNER_VALVE, PANEL_PLACE};
use tests::each_database;
use tests::facts::{fitted, fitted_at, inside, moved, position, read, removed, removed_as};
use tests::fleet::{self, FIRST, LIFE};
use tests::register::Register;

async fn founded(url: &str) -> (Register, ComponentRef) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    register
        .record("2029-02-01T00:00Z", read("4101", 10_000))
        .await;
    (register, components.valves[0].clone())
}

/// What a component has run since it came, by its part number and serial number.
async fn life_status(register: &Register, component: &ComponentRef) -> Option<Amount> {
    let life = register.life(component).await;
    counted(life.fitments.iter().map(|fitment| FittedUse {
        from: fitment.meters_from.odometer,
        until: fitment.meters_until.odometer,
    }))
}

/// What a component has run in its life, as its page says.
async fn used(register: &Register, component: &ComponentRef) -> Used {
    let life = register.life(component).await;
    let history = life.history();
    let now = (&MeterValues::default(), register.now);
    history.used(Meter::Odometer, now, &Zone::UTC)
}

/// 43.10(c): the record is brought up to date on each removal.
async fn a_removal_brings_the_life_status_up_to_date(url: &str) {
    let (mut register, valve) = founded(url).await;
    let here = position("4101", FIRST);
    register
        .record("2029-02-01T00:00Z", fitted(&valve, &here))
        .await;
    register
        .record("2029-03-03T00:00Z", read("4101", 22_000))
        .await;
    register.record("2029-03-03T00:00Z", removed(&valve)).await;
    let expected = Some(Amount::whole(12_000));
    assert_eq!(life_status(&register, &valve).await, expected);
    register.proves().await;
}

/// 43.10(c): without a reading there is no life status, and none is made up.
async fn a_removal_from_a_car_that_was_never_read_leaves_it_unknown(url: &str) {
    let (mut register, valve) = founded(url).await;
    let never_read = position("4103", FIRST);
    let by = register
        .record("2029-02-01T00:00Z", fitted(&valve, &never_read))
        .await;
    register.record("2029-03-03T00:00Z", removed(&valve)).await;
    assert_eq!(life_status(&register, &valve).await, None);
    let used = used(&register, &valve).await;
    assert_eq!((used.total.is_err(), used.unknown_since), (true, Some(by)));
    let due = register.due(&valve, LIFE).await;
    assert_eq!(due.forecast.on, None);
    assert_eq!(due.forecast.lacking.meters.odometer, Some(Lack::Use));
    register.proves().await;
}

/// 43.10(b): back on the same product with nothing run meanwhile, no status is needed.
async fn a_temporary_removal_on_one_car_that_stands_changes_nothing(url: &str) {
    let (mut register, valve) = founded(url).await;
    let here = position("4101", FIRST);
    register
        .record("2029-02-01T00:00Z", fitted(&valve, &here))
        .await;
    let for_access = removed_as(&valve, Condition::Serviceable);
    register.record("2029-02-11T00:00Z", for_access).await;
    register
        .record("2029-02-12T00:00Z", fitted(&valve, &here))
        .await;
    register
        .record("2029-02-11T00:00Z", read("4101", 14_000))
        .await;
    register
        .record("2029-02-12T00:00Z", read("4101", 14_000))
        .await;
    register
        .record("2029-02-22T00:00Z", read("4101", 18_000))
        .await;
    register.record("2029-02-22T00:00Z", removed(&valve)).await;
    let expected = Some(Amount::whole(8_000));
    assert_eq!(life_status(&register, &valve).await, expected);
    register.proves().await;
}

/// 43.10(b): on another product the status is needed; without a reading there it is unknown.
async fn fitted_to_another_car_it_needs_a_reading_there(url: &str) {
    let (mut register, valve) = founded(url).await;
    register
        .record(
            "2029-02-01T00:00Z",
            fitted(&valve, &position("4101", FIRST)),
        )
        .await;
    register
        .record("2029-02-11T00:00Z", read("4101", 14_000))
        .await;
    let off = removed_as(&valve, Condition::Serviceable);
    register.record("2029-02-11T00:00Z", off).await;
    let elsewhere = fitted(&valve, &position("4103", FIRST));
    register.record("2029-02-12T00:00Z", elsewhere).await;
    let due = register.due(&valve, LIFE).await;
    assert_eq!(due.forecast.lacking.meters.odometer, Some(Lack::Use));
    register
        .record("2029-02-12T00:00Z", read("4103", 70_000))
        .await;
    register
        .record("2029-02-22T00:00Z", read("4103", 75_000))
        .await;
    let due = register.due(&valve, LIFE).await;
    assert_eq!(due.forecast.lacking.meters.odometer, None);
    register.record("2029-02-22T00:00Z", removed(&valve)).await;
    let expected = Some(Amount::whole(9_000));
    assert_eq!(life_status(&register, &valve).await, expected);
    register.proves().await;
}

/// 43.10(c): a part that leaves one product for another inside an assembly is removed from it all
/// the same. Its status follows from where it was, under its own part number and serial number.
async fn inside_an_assembly_a_part_has_a_life_status_of_its_own(url: &str) {
    let mut register = Register::open(url).await;
    let since = "2029-01-01T00:00Z";
    let valve = assemblies::found(&mut register, since).await.valves[0].clone();
    let [panel, ..] = assemblies::components();
    for (day, car, km) in [
        ("2029-02-01", "4101", 10_000),
        ("2029-03-03", "4101", 22_000),
        ("2029-03-03", "4102", 90_000),
        ("2029-03-13", "4102", 95_000),
    ] {
        let at = format!("{day}T00:00Z");
        register.record(&at, read(car, km)).await;
    }
    let [first, second] = ["4101", "4102"].map(|car| position(car, PANEL_PLACE));
    register
        .record("2029-02-01T00:00Z", fitted(&panel, &first))
        .await;
    // Half way: the panel has run 6,000 km before the valve came into it.
    let put = fitted_at(&valve, &inside(&panel, INNER_VALVE));
    register.record("2029-02-16T00:00Z", put).await;
    register
        .record("2029-03-03T00:00Z", moved(&panel, &second))
        .await;
    register.record("2029-03-13T00:00Z", removed(&panel)).await;
    let of_panel = life_status(&register, &panel).await;
    assert_eq!(of_panel, Some(Amount::whole(17_000)));
    let of_valve = life_status(&register, &valve).await;
    assert_eq!(of_valve, Some(Amount::whole(11_000)));
    register.proves().await;
}

each_database!(
    inside_an_assembly_a_part_has_a_life_status_of_its_own,
    a_removal_brings_the_life_status_up_to_date,
    a_removal_from_a_car_that_was_never_read_leaves_it_unknown,
    a_temporary_removal_on_one_car_that_stands_changes_nothing,
    fitted_to_another_car_it_needs_a_reading_there,
);
