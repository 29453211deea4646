//! Keeps settings. One that is withdrawn stays as what was known until now.

use super::{ROWS, Write};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::error::StoreError;
use domain::configuration::setting::SettingRecord;
use domain::identity::CarNumber;
use domain::ledger::dossier::Dossier;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

const DROP: &str = "delete from setting where id = $1 and known_from = $2";
const END: &str = "update setting set known_until = $2 where id = $1";

pub(super) async fn put_settings(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<Seq>,
    write: Write,
) -> Result<(), StoreError> {
    let now = At(write.recorded_at);
    // Settings are withdrawn one at a time; what was learned in this very moment never was known.
    let gone = changed
        .iter()
        .filter(|by| !dossier.settings.contains_key(by));
    for by in gone.filter(|by| **by < write.first) {
        for statement in [DROP, END] {
            on!(tx, conn => sqlx::query(statement).bind(by.0).bind(now).execute(conn).await.map(drop))?;
        }
    }
    let made = changed.iter().filter_map(|by| dossier.settings.get(by));
    let made: Vec<&SettingRecord> = made.collect();
    let car = |number: &CarNumber| dossier.cars.get(number).map(|car| car.id.0);
    for chunk in made.chunks(ROWS) {
        on!(tx, conn => {
            let mut query = QueryBuilder::new("insert into setting (id, known_from, car_id, position, name, set_to, how, since, recorded_by) ");
            query.push_values(chunk, |mut row, one| {
                row.push_bind(one.by.0)
                    .push_bind(now)
                    .push_bind(car(&one.made.at.car))
                    .push_bind(one.made.at.position.as_str())
                    .push_bind(one.made.setting.as_str())
                    .push_bind(one.made.value.to_string())
                    .push_bind(one.made.how.name())
                    .push_bind(At(one.since))
                    .push_bind(one.recorded_by.as_str());
            });
            query.build().execute(&mut *conn).await.map(drop)
        })?;
    }
    Ok(())
}
