//! What rows say of modifications, checks of the fleet and what is held.

use super::facts::{only, sample_facts};
use super::{errors_of, facts_of};
use domain::configuration::fleet_check::{CARS_MAX, CarAnswer};
use domain::identity::CarNumber;
use domain::ledger::fact::Fact;

#[test]
fn a_check_of_the_fleet_keeps_its_cars_and_what_they_had_answered() {
    let check = only(sample_facts().into_iter().filter_map(|fact| match fact {
        Fact::FleetCheckOpened(check) => Some(*check),
        _ => None,
    }));
    let cars: Vec<&str> = check.cars.iter().map(CarNumber::as_str).collect();
    assert_eq!(cars, ["4101", "4102"]);
    let answered = only(check.answered.iter());
    assert_eq!(answered.car.as_str(), "4101");
    assert_eq!(answered.answer, CarAnswer::Defective);
    assert_eq!(answered.remark, "crack of 4 mm");
}

/// A check that asks as many cars.
fn check_of(cars: usize) -> String {
    let header = "title,instruction,looked_for,answer_by,since,car\n";
    let rows = (0..cars).map(|car| {
        let number = 10_000 + car;
        format!("hoses,look at each,part K10,2026-04-30,2026-03-01,{number}\n")
    });
    std::iter::once(header.to_owned()).chain(rows).collect()
}

#[test]
fn a_check_asks_as_many_cars_as_a_check_on_a_page_may() {
    let facts = facts_of("fleet_checks.csv", &check_of(CARS_MAX));
    let Fact::FleetCheckOpened(check) = only(facts.into_iter()) else {
        panic!("no check of the fleet");
    };
    assert_eq!(check.cars.len(), CARS_MAX);
    let errors = errors_of("fleet_checks.csv", check_of(CARS_MAX + 1).as_bytes());
    let row = CARS_MAX + 2;
    assert_eq!(
        errors,
        [format!(
            "fleet_checks.csv, row {row}: expected at most {CARS_MAX} rows that belong together"
        )]
    );
}

#[test]
fn a_modification_is_of_the_components_of_a_part_or_of_cars() {
    let scopes: Vec<String> = sample_facts()
        .into_iter()
        .filter_map(|fact| match fact {
            Fact::ModificationIssued(modification) => Some(modification.scope.to_string()),
            _ => None,
        })
        .collect();
    assert_eq!(
        scopes,
        [
            "components of part C7, to modification state B, at =BS-C1",
            "cars 4101, 4103 to 4105 of type T1",
        ]
    );
}
