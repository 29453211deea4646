//! Where departures come from: what is kept worked out of now, or where a few cars departed as at
//! a past time, which is worked out anew.

use super::DepartureQuery;
use crate::cars_then::Place;
use store::StoreError;
use store::read::View;
use store::read::departures::{DepartureCursor, DepartureFilter, DepartureItem};

/// The rows that a list is taken from.
pub(crate) enum Source {
    /// The rows of now, each page a read of one index.
    Now,
    /// All rows of then that are asked for, in order.
    Then(Vec<DepartureItem>),
}

impl Source {
    /// Of the past there may be at most so many cars; more are an error of the query.
    pub(crate) async fn of(
        view: &mut View,
        query: &mut DepartureQuery,
    ) -> Result<Self, StoreError> {
        let Some(as_at) = query.speaks.then().filter(|_| query.errors.is_empty()) else {
            return Ok(Self::Now);
        };
        let filter = &query.filter;
        let place = Place {
            fleet: filter.fleet.as_ref(),
            depot: filter.depot.as_ref(),
            unit: filter.unit.as_ref(),
            car: filter.car.as_ref(),
        };
        let cars = match place.cars(view, (as_at, "departures are told")).await? {
            Ok(cars) => cars,
            Err((field, expected)) => {
                query.errors.add(field, expected);
                return Ok(Self::Then(Vec::new()));
            }
        };
        let mut items = view.departures_told(&cars, (filter.on, as_at)).await?;
        items.retain(|item| filter.has(item));
        Ok(Self::Then(items))
    }

    /// A page of the list; one row more than asked for where there are more.
    pub(crate) async fn page(
        &self,
        view: &mut View,
        filter: &DepartureFilter,
    ) -> Result<Vec<DepartureItem>, StoreError> {
        match self {
            Self::Now => view.departures(filter).await,
            Self::Then(items) => {
                let after = filter.after.as_ref().map(DepartureCursor::order);
                let rest = items.iter().filter(|item| {
                    let order = item.cursor.order();
                    after.as_ref().is_none_or(|after| *after < order)
                });
                Ok(rest.take(filter.rows + 1).cloned().collect())
            }
        }
    }

    /// How many there are, counted up to `most`.
    pub(crate) async fn count(
        &self,
        view: &mut View,
        (filter, most): (&DepartureFilter, usize),
    ) -> Result<i64, StoreError> {
        match self {
            Self::Now => view.departure_count(filter, most).await,
            Self::Then(items) => {
                let found = items.iter().filter(|item| filter.has(item)).count();
                Ok(i64::try_from(found).unwrap_or(i64::MAX))
            }
        }
    }
}
