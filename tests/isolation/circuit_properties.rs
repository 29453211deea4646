//! What holds for every circuit and every train, tried on random ones.

use super::naive::{Counted, Naive};
use super::random_trains::{RandomTrain, trains};
use domain::circuit::{Mode, Place};
use domain::configuration::car::Orientation;
use domain::isolation::Supply;
use domain::isolation::effect::{AppliedBy, Availability, Effect, effect as effect_of};
use proptest::prelude::*;

fn effects(train: &RandomTrain) -> Vec<Effect> {
    let circuit = train.circuit();
    let state = circuit.impaired(&train.impaired).unwrap();
    let cases = Mode::ALL
        .iter()
        .flat_map(|mode| Supply::ALL.iter().map(|s| (*mode, *s)));
    cases
        .map(|(mode, supply)| effect_of(&state, mode, supply))
        .collect()
}

/// The availability that the slow evaluation gives to an actuator with no impairment, by how
/// many media it is fed with.
fn expected(applied_by: AppliedBy, mode: Mode, media: usize) -> Availability {
    match (applied_by, mode, media) {
        (AppliedBy::Spring, Mode::Holding, 0) => Availability::Available,
        (AppliedBy::Spring, Mode::Service | Mode::Emergency, 0) => Availability::Dragging,
        (AppliedBy::Air, _, 0) | (AppliedBy::Spring, Mode::Holding, _) => Availability::Lost,
        _ => Availability::Available,
    }
}

/// Which air decides over actuators of a kind.
fn counted(applied_by: AppliedBy, mode: Mode, supply: Supply) -> Counted {
    match (applied_by, mode, supply) {
        (AppliedBy::Spring, Mode::Holding, _) | (AppliedBy::Spring, _, Supply::Now) => {
            Counted::HeldBack
        }
        (_, _, Supply::Now) => Counted::Stored,
        (_, _, Supply::Exhausted) => Counted::Sources,
    }
}

/// The air-applied actuators that are available, by mode and supply.
fn air_applied(effects: &[Effect]) -> Vec<Vec<(usize, String)>> {
    let available = |e: &Effect| {
        let counted = e.actuators.iter().filter(|a| {
            a.applied_by == AppliedBy::Air && a.availability == Availability::Available
        });
        counted.map(|a| (a.car, a.position.to_string())).collect()
    };
    effects.iter().map(available).collect()
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
    fn the_worklist_gives_what_rounds_until_nothing_changes_give(train in trains(6)) {
        let naive = Naive::new(&train);
        for effect in effects(&train) {
            for applied_by in AppliedBy::ALL {
                let counted = counted(*applied_by, effect.mode, effect.supply);
                let delivering = naive.delivering(effect.mode, counted);
                for actuator in effect.actuators.iter().filter(|a| a.applied_by == *applied_by) {
                    let at = (actuator.car, Place::Position(actuator.position.clone()));
                    let fed = naive.reaches(&delivering, &at);
                    if naive.is_sound_at(&at) {
                        let expected = expected(*applied_by, effect.mode, usize::from(fed));
                        prop_assert_eq!(actuator.availability, expected);
                    }
                }
            }
        }
    }

    #[test]
    fn more_impairments_never_give_more_braking(train in trains(8), kept in 0..8usize) {
        let mut fewer = train.clone();
        fewer.impaired.truncate(kept);
        let (more, fewer) = (effects(&train), effects(&fewer));
        for (left, of) in air_applied(&more).iter().zip(air_applied(&fewer)) {
            prop_assert!(left.iter().all(|actuator| of.contains(actuator)));
        }
    }

    #[test]
    fn air_that_is_used_up_never_brakes_more_than_air_now(train in trains(6)) {
        for pair in air_applied(&effects(&train)).chunks(2) {
            prop_assert!(pair[1].iter().all(|actuator| pair[0].contains(actuator)));
        }
    }

    #[test]
    fn a_train_seen_from_its_other_end_brakes_the_same(train in trains(6)) {
        let mut turned = train.clone();
        turned.cars.reverse();
        for (_, orientation) in &mut turned.cars {
            *orientation = orientation.within(Orientation::Reversed);
        }
        let last = train.cars.len() - 1;
        for impaired in &mut turned.impaired {
            impaired.car = last - impaired.car;
        }
        for (one, other) in effects(&train).iter().zip(effects(&turned)) {
            prop_assert_eq!(&one.counts.actuators, &other.counts.actuators);
            for actuator in &one.actuators {
                let there = other.actuators.iter().find(|a| {
                    a.car == last - actuator.car && a.position == actuator.position
                });
                prop_assert_eq!(there.map(|a| a.availability), Some(actuator.availability));
            }
        }
    }

    #[test]
    fn the_order_of_a_description_does_not_matter(
        train in trains(6),
        by in any::<prop::sample::Index>(),
    ) {
        let mut other = train.clone();
        for (car_type, _) in &mut other.cars {
            let circuit = &mut car_type.circuit;
            circuit.nodes.reverse();
            circuit.lines.reverse();
            if !circuit.lines.is_empty() {
                let by = by.index(circuit.lines.len());
                circuit.lines.rotate_left(by);
            }
        }
        other.impaired.reverse();
        prop_assert_eq!(effects(&train), effects(&other));
    }

    #[test]
    fn undoing_every_cause_that_is_named_gives_an_actuator_back(train in trains(6)) {
        let mut sound = train.clone();
        sound.impaired.clear();
        for (effect, before) in effects(&train).iter().zip(effects(&sound)) {
            for (actuator, before) in effect.actuators.iter().zip(&before.actuators) {
                let air = counted(actuator.applied_by, effect.mode, effect.supply);
                // Air held back behind a cock can hide what is the matter before that cock.
                if before.availability != Availability::Available || air == Counted::HeldBack {
                    continue;
                }
                let mut mended = train.clone();
                mended.impaired.retain(|i| {
                    !actuator.why.iter().any(|c| c.car == i.car && c.position == i.position)
                });
                let circuit = mended.circuit();
                let state = circuit.impaired(&mended.impaired).unwrap();
                let after = effect_of(&state, effect.mode, effect.supply);
                let same = after.actuators.iter().find(|a| {
                    a.car == actuator.car && a.position == actuator.position
                });
                prop_assert_eq!(same.map(|a| a.availability), Some(Availability::Available));
            }
        }
    }

    #[test]
    fn whatever_is_not_available_has_a_cause_and_whatever_is_has_none(train in trains(6)) {
        for actuator in effects(&train).iter().flat_map(|e| &e.actuators) {
            let available = actuator.availability == Availability::Available;
            prop_assert_eq!(available, actuator.why.is_empty());
        }
    }
}
