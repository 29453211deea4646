//! Modifications whose last day is due work.

use super::ending::asks_for;
use super::query::DueQuery;
use domain::configuration::concession::ENDING_DAYS;
use domain::configuration::modification::ModificationScope;
use domain::time::Instant;
use store::StoreError;
use store::read::View;
use store::read::campaigns::{Campaign, CampaignFilter, OnCars};
use store::read::due::DueFilter;

/// Those of a list as asked for; of a past time none is told.
pub(crate) async fn campaigns(
    view: &mut View,
    query: &DueQuery,
) -> Result<Vec<Campaign>, StoreError> {
    if !query.tells_ends() {
        return Ok(Vec::new());
    }
    campaigns_in(view, &query.filter, query.speaks.times.effective).await
}

/// Those whose last day comes by the day asked for, by default within [`ENDING_DAYS`], or is over
/// while they are not embodied everywhere there. Of work in one state only those in the same, as
/// of concessions. They stand on the first page of a list with dates. One statement where there is any
/// whose day comes.
pub(super) async fn campaigns_in(
    view: &mut View,
    due: &DueFilter,
    now: Instant,
) -> Result<Vec<Campaign>, StoreError> {
    if due.after.is_some() || !due.has_dates() {
        return Ok(Vec::new());
    }
    let until = due.until.unwrap_or(due.today.plus_days(ENDING_DAYS));
    let on_cars = match (&due.car, &due.unit) {
        (Some(car), _) => Some(OnCars::Car(car)),
        (None, Some(unit)) => Some(OnCars::Unit(unit)),
        (None, None) => None,
    };
    let mut campaigns = if let Some(on_cars) = on_cars {
        view.campaigns_on(on_cars, now).await?
    } else {
        let filter = CampaignFilter {
            fleet: due.fleet.as_ref(),
            depot: due.depot.as_ref(),
            part: due.part.as_ref(),
            place: due.place,
            until,
        };
        view.campaigns_until(filter, now).await?
    };
    campaigns.retain(|one| {
        let document = &one.issued.document;
        let of_part = due.part.as_ref().is_none_or(|asked| match &document.scope {
            ModificationScope::Components { part, .. } => part == asked,
            ModificationScope::Cars { .. } => false,
        });
        of_part && document.by <= until && asks_for(due, document.by)
    });
    Ok(campaigns)
}
