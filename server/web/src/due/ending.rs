//! Concessions whose end is due work.

use super::query::DueQuery;
use domain::configuration::concession::{ConcessionRecord, ENDING_DAYS};
use domain::due::place::WorkPlace;
use domain::due::state::State;
use domain::time::Day;
use store::StoreError;
use store::read::View;
use store::read::departures::DepartureFilter;
use store::read::due::DueFilter;

/// A concession that ends.
pub(crate) struct Ending {
    pub(crate) record: ConcessionRecord,
    /// How many positions are under it at the place asked about.
    pub(crate) under: i64,
}

/// Those of a list as asked for; of a past time none is told.
pub(crate) async fn ending(view: &mut View, query: &DueQuery) -> Result<Vec<Ending>, StoreError> {
    if !query.tells_ends() {
        return Ok(Vec::new());
    }
    ending_in(view, &query.filter).await
}

/// Whether what ends on a day is asked for: ended as what is overdue, ending as what is in its
/// window.
pub(super) fn asks_for(due: &DueFilter, until: Day) -> bool {
    let over = until < due.today;
    match due.state {
        None => true,
        Some(State::Overdue) => over,
        Some(State::InWindow) => !over,
        Some(_) => false,
    }
}

/// Those that end by the day asked for, by default within [`ENDING_DAYS`], and those that have ended
/// while something is still under them, by their last day. At a place, those with something under
/// them there. Of work in one state only those in the same. They stand on the first page of a list with
/// dates. One statement where any ends.
pub(super) async fn ending_in(view: &mut View, due: &DueFilter) -> Result<Vec<Ending>, StoreError> {
    let off_cars = due.place == Some(WorkPlace::OffCars);
    if off_cars || due.after.is_some() || !due.has_dates() {
        return Ok(Vec::new());
    }
    let on_cars = due.fleet.is_some() || due.depot.is_some() || due.unit.is_some();
    let everywhere = !on_cars && due.car.is_none() && due.part.is_none();
    let today = due.today;
    let latest = due.until.unwrap_or(today.plus_days(ENDING_DAYS));
    let ends = |record: &&ConcessionRecord| {
        let part = due.part.as_ref();
        let of_part = part.is_none_or(|part| record.granted.allows.part() == Some(part));
        let stands = record.withdrawn.is_none() && asks_for(due, record.until());
        stands && record.until() <= latest && of_part
    };
    let known = view.documents.concessions.values();
    let ending: Vec<ConcessionRecord> = known.filter(ends).cloned().collect();
    if ending.is_empty() {
        return Ok(Vec::new());
    }
    let filter = DepartureFilter {
        fleet: due.fleet.clone(),
        depot: due.depot.clone(),
        unit: due.unit.clone(),
        car: due.car.clone(),
        ..DepartureFilter::all(today)
    };
    let counts = view.under_concessions(&filter).await?;
    let ending = ending.into_iter().map(|record| Ending {
        under: counts.get(&record.granted.number).copied().unwrap_or(0),
        record,
    });
    let mut ending: Vec<Ending> = ending.collect();
    ending.retain(|one| {
        let over = one.record.until() < today;
        0 < one.under || (everywhere && !over)
    });
    ending.sort_by_key(|one| (one.record.until(), one.record.by));
    Ok(ending)
}
