//! What is to be judged again, which stands beside the due work.

use super::query::DueQuery;
use domain::due::place::WorkPlace;
use domain::due::state::State;
use store::StoreError;
use store::read::View;
use store::read::doubted::Doubted;
use store::read::due::DueFilter;

/// Those of a list as asked for; of a past time none is told.
pub(crate) async fn doubted(view: &mut View, query: &DueQuery) -> Result<Vec<Doubted>, StoreError> {
    if !query.tells_ends() {
        return Ok(Vec::new());
    }
    doubted_in(view, &query.filter).await
}

/// Those at the place asked about, in the order in which it was told; of work in one state, with what is
/// overdue. They stand on the first page of a list with dates. One statement.
pub(super) async fn doubted_in(
    view: &mut View,
    due: &DueFilter,
) -> Result<Vec<Doubted>, StoreError> {
    let with_state = due.state.is_none_or(|state| state == State::Overdue);
    if due.after.is_some() || !due.has_dates() || !with_state {
        return Ok(Vec::new());
    }
    let mut all = view.doubted().await?;
    all.retain(|one| {
        let there = match due.place {
            None => true,
            Some(WorkPlace::OnCars) => one.car.is_some(),
            Some(WorkPlace::OffCars) => one.car.is_none(),
        };
        there
            && is_that(due.fleet.as_ref(), one.fleet.as_ref())
            && is_that(due.depot.as_ref(), one.depot.as_ref())
            && is_that(due.unit.as_ref(), one.unit.as_ref())
            && is_that(due.car.as_ref(), one.car.as_ref())
            && is_that(due.part.as_ref(), Some(&one.doubt.component.part))
    });
    Ok(all)
}

/// Whether something is what is asked for, if anything is.
fn is_that<T: PartialEq>(asked: Option<&T>, is: Option<&T>) -> bool {
    asked.is_none() || asked == is
}
