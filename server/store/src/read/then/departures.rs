//! Where cars departed from their baselines, as it was told: by the design data of then, so that a
//! view of what was known then is asked.

use crate::error::StoreError;
use crate::read::departures::{ComponentThere, DepartureCursor, DepartureItem};
use crate::read::{AsAt, View};
use domain::ledger::departures::{Departing, Departure, departures};
use domain::ledger::dossier::{CarRecord, Dossier};
use domain::time::Day;

impl View {
    /// Everywhere that some cars departed on a day from the revisions of that day, by what was on
    /// them then; of at most [`CARS_THEN_MAX`](super::CARS_THEN_MAX) cars. Three statements.
    pub async fn departures_told(
        &mut self,
        cars: &[CarRecord],
        (on, as_at): (Day, AsAt),
    ) -> Result<Vec<DepartureItem>, StoreError> {
        let numbers: Vec<i64> = cars.iter().map(|car| car.id.0).collect();
        let [mut told] = self.on_cars_then(&numbers, [as_at]).await?;
        let mut items = Vec::new();
        for car in cars {
            let on_car = told.on_cars.remove(&car.id.0).unwrap_or_default();
            let of = (&car.car, &Departing::Anywhere);
            let all = departures((&self.documents, &self.zone), of, &on_car);
            let then = |one: &Departure| {
                one.from.is_none_or(|from| from <= on) && one.until.is_none_or(|until| on < until)
            };
            let then = all.into_iter().filter(then);
            items.extend(then.map(|one| item(car, one, (&told.dossier, as_at))));
        }
        items.sort_by_key(|item| item.cursor.order());
        Ok(items)
    }
}

fn item(car: &CarRecord, one: Departure, (dossier, as_at): (&Dossier, AsAt)) -> DepartureItem {
    let component = one.component.and_then(|component| {
        Some(ComponentThere {
            modification: dossier
                .modification_at(&component, as_at.effective)
                .cloned(),
            condition: dossier.condition_at(&component, as_at.effective)?,
            component,
        })
    });
    DepartureItem {
        cursor: DepartureCursor {
            car: car.id.0,
            position: one.position.clone(),
            setting: one.setting.clone(),
            kind: one.kind,
        },
        car: car.clone(),
        position: one.position,
        setting: one.setting,
        set_to: one.set_to,
        kind: one.kind,
        from: one.from,
        component,
        concession: one.concession,
    }
}
