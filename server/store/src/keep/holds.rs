//! Keeps evidence holds.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::configuration::held::Held;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use std::collections::BTreeSet;

const PUT: &str = "insert into evidence_hold (id, component_id, held_car_id, held_entry, investigation, set_by, since, on_car_id, position, lifted_at, lifted_by) values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)";
const LIFT: &str = "update evidence_hold set lifted_at = $2, lifted_by = $3 where id = $1";

/// Holds are set and lifted one at a time, so each is written by itself. Of one that was set
/// earlier only its end is written: what it holds need not be in the dossier.
pub(super) async fn put_holds(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<Seq>,
    first: Seq,
) -> Result<(), StoreError> {
    for hold in changed.iter().filter_map(|id| dossier.holds.get(id)) {
        let lifted_at = hold.lifted.map(|(at, _)| At(at));
        let lifted_by = hold.lifted.map(|(_, by)| by.0);
        if hold.id < first {
            on!(tx, conn => sqlx::query(LIFT)
                .bind(hold.id.0).bind(lifted_at).bind(lifted_by)
                .execute(conn).await.map(drop))?;
            continue;
        }
        let (component, car, entry) = match &hold.held {
            Held::Component(one) => (dossier.components.get(one).map(|it| it.id.0), None, None),
            Held::Car(car) => (None, dossier.cars.get(car).map(|it| it.id.0), None),
            Held::Entry(entry) => (None, None, Some(entry.0)),
        };
        let on_car = hold.on_car.as_ref();
        let on_car_id = on_car.and_then(|at| dossier.cars.get(&at.car));
        on!(tx, conn => sqlx::query(PUT)
            .bind(hold.id.0)
            .bind(component)
            .bind(car)
            .bind(entry)
            .bind(hold.investigation.as_str())
            .bind(hold.by.as_str())
            .bind(At(hold.since))
            .bind(on_car_id.map(|car| car.id.0))
            .bind(on_car.map(|at| at.position.as_str()))
            .bind(lifted_at)
            .bind(lifted_by)
            .execute(conn).await.map(drop))?;
    }
    Ok(())
}
