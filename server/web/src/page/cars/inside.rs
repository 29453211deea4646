//! The places inside the assemblies on a car that its type does not list.

use domain::configuration::car_type::CarType;
use domain::configuration::part::LEVELS_MAX;
use domain::identity::PositionCode;
use domain::ledger::dossier::Documents;
use std::collections::HashMap;
use store::read::cars::Fitted;

/// What is fitted to a car, with the design that says what belongs inside it.
pub(super) struct Places<'a> {
    documents: &'a Documents,
    car_type: &'a CarType,
    at: HashMap<&'a PositionCode, &'a Fitted>,
}

impl<'a> Places<'a> {
    pub(super) fn new(
        documents: &'a Documents,
        car_type: &'a CarType,
        fitted: &'a [Fitted],
    ) -> Self {
        let at = fitted.iter().map(|one| (&one.position, one));
        Self {
            documents,
            car_type,
            at: at.collect(),
        }
    }

    /// The places inside what is fitted at a position, filled or vacant, each with its title,
    /// before those inside it. Those that the car type lists have rows of their own.
    pub(super) fn inside(&self, position: &PositionCode) -> Vec<(PositionCode, &'a str)> {
        let mut places = Vec::new();
        self.add(position, 0, &mut places);
        places
    }

    fn add(
        &self,
        position: &PositionCode,
        level: usize,
        places: &mut Vec<(PositionCode, &'a str)>,
    ) {
        let fitted = self.at.get(position).filter(|_| level < LEVELS_MAX);
        let part = fitted.and_then(|fitted| self.documents.part(&fitted.component.part));
        for inner in part.into_iter().flat_map(|part| &part.positions) {
            let Some(code) = position.followed_by(&inner.code) else {
                continue;
            };
            if self.car_type.position(&code).is_none() {
                places.push((code.clone(), inner.title.as_str()));
                self.add(&code, level + 1, places);
            }
        }
    }
}
