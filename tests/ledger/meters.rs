//! Readings and meters: what runs backwards or too fast is refused, and use goes on without a
//! step when a meter is replaced.

use domain::configuration::component::ComponentRef;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::refusal::Refusal;
use domain::units::Amount;
use domain::usage::carried::{FittedUse, counted};
use tests::each_database;
use tests::facts::{fitted, moved, odometer_replaced, position, read, read_confirmed, removed};
use tests::fleet::{self, Components, FIRST};
use tests::register::Register;

const CAR: &str = "4101";

async fn founded(url: &str) -> (Register, Components) {
    let mut register = Register::open(url).await;
    let components = fleet::found(&mut register, "2029-01-01T00:00Z").await;
    (register, components)
}

/// Asserts that a value is refused in a field, by an entry that is named.
fn assert_names(refusal: &Refusal, expected: &'static str, by: Seq) {
    let Refusal::OffMeter {
        field, by: other, ..
    } = refusal
    else {
        panic!("{refusal}");
    };
    assert_eq!((*field, *other), (expected, by), "{refusal}");
}

/// What a component has run by the odometers of the cars it was on; none where a boundary is
/// not known.
async fn run_by(register: &Register, component: &ComponentRef) -> Option<Amount> {
    let life = register.life(component).await;
    counted(life.fitments.iter().map(|fitment| FittedUse {
        from: fitment.meters_from.odometer,
        until: fitment.meters_until.odometer,
    }))
}

async fn a_reading_that_runs_backwards_is_refused(url: &str) {
    let (mut register, _) = founded(url).await;
    let first = register.record("2029-02-01T00:00Z", read(CAR, 1_000)).await;
    let second = register.record("2029-02-11T00:00Z", read(CAR, 5_000)).await;
    let less = register
        .refuses("2029-02-20T00:00Z", read(CAR, 4_999))
        .await;
    assert_names(&less, "value", second);
    let more = register
        .refuses("2029-02-05T00:00Z", read(CAR, 5_001))
        .await;
    assert_names(&more, "value", second);
    let before = register.refuses("2029-02-05T00:00Z", read(CAR, 999)).await;
    assert_names(&before, "value", first);
    let same_moment = register
        .refuses("2029-02-01T00:00Z", read(CAR, 1_000))
        .await;
    assert_names(&same_moment, "value", first);
    // No confirmation helps against a wrong order.
    let confirmed = register
        .refuses("2029-02-20T00:00Z", read_confirmed(CAR, 4_999))
        .await;
    assert_names(&confirmed, "value", second);
    register.record("2029-02-05T00:00Z", read(CAR, 2_500)).await;
    register.proves().await;
}

async fn a_reading_that_runs_too_fast_is_refused_until_confirmed(url: &str) {
    let (mut register, _) = founded(url).await;
    let first = register.record("2029-02-01T00:00Z", read(CAR, 1_000)).await;
    let fast = register
        .refuses("2029-02-02T00:00Z", read(CAR, 9_000))
        .await;
    assert_names(&fast, "value", first);
    let Fact::ReadingTaken(mut reading) = read(CAR, 9_000) else {
        unreachable!()
    };
    reading.confirmed = Some("  ".to_owned());
    let unsaid = register
        .refuses("2029-02-02T00:00Z", Fact::ReadingTaken(reading))
        .await;
    assert!(
        matches!(
            unsaid,
            Refusal::Impossible {
                field: "confirmed",
                ..
            }
        ),
        "{unsaid}"
    );
    register
        .record("2029-02-02T00:00Z", read_confirmed(CAR, 9_000))
        .await;
    assert_eq!(register.odometer(CAR).await, Amount::whole(9_000));
}

async fn use_goes_on_without_a_step_when_a_meter_is_replaced(url: &str) {
    let (mut register, components) = founded(url).await;
    let valve = &components.valves[0];
    register
        .record("2029-02-01T00:00Z", read(CAR, 250_000))
        .await;
    register
        .record("2029-02-01T00:00Z", fitted(valve, &position(CAR, FIRST)))
        .await;
    register
        .record("2029-02-11T00:00Z", odometer_replaced(CAR, 254_000, 12))
        .await;
    register.record("2029-02-21T00:00Z", read(CAR, 4_012)).await;
    assert_eq!(register.odometer(CAR).await, Amount::whole(258_000));
    register.record("2029-02-21T00:00Z", removed(valve)).await;
    assert_eq!(run_by(&register, valve).await, Some(Amount::whole(8_000)));
    register.proves().await;
}

async fn a_replacement_is_no_way_around_the_checks_of_readings(url: &str) {
    let (mut register, _) = founded(url).await;
    let first = register
        .record("2029-02-01T00:00Z", read(CAR, 10_000))
        .await;
    let second = register
        .record("2029-02-11T00:00Z", read(CAR, 14_000))
        .await;
    let backwards = register
        .refuses("2029-02-05T00:00Z", odometer_replaced(CAR, 9_000, 0))
        .await;
    assert_names(&backwards, "last_value", first);
    let fast = register
        .refuses("2029-02-02T00:00Z", odometer_replaced(CAR, 90_000, 0))
        .await;
    assert_names(&fast, "last_value", first);
    // The later reading is one of the old meter, not of a new one.
    let jump = register
        .refuses("2029-02-05T00:00Z", odometer_replaced(CAR, 12_000, 0))
        .await;
    assert_names(&jump, "first_value", second);
    let replaced = register
        .record("2029-02-12T00:00Z", odometer_replaced(CAR, 14_400, 0))
        .await;
    let twice = register
        .refuses("2029-02-12T00:00Z", odometer_replaced(CAR, 14_400, 0))
        .await;
    assert_names(&twice, "last_value", replaced);
}

async fn a_replacement_that_later_readings_need_is_not_withdrawn(url: &str) {
    let (mut register, _) = founded(url).await;
    register
        .record("2029-02-01T00:00Z", read(CAR, 10_000))
        .await;
    let replaced = register
        .record("2029-02-02T00:00Z", odometer_replaced(CAR, 10_400, 0))
        .await;
    let later = register.record("2029-02-12T00:00Z", read(CAR, 4_000)).await;
    let refusal = register.refuses_withdrawal(replaced).await;
    assert!(
        matches!(refusal, Refusal::Contradicts { by, .. } if by == later),
        "{refusal}"
    );
    register.withdraw(later).await;
    register.withdraw(replaced).await;
    assert_eq!(register.odometer(CAR).await, Amount::whole(10_000));
    register.proves().await;
}

async fn a_replacement_is_corrected_under_the_readings_that_rest_on_it(url: &str) {
    let (mut register, _) = founded(url).await;
    register
        .record("2029-02-01T00:00Z", read(CAR, 10_000))
        .await;
    let replaced = odometer_replaced(CAR, 10_400, 0);
    let replaced = register.record("2029-02-02T00:00Z", replaced).await;
    register.record("2029-02-12T00:00Z", read(CAR, 4_000)).await;
    let other_values = odometer_replaced(CAR, 10_600, 100);
    register
        .correct(replaced, "2029-02-02T06:00Z", other_values)
        .await;
    assert_eq!(register.odometer(CAR).await, Amount::whole(14_500));
    register.proves().await;
}

async fn a_corrected_reading_is_checked_against_the_one_before(url: &str) {
    let (mut register, _) = founded(url).await;
    let first = register
        .record("2029-02-01T00:00Z", read(CAR, 10_000))
        .await;
    let second = register
        .record("2029-02-11T00:00Z", read(CAR, 14_000))
        .await;
    let when = "2029-02-11T00:00Z";
    let backwards = register
        .refuses_correction(second, when, read(CAR, 1_400))
        .await;
    assert_names(&backwards, "value", first);
    register.correct(second, when, read(CAR, 13_000)).await;
    assert_eq!(register.odometer(CAR).await, Amount::whole(13_000));
    register.withdraw(first).await;
    register.proves().await;
}

async fn use_is_carried_from_car_to_car(url: &str) {
    let (mut register, components) = founded(url).await;
    let valve = &components.valves[0];
    for (car, km) in [(CAR, 100_000), ("4102", 900_000)] {
        register.record("2029-02-01T00:00Z", read(car, km)).await;
        register
            .record("2029-02-21T00:00Z", read(car, km + 8_000))
            .await;
    }
    register
        .record("2029-02-01T00:00Z", fitted(valve, &position(CAR, FIRST)))
        .await;
    register
        .record("2029-02-06T00:00Z", moved(valve, &position("4102", FIRST)))
        .await;
    register.record("2029-02-16T00:00Z", removed(valve)).await;
    // Five days on the one car and ten on the other, at 400 km a day.
    assert_eq!(run_by(&register, valve).await, Some(Amount::whole(6_000)));
    register.proves().await;
}

each_database!(
    a_reading_that_runs_backwards_is_refused,
    a_reading_that_runs_too_fast_is_refused_until_confirmed,
    use_goes_on_without_a_step_when_a_meter_is_replaced,
    a_replacement_is_no_way_around_the_checks_of_readings,
    a_replacement_that_later_readings_need_is_not_withdrawn,
    a_replacement_is_corrected_under_the_readings_that_rest_on_it,
    a_corrected_reading_is_checked_against_the_one_before,
    use_is_carried_from_car_to_car,
);
