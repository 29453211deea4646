//! Modifications that still concern what is there: issued, and not embodied in it.

use super::{Documents, Issued};
use crate::configuration::component::{Condition, PositionRef};
use crate::configuration::modification::ModificationScope;
use crate::identity::{CarNumber, CarTypeName, ModificationNumber, ModificationState, PartNumber};
use crate::time::Instant;
use std::collections::BTreeSet;

/// A component as a modification asks about it.
#[derive(Debug, Clone, Copy)]
pub struct Concerned<'a> {
    /// Its part.
    pub part: &'a PartNumber,
    /// Its condition: what is scrapped is no longer brought to any state.
    pub condition: Condition,
    /// The modification state it is in, where that is known.
    pub state: Option<&'a ModificationState>,
    /// Where it is on a car, by the full code of the position; none while it is on none.
    pub at: Option<&'a PositionRef>,
}

impl Documents {
    /// The modifications, issued by a moment, that are still to be embodied in a component, those
    /// first whose last day comes first. Linear in the modifications.
    pub fn campaigns_of(&self, one: &Concerned<'_>, by: Instant) -> Vec<&Issued> {
        if one.condition == Condition::Scrapped {
            return Vec::new();
        }
        self.campaigns(by, |scope| match scope {
            ModificationScope::Components {
                part,
                state,
                positions,
                cars,
            } => {
                let there = |at: &PositionRef| {
                    (positions.is_empty() || positions.contains(&at.position))
                        && cars.as_ref().is_none_or(|cars| cars.hold(&at.car))
                };
                let anywhere = positions.is_empty() && cars.is_none();
                let in_scope = part == one.part && one.at.map_or(anywhere, there);
                in_scope && !self.is_in_or_after(part, (one.state, state))
            }
            ModificationScope::Cars { .. } => false,
        })
    }

    /// The same of a car as a whole, with the modifications that are embodied in it.
    pub fn campaigns_of_car(
        &self,
        (car_type, car): (&CarTypeName, &CarNumber),
        embodied: &BTreeSet<ModificationNumber>,
        by: Instant,
    ) -> Vec<&Issued> {
        let mut left = self.campaigns(by, |scope| scope.has(car_type, car));
        left.retain(|issued| !embodied.contains(&issued.document.number));
        left
    }

    fn campaigns(
        &self,
        by: Instant,
        concerns: impl Fn(&ModificationScope) -> bool,
    ) -> Vec<&Issued> {
        let issued = self.modifications_issued(by);
        let mut left: Vec<&Issued> = issued
            .filter(|issued| concerns(&issued.document.scope))
            .collect();
        left.sort_by_key(|issued| (issued.document.by, issued.by));
        left
    }

    /// Whether a component of a part is in a state or in a later one. Of one whose state is not known
    /// it is not.
    fn is_in_or_after(
        &self,
        part: &PartNumber,
        (is, wanted): (Option<&ModificationState>, &ModificationState),
    ) -> bool {
        let states = self.part(part).into_iter();
        let states = states.flat_map(|part| &part.modification_states);
        let mut enough = states.skip_while(|state| *state != wanted);
        is.is_some_and(|is| enough.any(|state| state == is))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::modification::Modification;
    use crate::configuration::part::Part;
    use crate::ledger::entry::Seq;
    use std::sync::Arc;

    fn at(text: &str) -> Instant {
        text.parse().expect("a moment")
    }

    /// Part DV/230 in the states A, B, C; a campaign to B everywhere, an earlier one to C at one
    /// position of some cars, and one of cars.
    fn documents() -> Documents {
        let mut documents = Documents::default();
        let part: Part = serde_json::from_str(
            r#"{"number":"DV/230","title":"valve","kind":"distributor_valve",
                "modification_states":["A","B","C"]}"#,
        )
        .expect("a part");
        documents.put_part(Seq(1), Arc::new(part));
        let everywhere = r#"{"components":{"part":"DV/230","state":"B"}}"#;
        let here = r#"{"components":{"part":"DV/230","state":"C","positions":["=BS-K1"],
            "cars":[{"first":"4101","last":"4110"}]}}"#;
        let cars = r#"{"cars":{"car_type":"Motor car","cars":[{"first":"4101","last":"4110"}]}}"#;
        for (seq, number, scope, by) in [
            (2, "M-1", everywhere, "2026-12-31"),
            (3, "M-2", here, "2026-06-30"),
            (4, "M-3", cars, "2026-12-31"),
        ] {
            let text = format!(
                r#"{{"number":"{number}","title":"t","scope":{scope},"by":"{by}","source":"s"}}"#
            );
            let document: Modification = serde_json::from_str(&text).expect("a modification");
            documents.put_modification(Seq(seq), at("2026-01-01T00:00Z"), document);
        }
        documents
    }

    fn numbers(issued: &[&Issued]) -> Vec<String> {
        let numbers = issued.iter();
        numbers
            .map(|issued| issued.document.number.to_string())
            .collect()
    }

    #[test]
    fn a_campaign_concerns_a_component_until_it_is_in_that_state_or_a_later_one() {
        let documents = documents();
        let part = "DV/230".parse().expect("a part");
        let place = PositionRef {
            car: "4105".parse().expect("a car"),
            position: "=BS-K1".parse().expect("a position"),
        };
        let elsewhere = PositionRef {
            car: "4111".parse().expect("a car"),
            ..place.clone()
        };
        let left = |state: &str, at_place: Option<&PositionRef>, by: &str| {
            let state: Option<ModificationState> = state.parse().ok();
            let one = Concerned {
                part: &part,
                condition: Condition::Serviceable,
                state: state.as_ref(),
                at: at_place,
            };
            numbers(&documents.campaigns_of(&one, at(by)))
        };
        let now = "2026-07-01T00:00Z";
        assert_eq!(left("A", Some(&place), now), ["M-2", "M-1"], "by last day");
        assert_eq!(left("", Some(&place), now), ["M-2", "M-1"], "not known");
        assert_eq!(left("B", Some(&place), now), ["M-2"]);
        assert_eq!(left("C", Some(&place), now), [""; 0]);
        assert_eq!(left("A", Some(&elsewhere), now), ["M-1"]);
        assert_eq!(left("A", None, now), ["M-1"], "in a store");
        assert_eq!(left("A", Some(&place), "2025-12-31T00:00Z"), [""; 0]);
        let scrapped = Concerned {
            part: &part,
            condition: Condition::Scrapped,
            state: None,
            at: None,
        };
        assert!(documents.campaigns_of(&scrapped, at(now)).is_empty());
    }

    #[test]
    fn a_campaign_concerns_a_car_of_its_scope_until_it_is_embodied_there() {
        let documents = documents();
        let car_type = "Motor car".parse().expect("a car type");
        let left = |car: &str, embodied: &[&str]| {
            let embodied = embodied.iter().map(|one| one.parse().expect("a number"));
            let car = car.parse().expect("a car");
            let now = at("2026-07-01T00:00Z");
            let left = documents.campaigns_of_car((&car_type, &car), &embodied.collect(), now);
            numbers(&left)
        };
        assert_eq!(left("4101", &[]), ["M-3"]);
        assert_eq!(left("4101", &["M-3"]), [""; 0]);
        assert_eq!(left("4111", &[]), [""; 0]);
    }
}
