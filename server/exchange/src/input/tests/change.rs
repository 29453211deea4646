//! What rows say of modifications, checks of the fleet and what is held.

use super::facts::{only, sample_facts};
use domain::configuration::fleet_check::CarAnswer;
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
