//! A question as it stands in an address, answered from the register.

use super::link::QuestionLink;
use crate::failure::Failure;
use domain::configuration::car::Vehicle;
use domain::decision::TrainCar;
use domain::decision::answer::{Answer, When, answer};
use domain::identity::CarNumber;
use domain::ledger::dossier::Documents;
use domain::rule_set::RuleSet;
use domain::rule_set::in_force::in_force;
use domain::time::Day;
use domain::worked::Missing;
use store::read::View;
use store::read::formations::CarInTrain;

/// An answer with the cars as the register has them.
pub(crate) struct Answered {
    /// The cars in order.
    pub(crate) cars: Vec<CarInTrain>,
    /// The answer.
    pub(crate) answer: Answer,
}

impl Answered {
    /// The numbers of the cars.
    pub(crate) fn numbers(&self) -> Vec<CarNumber> {
        let cars = self.cars.iter();
        cars.map(|car| car.record.car.number.clone()).collect()
    }
}

/// The rule sets in force on a day.
pub(crate) fn rule_sets(documents: &Documents, day: Day) -> Vec<&RuleSet> {
    let issued = documents.rule_sets.values();
    in_force(issued.map(|set| (set.by, &*set.document)), day)
}

/// The cars as a decision on a day needs them.
pub(crate) fn train_cars(
    cars: &[CarInTrain],
    documents: &Documents,
    day: Day,
) -> Result<Vec<TrainCar>, Missing> {
    let cars = cars.iter();
    cars.map(|car| car.for_decision(documents, day)).collect()
}

/// Answers what an address asks about vehicles: four statements, and one more where a
/// place holds nothing and one where anything was ever to be judged again.
pub(crate) async fn answered(
    view: &mut View,
    vehicles: &[Vehicle],
    link: &QuestionLink,
    (at, day): When,
) -> Result<Answered, Failure> {
    let mut cars = view.formation(vehicles, Some(day)).await??;
    let documents = &view.documents;
    for car in &mut cars {
        documents.as_on(&mut car.record.car, day);
    }
    let answer = answer(
        link.given.clone(),
        train_cars(&cars, documents, day),
        link.supposed.clone(),
        (&rule_sets(documents, day), (at, day)),
    )?;
    Ok(Answered { cars, answer })
}
