//! What happens to some cars: components exchanged by mistake, moved, robbed.

use super::car::OnCar;
use super::chance::Chance;
use super::component::Component;
use super::fitment::{End, Fitted, Stay};
use super::names;
use super::span::Moment;
use super::troubles::{GAP_IN_HISTORY, ROBBED, SUSPECTED, SWAPPED};
use super::{Generator, Result};
use domain::configuration::component::{Condition, RemovalReason};
use domain::time::Day;

/// A component taken off one car that turns up on a later one.
pub(super) struct Travelling {
    pub(super) component: Component,
    /// When it is fitted again.
    pub(super) arrives: Day,
    pub(super) reason: &'static str,
}

/// The most components on their way; more are forgotten in a store.
pub(super) const TRAVELLING_MAX: usize = 40;
/// The days before the end of the history in which nothing is taken off that is fitted again.
const TRAVEL_DAYS_MAX: i64 = 200;

impl Generator<'_> {
    /// Lets happen what happens to this car.
    pub(super) fn disturb(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        all: &mut [Fitted<'_>],
    ) -> Result<()> {
        self.let_arrive(on_car, all);
        let place = on_car.car.place;
        if SWAPPED.strikes(place) {
            self.swap(chance, on_car, all);
        }
        if GAP_IN_HISTORY.strikes(place) {
            self.take_off(chance, on_car, all, RemovalReason::Access)?;
        }
        if ROBBED.strikes(place) {
            self.take_off(chance, on_car, all, RemovalReason::Robbed)?;
        }
        if SUSPECTED.strikes(place) {
            self.suspect(chance, on_car, all);
        }
        Ok(())
    }

    /// Fits a component that was taken off an earlier car, in place of one that failed.
    fn let_arrive(&mut self, on_car: &OnCar<'_>, all: &mut [Fitted<'_>]) {
        let travelling = std::mem::take(&mut self.travelling);
        for traveller in travelling {
            let part = &traveller.component.part;
            let taken = all.iter_mut().find_map(|fitted| {
                let fits = fitted
                    .untouched()
                    .is_some_and(|s| s.component.part == *part);
                fits.then_some(fitted)
            });
            let Some(fitted) = taken else {
                self.travelling.push(traveller);
                continue;
            };
            if let Some(stay) = fitted.untouched() {
                stay.end = Some(End {
                    at: Moment::removal_on(traveller.arrives),
                    reason: RemovalReason::Failed,
                    to: names::workshop(on_car.depot),
                    condition: Condition::RemovedToBeJudged,
                });
            }
            let mut stay = Stay::new(traveller.component, Moment::fitting_on(traveller.arrives));
            stay.reason = traveller.reason;
            fitted.stays.push(stay);
        }
    }

    /// Exchanges two components of one part: each was recorded at the other's position, until
    /// somebody read the serial numbers.
    fn swap(&mut self, chance: &mut Chance, on_car: &OnCar<'_>, all: &mut [Fitted<'_>]) {
        let Some((first, second)) = same_part(all) else {
            return;
        };
        let day = self.span.ago(chance.between(5, self.span.days() - 30));
        let (mut left, mut right) = (None, None);
        for (place, taken) in [(first, &mut left), (second, &mut right)] {
            if let Some(stay) = all[place].untouched() {
                stay.end = Some(End {
                    at: Moment::removal_on(day),
                    reason: RemovalReason::RegisterError,
                    to: names::store(on_car.depot),
                    condition: Condition::Serviceable,
                });
                *taken = Some(stay.component.clone());
            }
        }
        for (place, component) in [(first, right), (second, left)] {
            if let Some(component) = component {
                let mut stay = Stay::new(component, Moment::removal_on(day));
                stay.reason = "serial numbers read on the car: recorded at each other's position";
                all[place].stays.push(stay);
            }
        }
    }

    /// Takes a component off that is fitted to a later car: after access, months later and with
    /// a successor here; robbed, on the next day and with none.
    fn take_off(
        &mut self,
        chance: &mut Chance,
        on_car: &OnCar<'_>,
        all: &mut [Fitted<'_>],
        reason: RemovalReason,
    ) -> Result<()> {
        let day = self
            .span
            .ago(chance.between(TRAVEL_DAYS_MAX + 10, self.span.days() - 30));
        let Some(fitted) = any_untouched(chance, all) else {
            return Ok(());
        };
        let Some(stay) = fitted.untouched() else {
            return Ok(());
        };
        let robbed = reason == RemovalReason::Robbed;
        stay.end = Some(End {
            at: Moment::removal_on(day),
            reason,
            to: names::store(on_car.depot),
            condition: Condition::Serviceable,
        });
        let component = stay.component.clone();
        if !robbed {
            let in_store = chance.between(6, 60);
            let successor = self.successor(chance, on_car, &component.part, (day, in_store))?;
            fitted.stays.push(successor);
        }
        if self.travelling.len() < TRAVELLING_MAX {
            let days = if robbed {
                1
            } else {
                chance.between(60, TRAVEL_DAYS_MAX)
            };
            self.travelling.push(Travelling {
                component,
                arrives: day.plus_days(days),
                reason: if robbed {
                    "robbed from another car"
                } else {
                    ""
                },
            });
        }
        Ok(())
    }
}

/// A position with an untouched component.
pub(super) fn any_untouched<'a, 'c>(
    chance: &mut Chance,
    all: &'a mut [Fitted<'c>],
) -> Option<&'a mut Fitted<'c>> {
    let mut untouched: Vec<&mut Fitted> = all.iter_mut().collect();
    untouched.retain_mut(|fitted| fitted.untouched().is_some());
    let last = i64::try_from(untouched.len()).unwrap_or(0) - 1;
    let place = usize::try_from(chance.between(0, last)).unwrap_or(0);
    untouched.into_iter().nth(place)
}

/// The places of two positions with untouched components of one part.
fn same_part(all: &mut [Fitted<'_>]) -> Option<(usize, usize)> {
    let parts: Vec<_> = all
        .iter_mut()
        .map(|fitted| fitted.untouched().map(|stay| stay.component.part.clone()))
        .collect();
    let pair_of = |first: usize| {
        let part = parts[first].as_ref()?;
        let second = (first + 1..parts.len()).find(|n| parts[*n].as_ref() == Some(part))?;
        Some((first, second))
    };
    (0..parts.len()).find_map(pair_of)
}
