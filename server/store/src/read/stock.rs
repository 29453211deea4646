//! Lists of components: by serial number, by location, by batch, and what is in stock for a position.

use super::as_known::known_at;
use super::cars::limit;
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::dossier::components::{COMPONENT_COLUMNS, ComponentRow, LAST};
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::{
    Batch, LocationName, PartNumber, PositionCode, SerialNumber, fold, fold_misread,
};
use domain::ledger::dossier::ComponentRecord;
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::{BTreeMap, BTreeSet};

/// Components on one page of a list.
pub const COMPONENTS_PAGE: usize = 60;
/// The most components that are away and listed.
pub const AWAY_MAX: usize = 200;
/// The most locations that are named.
const LOCATIONS_MAX: i64 = 500;
/// The most locations that are looked through for what is away.
const AWAY_LOCATIONS_MAX: usize = 500;
/// The most components in stock that are looked at for a position.
const LOOKED_AT_MAX: i64 = 60;

/// One step from each location to the next by the index, so that the cost grows with the
/// locations and not with what they hold.
const LOCATIONS: &str = "with recursive place (name) as (
    select min(location) from component where location is not null
    union all
    select (select min(component.location) from component where component.location > place.name)
    from place where place.name is not null)
    select name from place where name is not null limit $1";

/// The first components by their serial numbers, and by other plates: each is a stretch of an index.
const FIRST_OF: [&str; 2] = [
    "select id from (select id from component where withdrawn_by = 0 and folded >= ",
    "select component_id from (select component_id from plate where folded >= ",
];

row!(FilledRow {
    root_id: i64,
    host_id: i64,
    part: String,
    position: Option<String>,
});

/// What is filled inside an assembly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filled {
    /// The part of the assembly.
    pub part: PartNumber,
    /// The positions inside it that hold something.
    pub positions: BTreeSet<PositionCode>,
}

fn records(rows: &[ComponentRow]) -> Result<Vec<ComponentRecord>, StoreError> {
    let records: Result<Vec<_>, _> = rows.iter().map(ComponentRow::record).collect();
    Ok(records?)
}

impl View {
    /// Components whose serial number, or that of a plate they bore, folds to what was typed.
    pub async fn components_by_serial(
        &mut self,
        typed: &str,
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.id in (select id from component where withdrawn_by = 0 and folded = ");
            query.push_bind(fold(typed)).push(" union select component_id from plate where folded = ");
            query.push_bind(fold(typed)).push(") order by component.part, component.serial limit ");
            query.push_bind(limit(COMPONENTS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// Components whose serial number is what was typed where O is taken for 0 and I for 1, of any
    /// part. A read of an index made for that.
    pub async fn components_misread(
        &mut self,
        typed: &str,
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.withdrawn_by = 0 and replace(replace(component.folded, 'O', '0'), 'I', '1') = ");
            query.push_bind(fold_misread(typed)).push(" order by component.part, component.serial limit ");
            query.push_bind(limit(COMPONENTS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// Components of a part that are not fitted, by location, condition and serial number, after
    /// one; one more than a page where there are more. A read of an index made for that.
    pub async fn stock_of(
        &mut self,
        part: &PartNumber,
        after: Option<(&LocationName, Condition, &SerialNumber)>,
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.location is not null and component.part = ");
            query.push_bind(part.as_str());
            if let Some((location, condition, serial)) = after {
                query.push(" and (component.location, component.condition, component.serial) > (");
                query.push_bind(location.as_str()).push(", ").push_bind(condition.name());
                query.push(", ").push_bind(serial.as_str()).push(")");
            }
            query.push(" order by component.location, component.condition, component.serial limit ");
            query.push_bind(limit(COMPONENTS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// Components whose serial number, or that of a plate they bore, begins with what was typed,
    /// both folded; one more than a
    /// page where there are more.
    pub async fn components_beginning(
        &mut self,
        typed: &str,
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        let from = fold(typed);
        let until = format!("{from}{LAST}");
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.id in (");
            for (n, first) in FIRST_OF.into_iter().enumerate() {
                query.push(if n == 0 { "" } else { " union " }).push(first);
                query.push_bind(from.clone()).push(" and folded < ").push_bind(until.clone());
                query.push(" order by folded, part limit ").push_bind(limit(COMPONENTS_PAGE)).push(") first");
            }
            query.push(")");
            query.push(" order by component.folded, component.part limit ");
            query.push_bind(limit(COMPONENTS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// Components kept at a location, by part and serial number, after one; one more than a
    /// page where there are more.
    pub async fn components_at(
        &mut self,
        location: &LocationName,
        after: Option<&ComponentRef>,
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.location = ");
            query.push_bind(location.as_str());
            if let Some(after) = after {
                query.push(" and (component.part, component.serial) > (").push_bind(after.part.as_str());
                query.push(", ").push_bind(after.serial.as_str()).push(")");
            }
            query.push(" order by component.part, component.serial limit ");
            query.push_bind(limit(COMPONENTS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// Components of a batch, of one part where it is given, wherever they are, by part and serial
    /// number, after one; one more than asked for where there are more. Cost: the items of the batch.
    pub async fn components_of_batch(
        &mut self,
        (batch, part): (&Batch, Option<&PartNumber>),
        (after, rows): (Option<&ComponentRef>, usize),
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component_state cross join component where component_state.batch_folded = ");
            query.push_bind(batch.folded()).push(" and component_state.known_until is null and component.id = component_state.component_id and component.withdrawn_by = 0");
            if let Some(part) = part {
                query.push(" and component.part = ").push_bind(part.as_str());
            }
            if let Some(after) = after {
                query.push(" and (component.part, component.serial) > (").push_bind(after.part.as_str());
                query.push(", ").push_bind(after.serial.as_str()).push(")");
            }
            query.push(" order by component.part, component.serial limit ");
            query.push_bind(limit(rows));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// Components kept at some locations, those first that are expected first and those last of
    /// which no day was told; one more than is listed where there are more. Reads all that is
    /// kept there, by the index of locations.
    pub async fn away(
        &mut self,
        locations: &[LocationName],
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        if locations.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.location in (");
            let mut list = query.separated(", ");
            for location in locations.iter().take(AWAY_LOCATIONS_MAX) {
                list.push_bind(location.as_str());
            }
            query.push(") order by component.expected_on is null, component.expected_on, component.part, component.serial limit ");
            query.push_bind(limit(AWAY_MAX));
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }

    /// The same as it was told. Three statements, and two for every four thousand components;
    /// linear in all that was ever there.
    pub async fn away_told(
        &mut self,
        locations: &[LocationName],
        as_at: AsAt,
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        if locations.is_empty() {
            return Ok(Vec::new());
        }
        let ids: Vec<i64> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select distinct component_state.component_id from component_state where component_state.location in (");
            let mut list = query.separated(", ");
            for location in locations.iter().take(AWAY_LOCATIONS_MAX) {
                list.push_bind(location.as_str());
            }
            query.push(") and component_state.since <= ").push_bind(At(as_at.effective));
            known_at!(query, "component_state", At(as_at.known));
            query.build_query_scalar().fetch_all(conn).await
        })?;
        let told = self.components_told(&ids, as_at).await?.into_values();
        let there = |one: &ComponentRecord| {
            let location = one.location();
            location.is_some_and(|location| locations.contains(location))
        };
        let mut away: Vec<ComponentRecord> = told.filter(there).collect();
        away.sort_by_key(|one| {
            let expected = one.kept.as_ref().and_then(|kept| kept.sent.expected_on);
            (expected.is_none(), expected, one.component.clone())
        });
        away.truncate(AWAY_MAX + 1);
        Ok(away)
    }

    /// All locations by name.
    pub async fn locations(&mut self) -> Result<Vec<LocationName>, StoreError> {
        let names: Vec<String> = on!(&mut self.tx, conn => sqlx::query_scalar(LOCATIONS).bind(LOCATIONS_MAX).fetch_all(conn).await)?;
        let locations: Result<Vec<_>, _> = names.iter().map(|name| parsed(name)).collect();
        Ok(locations?)
    }

    /// What is filled inside some components and inside what they hold, on all levels: of each
    /// component the assemblies, itself among them, each with its part and the positions that are
    /// filled. One statement, none where there are no components.
    pub async fn filled_inside(
        &mut self,
        components: &[Seq],
    ) -> Result<BTreeMap<Seq, BTreeMap<Seq, Filled>>, StoreError> {
        if components.is_empty() {
            return Ok(BTreeMap::new());
        }
        let rows: Vec<FilledRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with recursive inside (root_id, id) as (select id, id from component where id in (");
            let mut list = query.separated(", ");
            for component in components {
                list.push_bind(component.0);
            }
            query.push(") union select inside.root_id, inner_fitment.component_id from inside cross join inner_fitment where inner_fitment.host_id = inside.id and inner_fitment.until_at is null and inner_fitment.known_until is null) select inside.root_id, inside.id as host_id, component.part, inner_fitment.position from inside join component on component.id = inside.id left join inner_fitment on inner_fitment.host_id = inside.id and inner_fitment.until_at is null and inner_fitment.known_until is null");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut inside: BTreeMap<Seq, BTreeMap<Seq, Filled>> = BTreeMap::new();
        for row in rows {
            let hosts = inside.entry(Seq(row.root_id)).or_default();
            let part = parsed(&row.part)?;
            let host = hosts.entry(Seq(row.host_id)).or_insert_with(|| Filled {
                part,
                positions: BTreeSet::new(),
            });
            let position: Option<PositionCode> = parsed_option(row.position.as_deref())?;
            host.positions.extend(position);
        }
        Ok(inside)
    }

    /// Some serviceable components of these parts that are not fitted, oldest in the register
    /// first. Reads what is in stock of the parts.
    pub async fn in_stock(
        &mut self,
        parts: &[PartNumber],
    ) -> Result<Vec<ComponentRecord>, StoreError> {
        if parts.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<ComponentRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(COMPONENT_COLUMNS).push(" from component where component.location is not null and component.condition = ");
            query.push_bind(Condition::Serviceable.name()).push(" and component.part in (");
            let mut list = query.separated(", ");
            for part in parts {
                list.push_bind(part.as_str());
            }
            query.push(") order by component.received_at, component.id limit ").push_bind(LOOKED_AT_MAX);
            query.build_query_as().fetch_all(conn).await
        })?;
        records(&rows)
    }
}
