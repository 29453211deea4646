//! Evidence holds as kept.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::KEYS;
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::configuration::component::{ComponentRef, PositionRef, RemovalReason};
use domain::configuration::held::Held;
use domain::identity::PersonName;
use domain::ledger::dossier::{Dossier, HoldRecord, HoldsInForce};
use domain::ledger::entry::Seq;
use domain::ledger::touches::Touched;
use sqlx::QueryBuilder;

row!(
    /// A hold.
    HoldRow {
        id: i64,
        part: Option<String>,
        serial: Option<String>,
        held_car: Option<String>,
        held_entry: Option<i64>,
        investigation: String,
        set_by: String,
        since: At,
        on_car: Option<String>,
        position: Option<String>,
        lifted_at: Option<At>,
        lifted_by: Option<i64>,
    }
);

/// The columns of [`HoldRow`].
pub(crate) const HOLD_COLUMNS: &str = "evidence_hold.id, component.part, component.serial, held_car.number as held_car, evidence_hold.held_entry, evidence_hold.investigation, evidence_hold.set_by, evidence_hold.since, on_car.number as on_car, evidence_hold.position, evidence_hold.lifted_at, evidence_hold.lifted_by";
/// Where they come from.
pub(crate) const HOLDS_FROM: &str = " from evidence_hold
    left join component on component.id = evidence_hold.component_id
    left join car_ever held_car on held_car.id = evidence_hold.held_car_id
    left join car_ever on_car on on_car.id = evidence_hold.on_car_id";

impl HoldRow {
    /// The hold as the core has it.
    pub(crate) fn record(&self) -> Result<HoldRecord, sqlx::Error> {
        let held = match (&self.part, &self.serial, &self.held_car, self.held_entry) {
            (Some(part), Some(serial), None, None) => Held::Component(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            }),
            (None, None, Some(car), None) => Held::Car(parsed(car)?),
            (None, None, None, Some(entry)) => Held::Entry(Seq(entry)),
            _ => return Err(sqlx::Error::Decode("a hold holds one thing".into())),
        };
        let on_car = match (&self.on_car, &self.position) {
            (Some(car), Some(position)) => Some(PositionRef {
                car: parsed(car)?,
                position: parsed(position)?,
            }),
            _ => None,
        };
        Ok(HoldRecord {
            id: Seq(self.id),
            held,
            investigation: self.investigation.clone(),
            by: parsed(&self.set_by)?,
            since: self.since.0,
            on_car,
            lifted: self
                .lifted_at
                .zip(self.lifted_by)
                .map(|(at, by)| (at.0, Seq(by))),
        })
    }
}

/// Takes the holds in force from what the server knows, or loads them, with those that were lifted
/// after the earliest moment that matters, and of what came off as evidence all that there were. Now
/// is the moment as a rule, nothing came off so, and nothing is asked.
pub(super) async fn load_holds(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
    known: Option<&HoldsInForce>,
) -> Result<(), StoreError> {
    load_in_force(tx, dossier, touched, known).await?;
    let evidence = dossier.components.values().filter(|record| {
        let came_off = dossier.came_off(&record.component);
        came_off.is_some_and(|end| end.reason == Some(RemovalReason::Evidence))
    });
    let ids: Vec<i64> = evidence.map(|record| record.id.0).collect();
    for chunk in ids.chunks(KEYS) {
        let rows: Vec<HoldRow> = on!(tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(HOLD_COLUMNS).push(HOLDS_FROM);
            query.push(" where evidence_hold.component_id in (");
            let mut list = query.separated(", ");
            for id in chunk {
                list.push_bind(*id);
            }
            query.push(")");
            query.build_query_as().fetch_all(&mut *conn).await
        })?;
        for row in rows {
            let record = row.record()?;
            dossier.holds.insert(record.id, record);
        }
    }
    Ok(())
}

/// The holds in force, and those that were lifted after the earliest moment that matters.
async fn load_in_force(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
    known: Option<&HoldsInForce>,
) -> Result<(), StoreError> {
    let Some(earliest) = touched.earliest else {
        return Ok(());
    };
    if let Some(known) = known {
        let in_force = known.holds.iter().map(|held| &held.hold);
        dossier
            .holds
            .extend(in_force.map(|hold| (hold.id, hold.clone())));
        if known.last_lifted.is_none_or(|last| last <= earliest) {
            return Ok(());
        }
    }
    let rows: Vec<HoldRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select ");
        query.push(HOLD_COLUMNS).push(HOLDS_FROM);
        query.push(" where evidence_hold.lifted_at is null or evidence_hold.lifted_at > ");
        query.push_bind(At(earliest));
        query.build_query_as().fetch_all(&mut *conn).await
    })?;
    for row in rows {
        let record = row.record()?;
        dossier.holds.insert(record.id, record);
    }
    Ok(())
}

/// Who can sign in of those who set the holds that are proposed to be lifted: none or one.
pub(super) async fn load_setters(
    tx: &mut Tx,
    dossier: &mut Dossier,
    touched: &Touched,
) -> Result<(), StoreError> {
    for hold in &touched.lifted_by_two {
        let Some(record) = dossier.holds.get(hold) else {
            continue;
        };
        if signs_in(tx, &record.by).await? {
            dossier.there.insert(record.by.clone());
        }
    }
    Ok(())
}

/// Whether a person has an account that is in use. One statement.
pub(crate) async fn signs_in(tx: &mut Tx, name: &PersonName) -> Result<bool, StoreError> {
    let accounts: i64 = on!(tx, conn => sqlx::query_scalar(
        "select count(*) from account where name = $1 and state = 'active'",
    )
    .bind(name.as_str())
    .fetch_one(&mut *conn)
    .await)?;
    Ok(accounts > 0)
}
