//! Substitutes under a concession: a part that is approved nowhere, until stock arrives.

use super::car::OnCar;
use super::chance::{Chance, Of};
use super::component::{Arrival, SinceBirth};
use super::fitment::{End, Fitted, Stay};
use super::names;
use super::span::Moment;
use super::troubles::SUBSTITUTED;
use super::{Generator, Result};
use crate::columns::CONCESSIONS;
use domain::configuration::car_type::CarType;
use domain::configuration::component::{Condition, RemovalReason};
use domain::configuration::part::Part;
use domain::identity::PartNumber;
use std::collections::BTreeSet;

/// How many days ago a substitute was fitted.
const FITTED_AGO: i64 = 320;
/// In how many days the concessions end, in turn: the first soon, within the days in which that is
/// shown.
const END_IN: [i64; 2] = [24, 300];

/// The first part that no position approves while others of its kind are approved.
pub(super) fn substitute(parts: &[Part], car_types: &[CarType]) -> Option<Part> {
    let positions = car_types.iter().flat_map(|car_type| &car_type.positions);
    let inner = parts.iter().flat_map(|part| &part.positions);
    let inner = inner.flat_map(|position| &position.approved);
    let approved = positions.clone().flat_map(|position| &position.approved);
    let approved: BTreeSet<&PartNumber> = approved.chain(inner).collect();
    let mut kinds = positions.filter(|position| !position.approved.is_empty());
    let unapproved = parts.iter().find(|part| !approved.contains(&part.number))?;
    kinds
        .any(|position| position.kind == unapproved.kind)
        .then(|| unapproved.clone())
}

impl Generator<'_> {
    /// Fits a substitute to a car that the trouble strikes, where nothing has happened yet.
    pub(super) fn fit_substitute(
        &mut self,
        on_car: &OnCar<'_>,
        all: &mut [Fitted<'_>],
    ) -> Result<()> {
        let place = on_car.car.place;
        let Some(part) = self
            .substitute
            .clone()
            .filter(|_| SUBSTITUTED.strikes(place))
        else {
            return Ok(());
        };
        let mut alike = all
            .iter_mut()
            .filter(|fitted| fitted.position.kind == part.kind);
        let Some(fitted) = alike.find_map(|fitted| fitted.untouched().is_some().then_some(fitted))
        else {
            return Ok(());
        };
        let day = self.span.ago(FITTED_AGO.min(self.span.days() - 30));
        if let Some(stay) = fitted.untouched() {
            stay.end = Some(End {
                at: Moment::removal_on(day),
                reason: RemovalReason::Damage,
                to: names::workshop(on_car.depot),
                condition: Condition::Unserviceable,
            });
        }
        let arrival = Arrival {
            born: day.plus_days(-40),
            since: SinceBirth::InStore,
            received: day.plus_days(-2),
            condition: Condition::Serviceable,
            location: names::store(on_car.depot),
        };
        let mut chance = Chance::new(self.options.seed, Of::Substitute(place));
        let component = self.receive(&mut chance, &part.number, &on_car.life, &arrival)?;
        let mut stay = Stay::new(component, Moment::fitting_on(day));
        stay.reason = "none of an approved part in any store";
        let end_in = END_IN[self.concessions % END_IN.len()];
        self.concessions += 1;
        let number = format!("TRR-C-{:02}", self.concessions);
        stay.concession = Some(number.clone());
        fitted.stays.push(stay);
        let position = &fitted.position.code;
        self.write(
            &CONCESSIONS,
            &[
                ("concession", &number),
                ("cars", &on_car.car.number),
                ("position", position),
                ("part", &part.number),
                (
                    "risk",
                    &"same pressure and bore, other fabric; looked at every four weeks until approved stock arrives",
                ),
                ("until", &self.options.as_at.plus_days(end_in)),
                ("since", &day),
            ],
        )
    }
}
