//! Where rows of a due list come from: what is kept worked out of now, or what was due as at a
//! past time, which is worked out anew for a few cars.

use super::query::DueQuery;
use crate::cars_then::{Place, fewer_expected};
use crate::failure::Failure;
use crate::state::WebState;
use domain::configuration::component::Subject;
use domain::due::state::State;
use domain::ledger::dossier::Documents;
use std::sync::Arc;
use store::read::View;
use store::read::due::{DueCursor, DueFilter, DueItem};

/// The rows that a list is taken from.
pub(crate) enum Source {
    /// The rows of now, each page a read of one index.
    Now,
    /// All rows of then, by date, with the tasks of then.
    Then {
        items: Vec<DueItem>,
        documents: Arc<Documents>,
    },
}

impl Source {
    /// Of the past it costs all that was ever recorded of what was on the cars, of which there may
    /// be [`CARS_THEN_MAX`]; where there are more, that is an error of the query.
    pub(crate) async fn of(
        view: &mut View,
        query: &mut DueQuery,
        state: &WebState,
    ) -> Result<Self, Failure> {
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
        let Some(cars) = place.cars(view, as_at).await? else {
            let expected = fewer_expected("due work is told");
            query.errors.add("unit", expected);
            return Ok(Self::Then {
                items: Vec::new(),
                documents: Arc::clone(&view.documents),
            });
        };
        let told = view
            .cars_then(&cars.iter().collect::<Vec<_>>(), as_at)
            .await?;
        let mut items: Vec<DueItem> = cars
            .iter()
            .flat_map(|car| told.due_on(car, (&state.zone, as_at.effective)))
            .collect();
        items.retain(|item| is_asked(item, &query.filter));
        items.sort_by(|one, other| key(&one.cursor).cmp(&key(&other.cursor)));
        Ok(Self::Then {
            items,
            documents: told.documents,
        })
    }

    /// A page of the list; one row more than asked for where there are more.
    pub(crate) async fn page(
        &self,
        view: &mut View,
        filter: &DueFilter,
    ) -> Result<Vec<DueItem>, Failure> {
        match self {
            Self::Now => Ok(view.due(filter).await?),
            Self::Then { items, .. } => {
                let after = |item: &&DueItem| {
                    let after = filter.after.as_ref();
                    after.is_none_or(|after| key(after) < key(&item.cursor))
                };
                let rest = items.iter().filter(after);
                Ok(rest.take(filter.rows + 1).cloned().collect())
            }
        }
    }

    /// The design data by which the rows are told.
    pub(crate) fn documents(&self, view: &View) -> Arc<Documents> {
        match self {
            Self::Now => Arc::clone(&view.documents),
            Self::Then { documents, .. } => Arc::clone(documents),
        }
    }
}

fn key(cursor: &DueCursor) -> impl Ord + '_ {
    (cursor.on.is_none(), cursor.on, cursor.subject, &cursor.task)
}

/// Whether a row of then is one that is asked for, on the cars that are.
fn is_asked(item: &DueItem, filter: &DueFilter) -> bool {
    let part = match &item.subject {
        Subject::Component(one) => Some(&one.part),
        Subject::Car(_) => None,
    };
    let of_state = match filter.state {
        None => filter.ends_undated() || item.forecast.on.is_some(),
        Some(State::NoDate) => item.forecast.on.is_none() && item.forecast.lacking.is_nothing(),
        Some(state) => item.state == state,
    };
    let until = filter.until.filter(|_| filter.has_dates());
    of_state
        && filter.part.as_ref().is_none_or(|asked| part == Some(asked))
        && until.is_none_or(|until| item.forecast.on.is_some_and(|on| on <= until))
}
