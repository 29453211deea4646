//! Components and fitments as kept.

use super::KEYS;
use crate::column::{At, On};
use crate::connect::{Tx, on};
use crate::error::StoreError;
use crate::row::{from_json, parsed, parsed_option, row};
use crate::shape::padded;
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::configuration::location::{Kept, Sent};
use domain::ledger::dossier::{
    ComponentRecord, Dossier, Fitment, FitmentEnd, FitmentId, MeterValues,
};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Brought;
use domain::units::Amount;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

/// The character that sorts after all others, by which a range of beginnings ends.
pub(crate) const LAST: char = char::MAX;

row!(
    /// A component.
    ComponentRow {
        id: i64,
        part: String,
        serial: String,
        received_at: At,
        condition: String,
        location: Option<String>,
        bound_for: Option<String>,
        expected_on: Option<On>,
        since: At,
        since_by: i64,
        manufactured_on: Option<On>,
        overhauled_on: Option<On>,
        brought_odometer: Option<i64>,
        brought_running_hours: Option<i64>,
        brought_compressor_hours: Option<i64>,
        overhaul_odometer: Option<i64>,
        overhaul_running_hours: Option<i64>,
        overhaul_compressor_hours: Option<i64>,
        certificate: Option<String>,
        modification_state: Option<String>,
        plates: Option<String>,
        batch: Option<String>,
    }
);

/// The columns of [`ComponentRow`].
pub(crate) const COMPONENT_COLUMNS: &str = "component.id, component.part, component.serial, component.received_at, component.condition, component.location, component.bound_for, component.expected_on, component.since, component.since_by, component.manufactured_on, component.overhauled_on, component.brought_odometer, component.brought_running_hours, component.brought_compressor_hours, component.overhaul_odometer, component.overhaul_running_hours, component.overhaul_compressor_hours, component.certificate, component.modification_state, component.plates, component.batch";

impl ComponentRow {
    /// The component as the core has it.
    pub(crate) fn record(&self) -> Result<ComponentRecord, sqlx::Error> {
        Ok(ComponentRecord {
            id: Seq(self.id),
            component: ComponentRef {
                part: parsed(&self.part)?,
                serial: parsed(&self.serial)?,
            },
            received_at: self.received_at.0,
            condition: parsed(&self.condition)?,
            kept: kept(
                (self.location.as_deref(), self.bound_for.as_deref()),
                self.expected_on,
            )?,
            since: self.since.0,
            since_by: Seq(self.since_by),
            manufactured_on: self.manufactured_on.map(|day| day.0),
            overhauled_on: self.overhauled_on.map(|day| day.0),
            brought: Brought {
                odometer: self.brought_odometer.map(Amount),
                running_hours: self.brought_running_hours.map(Amount),
                compressor_hours: self.brought_compressor_hours.map(Amount),
            },
            since_overhaul: Brought {
                odometer: self.overhaul_odometer.map(Amount),
                running_hours: self.overhaul_running_hours.map(Amount),
                compressor_hours: self.overhaul_compressor_hours.map(Amount),
            },
            certificate: self.certificate.clone(),
            modification: parsed_option(self.modification_state.as_deref())?,
            batch: parsed_option(self.batch.as_deref())?,
            plates: match &self.plates {
                Some(text) => from_json(text)?,
                None => Vec::new(),
            },
        })
    }
}

/// Where a component is while it is not fitted, as kept.
pub(super) fn kept(
    (location, bound_for): (Option<&str>, Option<&str>),
    expected_on: Option<On>,
) -> Result<Option<Kept>, sqlx::Error> {
    let Some(location) = parsed_option(location)? else {
        return Ok(None);
    };
    Ok(Some(Kept {
        location,
        sent: Sent {
            bound_for: parsed_option(bound_for)?,
            expected_on: expected_on.map(|day| day.0),
        },
    }))
}

/// Three columns, in the order of the meters' numbers, as amounts.
pub(crate) fn amounts(
    [odometer, running_hours, compressor_hours]: [Option<i64>; 3],
) -> MeterValues {
    MeterValues {
        odometer: odometer.map(Amount),
        running_hours: running_hours.map(Amount),
        compressor_hours: compressor_hours.map(Amount),
    }
}

/// Amounts as three columns, in the order of the meters' numbers.
pub(crate) fn columns(values: &MeterValues) -> [Option<i64>; 3] {
    let column = |amount: Option<Amount>| amount.map(|amount| amount.0);
    [
        column(values.odometer),
        column(values.running_hours),
        column(values.compressor_hours),
    ]
}

row!(
    /// A fitment as known now, with the names of its component and car.
    FitmentRow {
        id: i64,
        part: String,
        serial: String,
        car: String,
        position: String,
        from_at: At,
        fitted_by: i64,
        from_location: Option<String>,
        until_at: Option<At>,
        removed_by: Option<i64>,
        removal_reason: Option<String>,
        removed_to: Option<String>,
        from_odometer: Option<i64>,
        from_running_hours: Option<i64>,
        from_compressor_hours: Option<i64>,
        until_odometer: Option<i64>,
        until_running_hours: Option<i64>,
        until_compressor_hours: Option<i64>,
    }
);

/// The columns of [`FitmentRow`], from `fitment`, `component` and `car`.
pub(crate) const FITMENT_COLUMNS: &str = "fitment.id, component.part, component.serial, car.number as car, fitment.position, fitment.from_at, fitment.fitted_by, fitment.from_location, fitment.until_at, fitment.removed_by, fitment.removal_reason, fitment.removed_to, fitment.from_odometer, fitment.from_running_hours, fitment.from_compressor_hours, fitment.until_odometer, fitment.until_running_hours, fitment.until_compressor_hours";

impl FitmentRow {
    /// The fitment as the core has it.
    pub(crate) fn fitment(&self) -> Result<Fitment, sqlx::Error> {
        let end = match (self.until_at, self.removed_by) {
            (Some(at), Some(by)) => Some(FitmentEnd {
                at: at.0,
                by: Seq(by),
                reason: parsed_option(self.removal_reason.as_deref())?,
                to: parsed_option(self.removed_to.as_deref())?,
            }),
            _ => None,
        };
        Ok(Fitment {
            id: FitmentId(self.id),
            component: ComponentRef {
                part: parsed(&self.part)?,
                serial: parsed(&self.serial)?,
            },
            at: PositionRef {
                car: parsed(&self.car)?,
                position: parsed(&self.position)?,
            },
            from: self.from_at.0,
            fitted_by: Seq(self.fitted_by),
            from_location: parsed_option(self.from_location.as_deref())?,
            end,
            meters_from: amounts([
                self.from_odometer,
                self.from_running_hours,
                self.from_compressor_hours,
            ]),
            meters_until: amounts([
                self.until_odometer,
                self.until_running_hours,
                self.until_compressor_hours,
            ]),
        })
    }
}

/// Which components are loaded with those that are wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Reach {
    /// No others.
    Alone,
    /// All that was ever inside them, and all that any of these was ever inside.
    Assemblies,
}

impl Reach {
    /// The components reached from a table `wanted (part, serial)`, as a table `reached (id)`.
    fn reached(self) -> &'static str {
        match self {
            Self::Alone => "), reached (id) as (
                select component.id from wanted cross join component
                    where component.part = wanted.part and component.serial = wanted.serial and component.withdrawn_by = 0)",
            Self::Assemblies => "), contents (id) as (
                select component.id from wanted cross join component
                    where component.part = wanted.part and component.serial = wanted.serial and component.withdrawn_by = 0
                union select inner_fitment.component_id from contents cross join inner_fitment
                    where inner_fitment.host_id = contents.id and inner_fitment.known_until is null),
            reached (id) as (
                select id from contents
                union select inner_fitment.host_id from reached cross join inner_fitment
                    where inner_fitment.component_id = reached.id and inner_fitment.known_until is null)",
        }
    }
}

/// Loads components with all their places on cars as known now.
pub(crate) async fn load_components(
    tx: &mut Tx,
    dossier: &mut Dossier,
    wanted: &BTreeSet<ComponentRef>,
    reach: Reach,
) -> Result<(), StoreError> {
    let wanted: Vec<&ComponentRef> = wanted.iter().collect();
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<ComponentRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with recursive wanted (part, serial) as (");
            query.push_values(padded(chunk), |mut row, component| {
                row.push_bind(component.map(|component| component.part.as_str()))
                    .push_bind(component.map(|component| component.serial.as_str()));
            });
            query.push(reach.reached()).push(" select ").push(COMPONENT_COLUMNS);
            query.push(" from reached cross join component where component.id = reached.id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        let ids: BTreeSet<i64> = rows.iter().map(|row| row.id).collect();
        let ids: Vec<i64> = ids.into_iter().collect();
        for row in rows {
            let record = row.record()?;
            dossier.components.insert(record.component.clone(), record);
        }
        load_fitments_of(tx, dossier, &ids).await?;
    }
    Ok(())
}

/// Loads the fitments of components by id, as known now.
pub(crate) async fn load_fitments_of(
    tx: &mut Tx,
    dossier: &mut Dossier,
    ids: &[i64],
) -> Result<(), StoreError> {
    for chunk in ids.chunks(KEYS) {
        let rows: Vec<FitmentRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (id) as (");
            query.push_values(padded(chunk), |mut row, id| {
                row.push_bind(id.copied());
            });
            query.push(") select ").push(FITMENT_COLUMNS);
            query.push(" from wanted cross join fitment cross join component cross join car where fitment.component_id = wanted.id and fitment.known_until is null and component.id = fitment.component_id and car.id = fitment.car_id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            dossier.load_fitment(row.fitment()?);
        }
    }
    Ok(())
}

/// Loads all that was at positions of cars, as known now; where they may hold assemblies, also
/// all that was at places whose code begins with theirs.
pub(super) async fn load_positions(
    tx: &mut Tx,
    dossier: &mut Dossier,
    wanted: &BTreeSet<PositionRef>,
    reach: Reach,
) -> Result<(), StoreError> {
    let wanted: Vec<&PositionRef> = wanted.iter().collect();
    let last = |at: &PositionRef| match reach {
        Reach::Alone => at.position.to_string(),
        Reach::Assemblies => format!("{}{LAST}", at.position),
    };
    for chunk in wanted.chunks(KEYS) {
        let rows: Vec<FitmentRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (car, position, last) as (");
            query.push_values(chunk, |mut row, at| {
                row.push_bind(at.car.as_str()).push_bind(at.position.as_str()).push_bind(last(at));
            });
            query.push(") select ").push(FITMENT_COLUMNS);
            query.push(" from wanted cross join car cross join fitment cross join component where car.number = wanted.car and fitment.car_id = car.id and fitment.position >= wanted.position and fitment.position <= wanted.last and fitment.known_until is null and component.id = fitment.component_id");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            dossier.load_fitment(row.fitment()?);
        }
    }
    Ok(())
}
