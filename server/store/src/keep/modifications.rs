//! Keeps in what modifications were embodied.

use super::Write;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::configuration::component::Subject;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use std::collections::BTreeSet;

const DROP: &str = "delete from embodiment where recorded_by = $1";
const PUT: &str =
    "insert into embodiment (recorded_by, modification, component_id, subject_car_id, done_at)
    values ($1, $2, $3, $4, $5)";

/// Embodiments come one at a time.
pub(super) async fn put_embodied(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<Seq>,
    write: Write,
) -> Result<(), StoreError> {
    for by in changed {
        if *by < write.first {
            on!(tx, conn => sqlx::query(DROP).bind(by.0).execute(conn).await.map(drop))?;
        }
        let Some(record) = dossier.embodied.get(by) else {
            continue;
        };
        let (component, car) = match &record.subject {
            Subject::Component(one) => (dossier.components.get(one).map(|one| one.id.0), None),
            Subject::Car(car) => (None, dossier.cars.get(car).map(|car| car.id.0)),
        };
        on!(tx, conn => sqlx::query(PUT)
            .bind(by.0)
            .bind(record.modification.as_str())
            .bind(component)
            .bind(car)
            .bind(At(record.at))
            .execute(conn).await.map(drop))?;
    }
    Ok(())
}
