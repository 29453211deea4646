//! What was due on the cars of a register at a moment, as its lists showed it then; and the same
//! worked out anew later, from what was known then.

use domain::due::forecast::Forecast;
use domain::identity::{CarNumber, PositionCode, TaskCode};
use domain::ledger::dossier::CarRecord;
use domain::time::{Instant, Zone};
use store::read::{AsAt, View};
use tests::fleet::CARS;
use tests::register::Register;

/// A row: on which car, where, which task, and its dates.
pub(super) type Due = (CarNumber, Option<PositionCode>, TaskCode, Forecast);

async fn cars(view: &mut View) -> Vec<CarRecord> {
    let mut cars = Vec::new();
    for number in CARS {
        cars.extend(view.car(&number.parse().unwrap()).await.unwrap());
    }
    cars
}

fn in_order(mut rows: Vec<Due>) -> Vec<Due> {
    rows.sort_by(|a, b| (&a.0, &a.1, &a.2).cmp(&(&b.0, &b.1, &b.2)));
    rows
}

/// What the lists show now.
pub(super) async fn shown(register: &Register, now: Instant) -> Vec<Due> {
    let mut view = register.store.view().await.unwrap();
    let cars = cars(&mut view).await;
    let cars: Vec<&CarRecord> = cars.iter().collect();
    let due = view.due_on(&cars, Zone::UTC.day_of(now)).await.unwrap();
    let due = due.into_iter();
    in_order(
        due.map(|one| (one.car, one.position, one.task, one.forecast))
            .collect(),
    )
}

/// What is told now of a moment, as it was known at that moment.
pub(super) async fn told(register: &Register, moment: Instant) -> Vec<Due> {
    let mut view = register.store.view().await.unwrap();
    let cars = cars(&mut view).await;
    let as_at = AsAt {
        effective: moment,
        known: moment,
    };
    let all: Vec<&CarRecord> = cars.iter().collect();
    let told = view.cars_then(&all, as_at).await.unwrap();
    let due = cars.iter().flat_map(|car| {
        let due = told.due_on(car, (&Zone::UTC, moment)).into_iter();
        due.map(|item| {
            let number = car.car.number.clone();
            (number, item.position, item.task, item.forecast)
        })
    });
    in_order(due.collect())
}
