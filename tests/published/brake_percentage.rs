//! Brake percentages. Sources: arithmetic examples of a Polish exercise page and of a German
//! encyclopaedia article on brake percentage (secondary); Commission Regulation (EU) No
//! 321/2013, Table C.3, note 8; Bavarian EBOA, Anlage 22, I.2 (read in the text). The trains
//! are constructed examples.

use domain::braking::percentage::{Percentage, Rounding};
use domain::circuit::Mode;
use domain::circuit::state::Impaired;
use domain::circuit::train::TrainCircuit;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::isolation::brake_percentage::{BrakePercentage, BrakingCase, brake_percentage};
use domain::isolation::{CutOutState, Supply};
use domain::units::Kilograms;
use domain::worked::{Missing, Worked};
use tests::reference_unit::{ParkingAir, compiled, cut_out, end_car, middle_car, train};

fn of_tonnes(braked_weight: i64, mass: i64) -> Percentage {
    Percentage::new(Kilograms(braked_weight * 1000), Kilograms(mass * 1000)).unwrap()
}

fn close(percentage: Percentage, expected: f64) -> bool {
    (percentage.percent() - expected).abs() < 0.0005
}

// Polish exercise page (secondary): B 2100 t, m 3000 t.
#[test]
fn two_thousand_one_hundred_of_three_thousand_tonnes_is_70_per_cent() {
    assert_eq!(of_tonnes(2100, 3000), of_tonnes(70, 100));
    assert_eq!(of_tonnes(2100, 3000).whole(Rounding::Down), 70);
    assert!(of_tonnes(2100, 3000).reaches(70));
}

// Same page: B 1000 t, m 1100 t, printed as 91 %; rounded down it is 90.
#[test]
fn one_thousand_of_eleven_hundred_tonnes_is_91_to_the_nearest_and_90_rounded_down() {
    let percentage = of_tonnes(1000, 1100);
    assert!(close(percentage, 90.909));
    assert_eq!(format!("{:.0}", percentage.percent()), "91");
    assert_eq!(percentage.whole(Rounding::Down), 90);
    assert!(percentage.reaches(90) && !percentage.reaches(91));
}

// German encyclopaedia article on brake percentage (secondary): coach of 36 t, B 56 t.
#[test]
fn fifty_six_of_thirty_six_tonnes_is_155_rounded_down() {
    let percentage = of_tonnes(56, 36);
    assert!(close(percentage, 155.556));
    assert_eq!(percentage.whole(Rounding::Down), 155);
    assert_eq!(percentage.to_string(), "155.55 %");
}

// Regulation (EU) No 321/2013, Table C.3, note 8: at most 18 t braked weight an axle of 20 t.
#[test]
fn eighteen_of_twenty_tonnes_an_axle_is_90_per_cent() {
    assert_eq!(of_tonnes(4 * 18, 4 * 20), of_tonnes(90, 100));
}

const CASE: BrakingCase = BrakingCase {
    mode: Mode::Emergency,
    supply: Supply::Now,
    brake_position: BrakePosition::P,
    load: LoadState::Normal,
};

/// Sets of four cars of 52, 46, 46 and 52 t with braked weights of 82, 70, 70 and 82 t.
fn sets(count: usize) -> TrainCircuit {
    let end = compiled(&end_car(52_000, 82_000, ParkingAir::MainPipe));
    let middle = compiled(&middle_car(46_000, 70_000));
    let set = [
        (&end, Orientation::Forward),
        (&middle, Orientation::Forward),
        (&middle, Orientation::Reversed),
        (&end, Orientation::Reversed),
    ];
    train(&set.repeat(count))
}

fn cocks(car: usize) -> [Impaired; 2] {
    ["=B1-Q1", "=B2-Q1"].map(|cock| cut_out(car, cock, CutOutState::ClosedVented))
}

fn worked(
    train: &TrainCircuit,
    impaired: &[Impaired],
    case: BrakingCase,
) -> Result<Worked<BrakePercentage>, Missing> {
    brake_percentage(&train.impaired(impaired).unwrap(), case)
}

// Constructed example after Bavarian EBOA, Anlage 22, I.2: only working brakes are counted.
#[test]
fn four_cars_lose_the_braked_weight_of_what_is_cut_out_and_no_mass() {
    for (count, impaired, tonnes, percent, whole) in [
        (1, vec![], 304, 155.102, 155),
        (1, cocks(1)[..1].to_vec(), 269, 137.245, 137),
        (1, cocks(0).to_vec(), 222, 113.265, 113),
        (1, cocks(2).to_vec(), 234, 119.388, 119),
        (2, cocks(7).to_vec(), 526, 134.184, 134),
    ] {
        let worked = worked(&sets(count), &impaired, CASE).unwrap();
        let (before, after) = (worked.value.before, worked.value.after);
        assert_eq!(before, of_tonnes(304, 196));
        assert_eq!(after.braked_weight(), Kilograms(tonnes * 1000));
        assert_eq!(after.mass(), before.mass());
        assert!(close(after, percent), "{after}");
        assert_eq!(after.whole(Rounding::Down), whole);
    }
}

// Bavarian EBOA, Anlage 22, I.2: the masses of all vehicles stay in the sum.
#[test]
fn isolating_everything_gives_nought_per_cent_of_the_same_mass() {
    let everything: Vec<Impaired> = (0..4).flat_map(cocks).collect();
    let after = worked(&sets(1), &everything, CASE).unwrap().value.after;
    assert_eq!(
        (after.whole(Rounding::Down), after.mass()),
        (0, Kilograms(196_000))
    );
}

#[test]
fn the_working_can_be_checked_by_hand_and_names_its_sources() {
    let worked = worked(&sets(1), &cocks(0), CASE).unwrap();
    let steps: Vec<&str> = worked.steps.iter().map(|s| s.working.as_str()).collect();
    assert_eq!(
        steps,
        [
            "52 t + 46 t + 46 t + 52 t = 196 t",
            "by car 82 t + 70 t + 70 t + 82 t = 304 t",
            "100 × 304 t / 196 t = 155.10 %, rounded down 155 %",
            "by car 0 t + 70 t + 70 t + 82 t = 222 t",
            "100 × 222 t / 196 t = 113.26 %, rounded down 113 %",
        ]
    );
    assert!(
        worked.steps[3]
            .source
            .to_string()
            .contains("Anlage 22, I.2")
    );
}

#[test]
fn a_lacking_mass_or_braked_weight_gives_no_answer_even_of_a_brake_that_is_cut_out() {
    let loaded = BrakingCase {
        load: LoadState::Maximum,
        ..CASE
    };
    let missing = worked(&sets(1), &cocks(0), loaded).unwrap_err();
    let lacks = |what: &str, of: &str| missing.0.iter().any(|f| f.what == what && f.of == of);
    assert!(lacks("mass", "car type TMR-E revision A, maximum load"));
    assert!(lacks(
        "braked weight",
        "car type TMR-E revision A, actuator =A1-C1, brake position P, maximum load"
    ));
    // Two types of car, each with one mass and eight actuators.
    assert_eq!(missing.0.len(), 2 * 9);
}
