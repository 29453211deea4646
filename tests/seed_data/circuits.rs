//! What the circuits of the push-pull set say of stored air and of brakes that stay on.

use super::car_types;
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{BrakePosition, LoadState};
use domain::decision::{CutOutInTrain, Question, TrainCar, Way};
use domain::isolation::fault_finding::{AsRecorded, Observation, Suspected, find_faults};
use domain::isolation::observed::{During, LookedAt, Seen};
use domain::isolation::{CutOutState, Supply};
use domain::units::GaugePressure;
use std::sync::Arc;
use tests::car_type_text::read;
use tests::reference_unit::{compiled, train};

/// The set, from the locomotive.
const SET: [&str; 6] = ["PC-L", "PC-K", "PC-C", "PC-C", "PC-K", "PC-D"];

fn question(cut_outs: &[(usize, &str, CutOutState)]) -> Question {
    let cars = SET.iter().enumerate().map(|(place, name)| {
        let types = car_types();
        let design = types.into_iter().find(|one| one.name.as_str() == *name);
        let of_car = cut_outs.iter().filter(|one| one.0 == place);
        TrainCar {
            number: read(&(place + 1).to_string()),
            orientation: Orientation::Forward,
            circuit: Arc::clone(&compiled(design.unwrap())),
            vacant: Vec::new(),
            shortcomings: Vec::new(),
            conceded: Vec::new(),
            not_conceded: Vec::new(),
            failed_tests: Vec::new(),
            due_at_once: Vec::new(),
            overdue: domain::decision::overdue::Overdue::Nothing,
            vacated: std::collections::BTreeMap::new(),
            cut_outs: of_car
                .map(|(_, position, state)| CutOutInTrain {
                    position: read(position),
                    state: *state,
                    since: None,
                    recorded: None,
                })
                .collect(),
        }
    });
    Question {
        cars: cars.collect(),
        supposed: Vec::new(),
        brake_position: BrakePosition::R,
        load: LoadState::Normal,
        way: Way::default(),
    }
}

/// The auxiliary reservoir is charged from the brake pipe: 5 bar (SUBSET-026-3, A.3.10), whatever the
/// main air is kept at. By Boyle's law, with the margin of Regulation (EU) 321/2013, appendix C.9(f):
/// (5.00 − 3.61) / 0.3287 = 4.2 of a coach, and (5.00 − 3.68) / 0.3340 = 3.95 of the driving coach;
/// the main air of 8 bar would give 13.
#[test]
fn the_air_behind_a_distributor_cock_is_counted_from_the_brake_pipe() {
    let mut told = Vec::new();
    for place in [2, 4, 5] {
        let shut = (place, "=BS-QM1", CutOutState::ClosedTrapped);
        let stored = question(&[shut]).stored_air().unwrap();
        let auxiliary = stored
            .iter()
            .find(|one| one.at.car == place && one.at.position.as_str() == "=BS-CM1");
        let auxiliary = auxiliary.unwrap();
        assert_eq!(auxiliary.charged, Ok(GaugePressure(5.0)));
        assert_eq!(auxiliary.drains[0].position.as_str(), "=BS-QM2");
        let left = auxiliary.applications.as_ref().unwrap().as_ref().unwrap();
        told.push((place, left.value));
    }
    assert_eq!(told, [(2, 4), (4, 4), (5, 3)]);
}

/// Both brakes of three cars stay on: the brake pipe before them, closed while the brake was on.
#[test]
fn a_closed_brake_pipe_is_suspected_where_the_cars_behind_it_stay_on() {
    let designs = SET.map(|name| {
        let mut types = car_types().into_iter();
        compiled(types.find(|one| one.name.as_str() == name).unwrap())
    });
    let cars: Vec<_> = designs
        .iter()
        .map(|design| (design, Orientation::Forward))
        .collect();
    let set = train(&cars);
    let on = |car: usize| Observation {
        at: LookedAt::Bogie {
            car,
            car_number: set.cars()[car].number.clone(),
            bogie: 1,
        },
        during: During::Released,
        seen: Seen::Braking,
    };
    let found = find_faults(&set, &[], &[on(2), on(3), on(4)], Supply::Now).unwrap();
    assert_eq!(found.as_recorded, AsRecorded::DoesNotExplain);
    let closed = found.candidates.iter().find(|one| {
        (one.at.car, one.at.position.as_str()) == (2, "=BP-QM1")
            && one.suspected == Suspected::ClosedTrapped
    });
    assert!(closed.is_some(), "{:?}", found.candidates);
    // One distributor cock holds on the brakes of its car alone.
    let one = find_faults(&set, &[], &[on(3)], Supply::Now).unwrap();
    let names = one.candidates.iter();
    let mut names = names.map(|one| (one.at.car, one.at.position.as_str()));
    assert!(names.any(|name| name == (3, "=BS-QM1")));
}
