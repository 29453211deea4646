//! What the fleet is large enough for and what it shows.

use std::collections::{BTreeMap, BTreeSet};

use domain::configuration::car::Vehicle;
use domain::configuration::car_type::PositionKind;
use domain::configuration::component::{Condition, Subject};
use domain::configuration::host::{Host, HostPosition};
use domain::identity::CarNumber;
use domain::isolation::CutOutState;
use domain::ledger::fact::{CutOut, Fact, Fitting, Relocation};
use domain::test_record::verdict::{TestOutcome, verdict};
use domain::time::Zone;

use super::{COMMANDS, car_types, facts};

#[test]
fn it_has_sixty_cars_with_fifty_components_each_and_three_years_of_history() {
    let mut fitted: BTreeMap<&CarNumber, usize> = facts(|fact| match fact {
        Fact::CarRegistered(car) => Some((&car.number, 0)),
        _ => None,
    })
    .into_iter()
    .collect();
    for car in facts(|fact| match fact {
        Fact::Fitted(Fitting {
            at:
                HostPosition {
                    host: Host::Car(car),
                    ..
                },
            ended: None,
            ..
        }) => Some(car),
        _ => None,
    }) {
        *fitted.get_mut(car).unwrap() += 1;
    }
    assert!(60 <= fitted.len(), "{} cars", fitted.len());
    assert!(fitted.values().all(|fitted| 50 <= *fitted), "{fitted:?}");
    let readings = COMMANDS
        .iter()
        .filter(|command| matches!(command.fact, Fact::ReadingTaken(_)));
    let times: BTreeSet<_> = readings.map(|command| command.effective_at).collect();
    let days = times.first().unwrap().days_until(*times.last().unwrap());
    assert!(3.0 * 365.0 - 8.0 <= days, "{days} days");
}

/// The cars of all trains, with the train and the car's place in it.
fn cars_of_trains() -> BTreeMap<&'static CarNumber, String> {
    let units: BTreeMap<_, _> = facts(|fact| match fact {
        Fact::UnitFormed(unit) => Some((&unit.number, &unit.cars)),
        _ => None,
    })
    .into_iter()
    .collect();
    let trains = facts(|fact| match fact {
        Fact::TrainFormed(train) => Some(train),
        _ => None,
    });
    let mut cars = BTreeMap::new();
    for train in trains {
        for vehicle in &train.vehicles {
            match vehicle {
                Vehicle::Unit(unit, _) => {
                    let of_unit = units[unit].iter();
                    cars.extend(of_unit.map(|car| (&car.car, train.id.to_string())));
                }
                Vehicle::Car(car, _) => drop(cars.insert(car, train.id.to_string())),
            }
        }
    }
    cars
}

/// The cut-outs in force, each with the train that its car is in.
pub(super) fn in_force() -> Vec<(String, &'static CutOut)> {
    let mut in_force: Vec<&CutOut> = Vec::new();
    for command in COMMANDS.iter() {
        match &command.fact {
            Fact::Isolated(cut_out) => in_force.push(cut_out),
            Fact::IsolationEnded { at, .. } => in_force.retain(|cut_out| cut_out.at != *at),
            _ => {}
        }
    }
    let trains = cars_of_trains();
    let with_train = |cut_out: &'static CutOut| (trains[&cut_out.at.car].clone(), cut_out);
    in_force.into_iter().map(with_train).collect()
}

#[test]
fn trains_have_cut_outs_in_force_in_every_state_and_one_a_closed_brake_pipe() {
    let in_force = in_force();
    let states: BTreeSet<CutOutState> = in_force.iter().map(|(_, c)| c.state).collect();
    // All but that of what was cut out and is open again, and those of springs of which it was found
    // out what they do when air returns.
    assert_eq!(states.len(), CutOutState::ALL.len() - 3, "{states:?}");
    let trains: BTreeSet<&String> = in_force.iter().map(|(train, _)| train).collect();
    assert!(5 <= trains.len(), "{trains:?}");
    let types: BTreeMap<_, _> = facts(|fact| match fact {
        Fact::CarRegistered(car) => Some((&car.number, &car.car_type)),
        _ => None,
    })
    .into_iter()
    .collect();
    let position = |cut_out: &CutOut| {
        let name = types[&cut_out.at.car];
        let mut car_types = car_types().into_iter();
        let car_type = car_types.find(|car_type| car_type.name == *name).unwrap();
        car_type.position(&cut_out.at.position).unwrap()
    };
    let kinds = in_force.iter().map(|(_, cut_out)| position(cut_out));
    let kinds: Vec<_> = kinds.map(|p| (p.kind, p.title.as_str())).collect();
    let is = |kind, words| kinds.iter().any(|(k, t)| *k == kind && t.contains(words));
    assert!(is(PositionKind::EndCock, "brake pipe"), "{kinds:?}");
    assert!(
        is(PositionKind::IsolatingCock, "brake cylinders of bogie"),
        "{kinds:?}"
    );
    assert!(is(PositionKind::ParkingCylinder, "axle"), "{kinds:?}");
}

#[test]
fn every_car_was_tested_every_year_and_tests_come_to_everything_they_can() {
    let procedures: BTreeMap<_, _> = facts(|fact| match fact {
        Fact::ProcedureDefined(procedure) => Some((&procedure.code, procedure)),
        _ => None,
    })
    .into_iter()
    .collect();
    let mut outcomes: BTreeMap<TestOutcome, usize> = BTreeMap::new();
    let mut passed: BTreeMap<String, Vec<_>> = BTreeMap::new();
    let records = facts(|fact| match fact {
        Fact::TestRecorded(record) => Some(record),
        _ => None,
    });
    for record in &records {
        let judged = verdict(procedures[&record.procedure], record, &Zone::UTC).unwrap();
        *outcomes.entry(judged.outcome).or_default() += 1;
        if let (Subject::Car(car), TestOutcome::Passed) = (&record.subject, judged.outcome) {
            passed.entry(car.to_string()).or_default().push(record.at);
        }
    }
    assert_eq!(outcomes.len(), TestOutcome::ALL.len(), "{outcomes:?}");
    let cars = COMMANDS
        .iter()
        .filter(|command| matches!(command.fact, Fact::CarRegistered(_)))
        .count();
    assert!(
        (cars * 9 - 60..cars * 9 + 90).contains(&records.len()),
        "{}",
        records.len()
    );
    assert_eq!(passed.len(), cars);
    for times in passed.values_mut() {
        times.sort_unstable();
        let gaps = times.windows(2).map(|pair| pair[0].days_until(pair[1]));
        assert!(gaps.fold(0.0, f64::max) < 400.0, "{times:?}");
    }
}

#[test]
fn components_came_off_and_came_back() {
    let judged = facts(|fact| match fact {
        Fact::ConditionJudged {
            component,
            condition: Condition::Serviceable,
            ..
        } => Some(component),
        _ => None,
    });
    let fitted: BTreeSet<_> = facts(|fact| match fact {
        Fact::Fitted(fitting) if fitting.ended.is_none() => Some(&fitting.component),
        _ => None,
    })
    .into_iter()
    .collect();
    let stored: BTreeSet<_> = facts(|fact| match fact {
        Fact::Relocated(Relocation { component, .. }) => Some(component),
        _ => None,
    })
    .into_iter()
    .collect();
    let again = judged
        .iter()
        .filter(|component| fitted.contains(*component));
    assert!(10 < again.count());
    let back = judged
        .iter()
        .filter(|component| stored.contains(*component));
    assert!(100 < back.count());
}

#[test]
fn some_facts_are_unknown_and_some_cars_were_not_read() {
    let receipts = facts(|fact| match fact {
        Fact::ComponentReceived(receipt) => Some(receipt),
        _ => None,
    });
    let unknown_dates = receipts
        .iter()
        .filter(|r| r.manufactured_on.is_none() && r.overhauled_on.is_none());
    assert!(10 < unknown_dates.count());
    let read: BTreeSet<_> = facts(|fact| match fact {
        Fact::ReadingTaken(reading) => Some(&reading.car),
        _ => None,
    })
    .into_iter()
    .collect();
    let cars = facts(|fact| match fact {
        Fact::CarRegistered(car) => Some(&car.number),
        _ => None,
    });
    assert!(cars.iter().any(|car| !read.contains(car)));
}

#[test]
fn a_campaign_concessions_a_check_and_a_hold_are_on_their_way() {
    let embodied = facts(|fact| matches!(fact, Fact::Embodied { .. }).then_some(()));
    assert!(20 < embodied.len(), "{} valves", embodied.len());
    let granted = facts(|fact| match fact {
        Fact::ConcessionGranted(concession) => Some(&concession.number),
        _ => None,
    });
    let used = facts(|fact| match fact {
        Fact::Fitted(fitting) => fitting.concession.as_ref(),
        _ => None,
    });
    assert_eq!((granted.len(), &used), (2, &granted));
    let checks = facts(|fact| match fact {
        Fact::FleetCheckOpened(check) => Some((check.cars.len(), check.answered.len())),
        _ => None,
    });
    assert_eq!(checks, [(20, 8)]);
    let held = facts(|fact| matches!(fact, Fact::HeldAsEvidence { .. }).then_some(()));
    assert_eq!(held.len(), 1);
}
