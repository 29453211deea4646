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
            judge_again: Vec::new(),
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

/// What the auxiliary reservoirs of two coaches and of the driving coach still allow, by their places.
fn left_in_auxiliaries(cut_outs: &[(usize, &str, CutOutState)]) -> Vec<(usize, u32)> {
    let stored = question(cut_outs).stored_air().unwrap();
    let auxiliaries = stored
        .iter()
        .filter(|one| [2, 4, 5].contains(&one.at.car) && one.at.position.as_str() == "=BS-CM1");
    auxiliaries
        .map(|one| {
            assert_eq!(one.charged, Ok(GaugePressure(5.0)));
            assert_eq!(one.drains[0].position.as_str(), "=BS-QM2");
            let left = one.applications.as_ref().unwrap().as_ref().unwrap();
            (one.at.car, left.value)
        })
        .collect()
}

/// With both compressors dead the brake pipe is no more filled up, and still commands. The auxiliary
/// reservoir is charged from the brake pipe: 5 bar (SUBSET-026-3, A.3.10), whatever the main air is kept
/// at. By Boyle's law, with the margin of Regulation (EU) 321/2013, appendix C.9(f):
/// (5.00 − 3.61) / 0.3287 = 4.2 of a coach, and (5.00 − 3.68) / 0.3340 = 3.95 of the driving coach;
/// the main air of 8 bar would give 13.
#[test]
fn air_from_the_brake_pipe_is_counted_from_its_pressure() {
    let dead = ["=AP-GQ1", "=AP-GQ2"].map(|compressor| (0, compressor, CutOutState::Failed));
    assert_eq!(left_in_auxiliaries(&dead), [(2, 4), (4, 4), (5, 3)]);
}

/// A closed brake pipe stops demand too: what lies behind it does not brake, however full it looks
/// (common practice, no source). The emergency valve of the other cab is behind the cock and is none of
/// whoever drives from the front.
#[test]
fn air_that_no_demand_can_use_allows_no_application() {
    let none = [(2, 0), (4, 0), (5, 0)];
    let pipe = (2, "=BP-QM1", CutOutState::ClosedTrapped);
    assert_eq!(left_in_auxiliaries(&[pipe]), none);
    let distributors = [2, 4, 5].map(|car| (car, "=BS-QM1", CutOutState::ClosedTrapped));
    assert_eq!(left_in_auxiliaries(&distributors), none);
    let stored = question(&[pipe]).stored_air().unwrap();
    let auxiliary = stored
        .iter()
        .find(|one| one.at.car == 2 && one.at.position.as_str() == "=BS-CM1");
    let auxiliary = auxiliary.unwrap();
    assert_eq!(auxiliary.brakes, 8, "it feeds them all the same");
    let worked = auxiliary.applications.as_ref().unwrap().as_ref().unwrap();
    assert_eq!(worked.steps.len(), 1);
    let says = &worked.steps[0].working;
    assert!(
        says.contains("any of the 8 brakes") && says.contains("no demand comes"),
        "{says}"
    );
    assert_eq!(
        worked.steps[0].source.to_string(),
        "common practice, no source"
    );
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
