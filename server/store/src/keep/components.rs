//! Keeps components and fitments. A fitment that changes keeps its old row as what was known
//! until now.

use super::{ROWS, Write};
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::dossier::components::columns;
use crate::error::StoreError;
use crate::row::to_json;
use domain::configuration::component::{ComponentRef, RemovalReason};
use domain::configuration::location::Sent;
use domain::identity::{Batch, LocationName, ModificationState};
use domain::ledger::dossier::{ComponentRecord, Dossier, Fitment, FitmentId};
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashSet};

/// Nothing is due on what is not in the register.
const NOT_DUE: &str = "delete from due where subject_id = $1";

/// What was said when a component was sent where it is.
fn sent(record: &ComponentRecord) -> Option<&Sent> {
    record.kept.as_ref().map(|kept| &kept.sent)
}

pub(super) async fn put_components(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &HashSet<ComponentRef>,
) -> Result<(), StoreError> {
    let mut records: Vec<_> = changed
        .iter()
        .filter_map(|component| dossier.components.get(component))
        .collect();
    records.sort_by_key(|record| record.id);
    let plates = |record: &ComponentRecord| {
        let any = !record.plates.is_empty();
        any.then(|| to_json(&record.plates)).transpose()
    };
    let rows: Result<Vec<_>, sqlx::Error> = records
        .iter()
        .map(|record| Ok((record, plates(record)?)))
        .collect();
    for chunk in rows?.chunks(ROWS) {
        on!(tx, conn => {
                    let mut query = QueryBuilder::new("insert into component (id, part, serial, folded, received_at, condition, location, bound_for, expected_on, since, since_by, manufactured_on, overhauled_on, brought_odometer, brought_running_hours, brought_compressor_hours, overhaul_odometer, overhaul_running_hours, overhaul_compressor_hours, certificate, modification_state, plates, withdrawn_by, batch) ");
                    query.push_values(chunk, |mut row, (record, plates)| {
                        row.push_bind(record.id.0)
                            .push_bind(record.component.part.as_str())
                            .push_bind(record.component.serial.as_str())
                            .push_bind(record.component.serial.folded())
                            .push_bind(At(record.received_at))
                            .push_bind(record.condition.name())
                            .push_bind(record.location().map(LocationName::as_str))
                            .push_bind(sent(record).and_then(|sent| sent.bound_for.as_ref()).map(LocationName::as_str))
                            .push_bind(sent(record).and_then(|sent| sent.expected_on).map(On))
                            .push_bind(At(record.since))
                            .push_bind(record.since_by.0)
                            .push_bind(record.manufactured_on.map(On))
        .push_bind(record.overhauled_on.map(On));
                        for used in [record.brought, record.since_overhaul] {
                            for amount in columns(&used.by_meter()) {
                                row.push_bind(amount);
                            }
                        }
                        row.push_bind(record.certificate.as_deref())
                            .push_bind(record.modification.as_ref().map(ModificationState::as_str))
                            .push_bind(plates)
                            .push_bind(dossier.changes.taken_out.get(&record.component).map_or(0, |by| by.0))
                            .push_bind(record.batch.as_ref().map(Batch::as_str));
                    });
                    query.push(" on conflict (id) do update set condition = excluded.condition, location = excluded.location, bound_for = excluded.bound_for, expected_on = excluded.expected_on, since = excluded.since, since_by = excluded.since_by, modification_state = excluded.modification_state, plates = excluded.plates, received_at = excluded.received_at, manufactured_on = excluded.manufactured_on, overhauled_on = excluded.overhauled_on, brought_odometer = excluded.brought_odometer, brought_running_hours = excluded.brought_running_hours, brought_compressor_hours = excluded.brought_compressor_hours, overhaul_odometer = excluded.overhaul_odometer, overhaul_running_hours = excluded.overhaul_running_hours, overhaul_compressor_hours = excluded.overhaul_compressor_hours, certificate = excluded.certificate, withdrawn_by = excluded.withdrawn_by, batch = excluded.batch");
                    query.build().execute(&mut *conn).await.map(drop)
                })?;
    }
    let taken_out = dossier.changes.taken_out.keys();
    for record in taken_out.filter_map(|component| dossier.components.get(component)) {
        on!(tx, conn => sqlx::query(NOT_DUE).bind(record.id.0).execute(conn).await.map(drop))?;
    }
    Ok(())
}

pub(super) async fn put_fitments(
    tx: &mut Tx,
    dossier: &Dossier,
    changed: &BTreeSet<FitmentId>,
    write: Write,
) -> Result<(), StoreError> {
    supersede(tx, changed, &PLACES_ON_CARS, write).await?;
    let fitments: Vec<_> = changed
        .iter()
        .filter_map(|id| dossier.fitment(*id))
        .collect();
    for chunk in fitments.chunks(ROWS) {
        insert(tx, dossier, chunk, write).await?;
    }
    Ok(())
}

/// A table of fitments in two times: how what was learned in this very moment is deleted, and how
/// what was known is ended. Only the rows of now are marked by the meters.
pub(super) struct TwoTimes {
    pub(super) delete: &'static str,
    pub(super) end: &'static str,
}

const PLACES_ON_CARS: TwoTimes = TwoTimes {
    delete: "delete from fitment where known_until is null and known_from = ",
    end: "update fitment set from_odometer = null, from_running_hours = null, from_compressor_hours = null, until_odometer = null, until_running_hours = null, until_compressor_hours = null, known_until = ",
};

/// Ends what was known of fitments; what was learned in this very moment is replaced.
pub(super) async fn supersede(
    tx: &mut Tx,
    changed: &BTreeSet<FitmentId>,
    table: &TwoTimes,
    write: Write,
) -> Result<(), StoreError> {
    let now = At(write.recorded_at);
    let known = changed.iter().filter(|id| id.is_before(write.first));
    let known: Vec<i64> = known.map(|id| id.0).collect();
    for chunk in known.chunks(ROWS) {
        for (statement, conditions) in [
            (table.delete, " and id in ("),
            (table.end, " where known_until is null and id in ("),
        ] {
            on!(tx, conn => {
                let mut query = QueryBuilder::new(statement);
                query.push_bind(now).push(conditions);
                let mut list = query.separated(", ");
                for id in chunk {
                    list.push_bind(*id);
                }
                query.push(")");
                query.build().execute(&mut *conn).await.map(drop)
            })?;
        }
    }
    Ok(())
}

async fn insert(
    tx: &mut Tx,
    dossier: &Dossier,
    fitments: &[&Fitment],
    write: Write,
) -> Result<(), StoreError> {
    let component = |fitment: &Fitment| dossier.components.get(&fitment.component).map(|c| c.id.0);
    let car = |fitment: &Fitment| dossier.cars.get(&fitment.at.car).map(|car| car.id.0);
    on!(tx, conn => {
        let mut query = QueryBuilder::new("insert into fitment (id, known_from, component_id, car_id, position, from_at, fitted_by, from_location, until_at, removed_by, removal_reason, removed_to, from_odometer, from_running_hours, from_compressor_hours, until_odometer, until_running_hours, until_compressor_hours) ");
        query.push_values(fitments, |mut row, fitment| {
            let end = fitment.end.as_ref();
            row.push_bind(fitment.id.0)
                .push_bind(At(write.recorded_at))
                .push_bind(component(fitment))
                .push_bind(car(fitment))
                .push_bind(fitment.at.position.as_str())
                .push_bind(At(fitment.from))
                .push_bind(fitment.fitted_by.0)
                .push_bind(fitment.from_location.as_ref().map(LocationName::as_str))
                .push_bind(end.map(|end| At(end.at)))
                .push_bind(end.map(|end| end.by.0))
                .push_bind(end.and_then(|end| end.reason).map(RemovalReason::name))
                .push_bind(end.and_then(|end| end.to.as_ref()).map(LocationName::as_str));
            for amount in columns(&fitment.meters_from).into_iter().chain(columns(&fitment.meters_until)) {
                row.push_bind(amount);
            }
        });
        query.build().execute(&mut *conn).await.map(drop)
    })?;
    Ok(())
}
