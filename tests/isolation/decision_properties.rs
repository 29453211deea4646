//! A decision looks at all states of a train together; each must be what it is by itself.

use super::random_trains::{RandomTrain, trains};
use domain::circuit::Mode;
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::state::Impairment;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::decision::{CommandedEffect, CutOutInTrain, Question, TrainCar, Way, decide};
use domain::isolation::Supply;
use domain::isolation::effect::{Availability, Effect, effect};
use proptest::prelude::*;
use std::sync::Arc;

fn question(train: &RandomTrain) -> Question {
    let placed = train.circuit();
    let cars = train.cars.iter().zip(placed.cars()).enumerate();
    let cars = cars.map(|(place, ((car_type, orientation), car))| {
        let mut asked = TrainCar {
            number: car.number.clone(),
            orientation: *orientation,
            circuit: Arc::new(CompiledCircuit::new(car_type).unwrap()),
            vacant: Vec::new(),
            shortcomings: Vec::new(),
            conceded: Vec::new(),
            not_conceded: Vec::new(),
            failed_tests: Vec::new(),
            due_at_once: Vec::new(),
            overdue: domain::decision::overdue::Overdue::Nothing,
            judge_again: Vec::new(),
            vacated: std::collections::BTreeMap::new(),
            cut_outs: Vec::new(),
        };
        for one in train.impaired.iter().filter(|one| one.car == place) {
            let position = one.position.clone();
            match one.by {
                Impairment::Vacant | Impairment::Incomplete => asked.vacant.push(position),
                Impairment::Emptied => panic!("it follows from the others"),
                Impairment::CutOut(state) => {
                    asked.cut_outs.push(CutOutInTrain {
                        position,
                        state,
                        since: None,
                        recorded: None,
                    });
                }
            }
        }
        asked
    });
    Question {
        cars: cars.collect(),
        supposed: Vec::new(),
        brake_position: BrakePosition::R,
        load: LoadState::Normal,
        way: Way::default(),
    }
}

/// The effect as it is computed by itself, commanded from a place or from all.
fn alone(train: &RandomTrain, from: Option<usize>, mode: Mode, supply: Supply) -> CommandedEffect {
    let circuit = train.circuit();
    let commanded = from.map_or_else(|| circuit.clone(), |place| circuit.commanded_from(place));
    // What an open end of pipe empties is told apart in `open_ends`.
    let counted = question(train).counted().unwrap();
    let state = commanded.impaired(&counted).unwrap();
    CommandedEffect {
        from: from.map(|place| circuit.cars()[place].number.clone()),
        effect: effect(&state, mode, supply),
    }
}

fn availabilities(effect: &Effect) -> Vec<Availability> {
    effect
        .actuators
        .iter()
        .map(|one| one.availability)
        .collect()
}

fn unflagged(mut effects: Vec<CommandedEffect>) -> Vec<CommandedEffect> {
    let actuators = effects.iter_mut().flat_map(|one| &mut one.effect.actuators);
    actuators.for_each(|one| one.may_drag = false);
    effects
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 96,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn states_evaluated_together_are_what_each_is_by_itself(train in trains(6)) {
        let train = train.with_controllers();
        let decision = decide(&question(&train), &[]).unwrap();
        let (mut leading, mut elsewhere) = (Vec::new(), Vec::new());
        for mode in [Mode::Service, Mode::Emergency] {
            let places = train.circuit().command_places(mode);
            for supply in Supply::ALL {
                leading.push(alone(&train, Some(places[0]), mode, *supply));
            }
            let known = availabilities(&alone(&train, Some(places[0]), mode, Supply::Now).effect);
            let others = places[1..].iter();
            let others = others.map(|place| alone(&train, Some(*place), mode, Supply::Now));
            elsewhere.extend(others.filter(|one| availabilities(&one.effect) != known));
        }
        leading.push(alone(&train, None, Mode::Holding, Supply::Now));
        let together = [decision.effects, decision.elsewhere].concat();
        let alone = [leading, elsewhere].concat();
        // A decision says of a brake in all its effects alike whether it may be on.
        let flagged = |of: &[CommandedEffect]| -> Vec<bool> {
            let actuators = of.iter().flat_map(|one| &one.effect.actuators);
            actuators.map(|one| one.may_drag).collect()
        };
        for (told, itself) in flagged(&together).iter().zip(flagged(&alone)) {
            prop_assert!(*told || !itself);
        }
        prop_assert_eq!(unflagged(together), unflagged(alone));
    }
}
