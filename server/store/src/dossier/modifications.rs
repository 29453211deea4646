//! In which cars modifications were embodied, as kept.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::configuration::component::Subject;
use domain::configuration::modification::EmbodiedRecord;
use domain::identity::CarNumber;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use std::collections::BTreeSet;

row!(EmbodiedRow {
    recorded_by: i64,
    modification: String,
    done_at: At,
});

const OF_CAR: &str = "select embodiment.recorded_by, embodiment.modification, embodiment.done_at
    from car join embodiment on embodiment.subject_car_id = car.id where car.number = $1";

/// Loads what was embodied in cars as a whole; one statement a car, since they come one at a time.
pub(super) async fn load_embodied(
    tx: &mut Tx,
    dossier: &mut Dossier,
    cars: &BTreeSet<CarNumber>,
) -> Result<(), StoreError> {
    for car in cars {
        let rows: Vec<EmbodiedRow> =
            on!(tx, conn => sqlx::query_as(OF_CAR).bind(car.as_str()).fetch_all(conn).await)?;
        for row in rows {
            let record = EmbodiedRecord {
                by: Seq(row.recorded_by),
                modification: parsed(&row.modification)?,
                subject: Subject::Car(car.clone()),
                at: row.done_at.0,
            };
            dossier.embodied.insert(record.by, record);
        }
    }
    Ok(())
}
