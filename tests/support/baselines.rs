//! Baselines in few words: what two people agree on, and where cars depart from it.

use domain::configuration::effectivity::Effectivity;
use domain::configuration::part::{Interchange, Part, Replaces};
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use store::read::departures::DepartureFilter;

use crate::fleet::CAR_TYPE;
use crate::register::Register;

/// A revision of the fleet's car type is in force for some cars from a day on.
pub fn effective(revision: &str, cars: &str, from: &str) -> Effectivity {
    Effectivity {
        car_type: CAR_TYPE.parse().expect("a car type"),
        revision: revision.parse().expect("a revision"),
        cars: cars.parse().expect("cars"),
        from: from.parse().expect("a day"),
    }
}

/// It is proposed to put a revision in force.
pub fn proposed(revision: &str, cars: &str, from: &str) -> Fact {
    Fact::Proposed(Proposal::Effectivity(effective(revision, cars, from)))
}

/// A part with modification states, which may replace an earlier one.
pub fn modified(part: &Fact, states: &[&str], replaces: Option<(&str, Interchange)>) -> Fact {
    let Fact::PartDefined(part) = part else {
        panic!("a part")
    };
    let states = states.iter().map(|state| state.parse());
    let replaces = replaces.map(|(part, way)| Replaces {
        part: part.parse().expect("a part number"),
        way,
    });
    Fact::PartDefined(Part {
        modification_states: states.collect::<Result<_, _>>().expect("states"),
        replaces: replaces.into_iter().collect(),
        ..part.clone()
    })
}

impl Register {
    /// Two people put a revision in force at a time.
    pub async fn put_in_force(&mut self, at: &str, (revision, cars, from): (&str, &str, &str)) {
        let proposal = self.record(at, proposed(revision, cars, from)).await;
        self.approve(proposal, at).await;
    }

    /// Where a car departs from its baseline on a day: position and kind.
    pub async fn departures(&self, car: &str, on: &str) -> Vec<String> {
        let filter = DepartureFilter {
            car: Some(car.parse().expect("a car number")),
            ..DepartureFilter::all(on.parse().expect("a day"))
        };
        let mut view = self.store.view().await.expect("the register answers");
        let items = view.departures(&filter).await;
        let items = items.expect("the register answers").into_iter();
        items
            .map(|item| format!("{} {}", item.position, item.kind))
            .collect()
    }

    /// The revision in force for a car on a day.
    pub async fn revision(&self, car: &str, on: &str) -> String {
        let mut view = self.store.view().await.expect("the register answers");
        let number = car.parse().expect("a car number");
        let record = view.car(&number).await.expect("the register answers");
        let record = record.expect("a known car");
        let on = on.parse().expect("a day");
        view.documents.revision(&record.car, on).to_string()
    }
}
