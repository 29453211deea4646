//! Evidence holds in force, now or at a time, and those that were lifted.

use super::{AsAt, View};
use crate::column::At;
use crate::connect::Tx;
use crate::connect::on;
use crate::dossier::holds::{HOLD_COLUMNS, HOLDS_FROM, HoldRow, signs_in};
use crate::error::StoreError;
use crate::row::{Both, parsed, row};
use domain::configuration::component::ComponentRef;
use domain::identity::{CarNumber, PersonName};
use domain::ledger::dossier::HoldRecord;
use domain::ledger::dossier::{HeldNow, HoldsInForce};
use domain::ledger::entry::Seq;
use domain::time::Instant;
use sqlx::QueryBuilder;
use std::collections::BTreeSet;

/// Holds that were lifted, on one page of the list.
pub const LIFTED_PAGE: usize = 50;

row!(InsideRow {
    inner_part: Option<String>,
    inner_serial: Option<String>,
});

row!(HeldRow {
    component_id: Option<i64>
});

const LAST_LIFTED: &str = "select max(lifted_at) from evidence_hold where lifted_at is not null";

/// The entries by which a hold was set and lifted; which of them, is said next.
const AND_LEDGER: &str = " join ledger on ledger.seq = evidence_hold.id left join ledger lifting on lifting.seq = evidence_hold.lifted_by where ";

/// Ends what was said of which holds, and narrows them to those in force at a time, as known at one.
macro_rules! held_at {
    ($query:expr, $as_at:expr) => {
        let AsAt { effective, known } = $as_at;
        $query
            .push(") and evidence_hold.since <= ")
            .push_bind(At(effective));
        $query
            .push(" and ledger.recorded_at <= ")
            .push_bind(At(known));
        $query
            .push(" and (lifting.seq is null or lifting.recorded_at > ")
            .push_bind(At(known));
        $query
            .push(" or evidence_hold.lifted_at > ")
            .push_bind(At(effective));
        $query.push(") order by evidence_hold.since, evidence_hold.id");
    };
}

/// All holds in force, each with what is inside what it holds: two statements, linear in both.
pub(crate) async fn in_force(tx: &mut Tx) -> Result<HoldsInForce, StoreError> {
    let rows: Vec<Both<HoldRow, InsideRow>> = on!(tx, conn => {
        let mut query = QueryBuilder::new("with recursive inside (hold_id, id) as (
            select evidence_hold.id, inner_fitment.component_id from evidence_hold cross join inner_fitment
                where evidence_hold.lifted_at is null and inner_fitment.host_id = evidence_hold.component_id
                and inner_fitment.until_at is null and inner_fitment.known_until is null
            union select inside.hold_id, inner_fitment.component_id from inside cross join inner_fitment
                where inner_fitment.host_id = inside.id and inner_fitment.until_at is null and inner_fitment.known_until is null)
            select within.part as inner_part, within.serial as inner_serial, ");
        query.push(HOLD_COLUMNS).push(HOLDS_FROM);
        query.push(" left join inside on inside.hold_id = evidence_hold.id left join component within on within.id = inside.id
            where evidence_hold.lifted_at is null order by evidence_hold.since, evidence_hold.id");
        query.build_query_as().fetch_all(conn).await
    })?;
    let last: Option<At> = on!(tx, conn => sqlx::query_scalar(LAST_LIFTED).fetch_one(conn).await)?;
    let mut all = HoldsInForce {
        holds: Vec::new(),
        last_lifted: last.map(|at| at.0),
    };
    for Both(hold, inside) in rows {
        let id = Seq(hold.id);
        if all.holds.last().is_none_or(|last| last.hold.id != id) {
            all.holds.push(HeldNow {
                hold: hold.record()?,
                inside: BTreeSet::new(),
            });
        }
        if let (Some(part), Some(serial), Some(held)) = (
            &inside.inner_part,
            &inside.inner_serial,
            all.holds.last_mut(),
        ) {
            held.inside.insert(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            });
        }
    }
    Ok(all)
}

impl View {
    /// Holds that were lifted, last lifted first, after one of them; one more than a page where
    /// there are more.
    pub async fn holds_lifted(
        &mut self,
        after: Option<(Instant, Seq)>,
    ) -> Result<Vec<HoldRecord>, StoreError> {
        let rows: Vec<HoldRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(HOLD_COLUMNS).push(HOLDS_FROM);
            query.push(" where evidence_hold.lifted_at is not null");
            if let Some((at, id)) = after {
                query.push(" and (evidence_hold.lifted_at, evidence_hold.id) < (");
                query.push_bind(At(at)).push(", ").push_bind(id.0).push(")");
            }
            query.push(" order by evidence_hold.lifted_at desc, evidence_hold.id desc limit ");
            query.push_bind(super::cars::limit(LIFTED_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(HoldRow::record).collect();
        Ok(records?)
    }

    /// The holds on cars and on what was on them that were in force at a time, as known at one.
    pub async fn holds_on_cars_at(
        &mut self,
        cars: &[Seq],
        as_at: AsAt,
    ) -> Result<Vec<HoldRecord>, StoreError> {
        if !self.ever_held || cars.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<HoldRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(HOLD_COLUMNS).push(HOLDS_FROM).push(AND_LEDGER).push("(1 = 0");
            for car in cars {
                query.push(" or evidence_hold.held_car_id = ").push_bind(car.0);
                query.push(" or evidence_hold.on_car_id = ").push_bind(car.0);
            }
            held_at!(query, as_at);
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(HoldRow::record).collect();
        Ok(records?)
    }

    /// The holds on some components, and on the car that they were on, that were in force at a
    /// time, as known at one.
    pub async fn holds_of_components_at(
        &mut self,
        (components, car): (&[&ComponentRef], Option<&CarNumber>),
        as_at: AsAt,
    ) -> Result<Vec<HoldRecord>, StoreError> {
        if !self.ever_held {
            return Ok(Vec::new());
        }
        let rows: Vec<HoldRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(HOLD_COLUMNS).push(HOLDS_FROM).push(AND_LEDGER).push("(1 = 0");
            for component in components {
                query.push(" or (component.part = ").push_bind(component.part.as_str());
                query.push(" and component.serial = ").push_bind(component.serial.as_str());
                query.push(")");
            }
            if let Some(car) = car {
                query.push(" or held_car.number = ").push_bind(car.as_str());
            }
            held_at!(query, as_at);
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(HoldRow::record).collect();
        Ok(records?)
    }

    /// All holds that were in force at a time, as known at one, first set first. One statement, linear in
    /// all holds that were ever set.
    pub async fn holds_at(&mut self, as_at: AsAt) -> Result<Vec<HoldRecord>, StoreError> {
        let holds = self.holds_and_components_at(as_at).await?;
        Ok(holds.into_iter().map(|(hold, _)| hold).collect())
    }

    /// The same, each with what was inside what it holds then. One statement more where a component was
    /// held.
    pub async fn held_at(&mut self, as_at: AsAt) -> Result<Vec<HeldNow>, StoreError> {
        let holds = self.holds_and_components_at(as_at).await?;
        let components = holds.iter().filter_map(|(_, component)| *component);
        let components: Vec<Seq> = components.collect();
        let inside = self.inside_then(&components, as_at).await?;
        let of = |component: Option<Seq>| inside.get(&component?).cloned();
        let held = holds.into_iter().map(|(hold, component)| HeldNow {
            hold,
            inside: of(component).unwrap_or_default(),
        });
        Ok(held.collect())
    }

    /// The holds of a time, each with the component that it holds if it holds one.
    async fn holds_and_components_at(
        &mut self,
        as_at: AsAt,
    ) -> Result<Vec<(HoldRecord, Option<Seq>)>, StoreError> {
        if !self.ever_held {
            return Ok(Vec::new());
        }
        let rows: Vec<Both<HoldRow, HeldRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select evidence_hold.component_id, ");
            query.push(HOLD_COLUMNS).push(HOLDS_FROM).push(AND_LEDGER).push("(1 = 1");
            held_at!(query, as_at);
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut holds = Vec::with_capacity(rows.len());
        for Both(hold, held) in rows {
            holds.push((hold.record()?, held.component_id.map(Seq)));
        }
        Ok(holds)
    }

    /// One hold, in force or lifted.
    pub async fn hold(&mut self, id: Seq) -> Result<Option<HoldRecord>, StoreError> {
        let row: Option<HoldRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(HOLD_COLUMNS).push(HOLDS_FROM);
            query.push(" where evidence_hold.id = ").push_bind(id.0);
            query.build_query_as().fetch_optional(conn).await
        })?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// Whether a person has an account that is in use. One statement.
    pub async fn signs_in(&mut self, name: &PersonName) -> Result<bool, StoreError> {
        signs_in(&mut self.tx, name).await
    }
}
