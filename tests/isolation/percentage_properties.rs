//! What holds for the brake percentage of every formation of the constructed cars.

use domain::braking::percentage::Percentage;
use domain::circuit::Mode;
use domain::circuit::train::TrainCircuit;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::isolation::brake_percentage::{BrakePercentage, BrakingCase, brake_percentage};
use domain::isolation::{CutOutState, Supply};
use domain::units::Kilograms;
use proptest::prelude::*;
use std::collections::BTreeSet;
use tests::reference_unit::{ParkingAir, compiled, cut_out, end_car, middle_car, train};

/// Which car: an end car of 52 t braking 82 t, or a middle car of 46 t braking 70 t.
fn formation(cars: &[(bool, Orientation)]) -> TrainCircuit {
    let end = compiled(&end_car(52_000, 82_000, ParkingAir::MainPipe));
    let middle = compiled(&middle_car(46_000, 70_000));
    let placed: Vec<_> = cars
        .iter()
        .map(|(is_end, o)| (if *is_end { &end } else { &middle }, *o))
        .collect();
    train(&placed)
}

fn masses_and_weights(cars: &[(bool, Orientation)]) -> (i64, i64) {
    let of = |is_end: bool| {
        if is_end {
            (52_000, 82_000)
        } else {
            (46_000, 70_000)
        }
    };
    cars.iter().fold((0, 0), |(mass, weight), (is_end, _)| {
        let (m, w) = of(*is_end);
        (mass + m, weight + w)
    })
}

/// The percentage with the cylinder cocks of these bogies (car, number) shut and vented.
fn percentage(train: &TrainCircuit, bogies: &BTreeSet<(usize, u8)>) -> BrakePercentage {
    let cocks: Vec<_> = bogies
        .iter()
        .map(|(car, bogie)| cut_out(*car, &format!("=B{bogie}-Q1"), CutOutState::ClosedVented))
        .collect();
    let case = BrakingCase {
        mode: Mode::Emergency,
        supply: Supply::Now,
        brake_position: BrakePosition::P,
        load: LoadState::Normal,
    };
    let state = train.impaired(&cocks).unwrap();
    brake_percentage(&state, case).unwrap().value
}

fn config() -> ProptestConfig {
    ProptestConfig {
        cases: 96,
        failure_persistence: None,
        ..Default::default()
    }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn each_bogie_takes_its_own_weight_and_all_open_gives_the_full_percentage(
        cars in prop::collection::vec(
            (any::<bool>(), prop::sample::select(Orientation::ALL)), 1..=8),
        shut in prop::collection::btree_set((0..8usize, 1..=2u8), 0..=6),
    ) {
        let shut: BTreeSet<_> = shut.into_iter().filter(|(car, _)| *car < cars.len()).collect();
        let train = formation(&cars);
        let (mass, weight) = masses_and_weights(&cars);
        let full = Percentage::new(Kilograms(weight), Kilograms(mass)).unwrap();
        let of_bogie = |car: usize| if cars[car].0 { 41_000 } else { 35_000 };
        let lost: i64 = shut.iter().map(|(car, _)| of_bogie(*car)).sum();

        let result = percentage(&train, &shut);
        prop_assert_eq!(result.before, full);
        prop_assert_eq!(result.after.mass(), Kilograms(mass));
        prop_assert_eq!(result.after.braked_weight(), Kilograms(weight - lost));
        prop_assert_eq!(result.after < full, !shut.is_empty());
        prop_assert_eq!(percentage(&train, &BTreeSet::new()).after, full);
    }

    #[test]
    fn the_order_of_the_cars_does_not_matter(
        cars in prop::collection::vec(
            (any::<bool>(), prop::sample::select(Orientation::ALL)), 1..=8),
        shut in prop::collection::btree_set((0..8usize, 1..=2u8), 0..=6),
        by in 0..8usize,
    ) {
        let count = cars.len();
        let shut: BTreeSet<_> = shut.into_iter().filter(|(car, _)| *car < count).collect();
        let mut turned = cars.clone();
        turned.rotate_left(by % count);
        let moved = |car: usize| (car + count - by % count) % count;
        let there = shut.iter().map(|(car, bogie)| (moved(*car), *bogie)).collect();
        let (one, other) = (
            percentage(&formation(&cars), &shut),
            percentage(&formation(&turned), &there),
        );
        prop_assert_eq!(one, other);
    }
}
