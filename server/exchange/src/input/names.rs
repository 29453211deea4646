//! Positions of cars by any of their names: what an input may write where it names one.

use super::things::Thing;
use domain::configuration::car::Car;
use domain::identity::{CarNumber, PositionCode};
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::time::Day;
use std::collections::HashMap;
use std::sync::Arc;

/// Why a text names no position.
pub(super) struct NotNamed {
    /// What was expected.
    pub(super) expected: String,
    /// What is not known, for want of which nothing can be named.
    pub(super) wants: Option<Thing>,
}

/// The cars and their types by which positions are named: those of the register, and those that
/// the input has brought so far.
#[derive(Debug, Clone, Default)]
pub struct Names {
    documents: Documents,
    cars: HashMap<CarNumber, Car>,
}

impl Names {
    /// Of a register.
    pub fn of(documents: Documents, cars: impl IntoIterator<Item = Car>) -> Self {
        let cars = cars.into_iter().map(|car| (car.number.clone(), car));
        Self {
            documents,
            cars: cars.collect(),
        }
    }

    /// Takes in what a row has brought.
    pub(super) fn learn(&mut self, fact: &Fact) {
        match fact {
            Fact::CarTypeDefined(car_type) => {
                let car_type = Arc::new((**car_type).clone());
                self.documents.put_car_type(Seq(0), car_type);
            }
            Fact::CarRegistered(car) => {
                self.cars.insert(car.number.clone(), car.clone());
            }
            _ => {}
        }
    }

    /// The one position of a car that a name is of, by the baseline of a day; else what was
    /// expected.
    pub(super) fn position(
        &self,
        car: &CarNumber,
        name: &str,
        on: Day,
    ) -> Result<PositionCode, NotNamed> {
        let lacking = |wants| {
            NotNamed {
            expected: "a reference designation such as =BS1-Q1; for other names of positions, a car that is known".to_owned(),
            wants: Some(wants),
        }
        };
        let known = self.cars.get(car).ok_or_else(|| lacking(Thing::car(car)))?;
        let car_type = self.documents.car_type(known, on);
        let car_type = car_type.ok_or_else(|| lacking(Thing::car_type(&known.car_type)))?;
        let named = self.documents.place_named(car_type, name);
        named.map_err(|why| NotNamed {
            expected: why.to_string(),
            wants: None,
        })
    }
}
