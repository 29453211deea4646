//! Where rows of a due list come from: what is kept worked out of now, or what was due as at a
//! past time, which is worked out anew for a few cars.

use super::query::DueQuery;
use crate::cars_then::{Amiss, Place};
use crate::failure::Failure;
use crate::state::WebState;
use domain::configuration::component::Subject;
use domain::due::place::WorkPlace;
use domain::due::state::State;
use domain::identity::PartNumber;
use domain::ledger::dossier::Documents;
use std::sync::Arc;
use store::read::due::{DueCursor, DueFilter, DueItem};
use store::read::then::COMPONENTS_THEN_MAX;
use store::read::{AsAt, View};

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
    /// be [`CARS_THEN_MAX`](store::read::then::CARS_THEN_MAX), or of the components of a part alone, of
    /// which there may be [`COMPONENTS_THEN_MAX`]; where there are more, that is an error of the query.
    pub(crate) async fn of(
        view: &mut View,
        query: &mut DueQuery,
        state: &WebState,
    ) -> Result<Self, Failure> {
        let Some(as_at) = query.speaks.then().filter(|_| query.errors.is_empty()) else {
            return Ok(Self::Now);
        };
        let found = match part_alone(&query.filter) {
            Some(part) => part_then(view, (part, query.filter.place), as_at).await?,
            None => cars_then(view, &query.filter, (as_at, state)).await?,
        };
        let (mut items, documents) = match found {
            Ok(found) => found,
            Err((field, expected)) => {
                query.errors.add(field, expected);
                (Vec::new(), Arc::clone(&view.documents))
            }
        };
        items.retain(|item| is_asked(item, &query.filter));
        items.sort_by(|one, other| key(&one.cursor).cmp(&key(&other.cursor)));
        Ok(Self::Then { items, documents })
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

/// What was due then with the tasks of then, or the field by which it cannot be told, and what is
/// expected there.
type FoundThen = Result<(Vec<DueItem>, Arc<Documents>), Amiss>;

/// What was due on cars and on what was on them.
async fn cars_then(
    view: &mut View,
    filter: &DueFilter,
    (as_at, state): (AsAt, &WebState),
) -> Result<FoundThen, Failure> {
    let place = Place {
        fleet: filter.fleet.as_ref(),
        depot: filter.depot.as_ref(),
        unit: filter.unit.as_ref(),
        car: filter.car.as_ref(),
    };
    let of = "due work that is not of one part is told";
    let cars = match place.cars(view, (as_at, of)).await? {
        Ok(cars) => cars,
        Err(amiss) => return Ok(Err(amiss)),
    };
    let all: Vec<_> = cars.iter().collect();
    let told = view.cars_then(&all, as_at).await?;
    let due = cars.iter();
    let due = due.flat_map(|car| told.due_on(car, (&state.zone, as_at.effective)));
    Ok(Ok((due.collect(), told.documents)))
}

/// The part, where its components are asked for wherever they are, or are on cars, or are not.
fn part_alone(filter: &DueFilter) -> Option<&PartNumber> {
    let cars = filter.unit.is_some() || filter.car.is_some();
    let place = filter.fleet.is_some() || filter.depot.is_some();
    filter.part.as_ref().filter(|_| !cars && !place)
}

/// What was due on the components of a part.
async fn part_then(
    view: &mut View,
    part: (&PartNumber, Option<WorkPlace>),
    as_at: AsAt,
) -> Result<FoundThen, Failure> {
    let found = view.part_then(part, as_at).await?;
    let found = found.map(|(items, told)| (items, told.documents));
    Ok(found.ok_or_else(|| {
        let expected = format!(
            "expected one of at most {COMPONENTS_THEN_MAX} components, or a unit or a car as well: \
             of a past time, due work is told of those alone"
        );
        ("part", expected)
    }))
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
    let of_place = filter.place.is_none_or(|place| match place {
        WorkPlace::OnCars => item.car.is_some(),
        WorkPlace::OffCars => item.car.is_none(),
    });
    of_state
        && of_place
        && filter.part.as_ref().is_none_or(|asked| part == Some(asked))
        && until.is_none_or(|until| item.forecast.on.is_some_and(|on| on <= until))
}
