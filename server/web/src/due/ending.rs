//! Concessions whose end is due work.

use super::query::DueQuery;
use domain::configuration::concession::{ConcessionRecord, ENDING_DAYS};
use domain::due::place::WorkPlace;
use store::StoreError;
use store::read::View;
use store::read::departures::DepartureFilter;

/// A concession that ends.
pub(crate) struct Ending {
    pub(crate) record: ConcessionRecord,
    /// How many positions are under it at the place asked about.
    pub(crate) under: i64,
}

/// Those that end by the day asked for, by default within [`ENDING_DAYS`], and those that have ended
/// while something is still under them, by their last day. At a place, those with something under
/// them there. They stand on the first page of a list with dates. One statement where any ends.
pub(crate) async fn ending(view: &mut View, query: &DueQuery) -> Result<Vec<Ending>, StoreError> {
    let due = &query.filter;
    let then = query.speaks.then().is_some();
    let off_cars = due.place == Some(WorkPlace::OffCars);
    let readable = query.errors.is_empty();
    if then || off_cars || !readable || due.after.is_some() || !due.has_dates() {
        return Ok(Vec::new());
    }
    let today = due.today;
    let latest = due.until.unwrap_or(today.plus_days(ENDING_DAYS));
    let ends = |record: &&ConcessionRecord| {
        let part = due.part.as_ref();
        let of_part = part.is_none_or(|part| record.granted.allows.part() == Some(part));
        record.withdrawn.is_none() && record.until() <= latest && of_part
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
        0 < one.under || (query.is_everywhere() && !over)
    });
    ending.sort_by_key(|one| (one.record.until(), one.record.by));
    Ok(ending)
}
