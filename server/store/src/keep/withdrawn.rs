//! Keeps which entries were withdrawn, by what they told of.

use super::Write;
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::configuration::component::Subject;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use std::collections::BTreeSet;

const PUT: &str =
    "insert into withdrawn (entry, subject_id, known_from, known_until) values ($1, $2, $3, $4)";

/// One statement each; entries are withdrawn one at a time. What was learned in this very moment
/// never was known.
pub(super) async fn put_withdrawn(
    tx: &mut Tx,
    dossier: &Dossier,
    withdrawn: &BTreeSet<Seq>,
    write: Write,
) -> Result<(), StoreError> {
    for target in withdrawn {
        let Some((entry, _)) = dossier.corrected.get(target) else {
            continue;
        };
        let subject = match entry.fact.tells_of_use() {
            Some(Subject::Component(one)) => dossier.components.get(&one).map(|one| one.id),
            Some(Subject::Car(car)) => dossier.cars.get(&car).map(|car| car.id),
            None => None,
        };
        let known = entry.recorded_at < write.recorded_at;
        if let Some(subject) = subject.filter(|_| known) {
            on!(tx, conn => sqlx::query(PUT)
                .bind(target.0)
                .bind(subject.0)
                .bind(At(entry.recorded_at))
                .bind(At(write.recorded_at))
                .execute(conn).await.map(drop))?;
        }
    }
    Ok(())
}
