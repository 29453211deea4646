//! Both sides of entries that move components from one position to another: a move, a swap, a
//! component robbed for another car.

use super::View;
use crate::connect::on;
use crate::dossier::KEYS;
use crate::error::StoreError;
use crate::row::{parsed, row};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::configuration::host::{Host, HostPosition};
use domain::ledger::dossier::{FitmentId, Which};
use domain::ledger::entry::Seq;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

/// One component that an entry moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// The component.
    pub component: ComponentRef,
    /// The position that it left; none where it came from a location.
    pub from: Option<HostPosition>,
    /// Where it went.
    pub to: HostPosition,
}

row!(SideRow {
    entry: i64,
    begun: i64,
    part: String,
    serial: String,
    car: Option<String>,
    host_part: Option<String>,
    host_serial: Option<String>,
    position: String,
});

impl SideRow {
    fn at(&self) -> Result<HostPosition, sqlx::Error> {
        let position = parsed(&self.position)?;
        if let (Some(part), Some(serial)) = (&self.host_part, &self.host_serial) {
            let assembly = ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            };
            let host = Host::Assembly(assembly);
            return Ok(HostPosition { host, position });
        }
        let car = parsed(self.car.as_deref().unwrap_or_default())?;
        Ok(PositionRef { car, position }.into())
    }

    fn component(&self) -> Result<ComponentRef, sqlx::Error> {
        Ok(ComponentRef {
            part: parsed(&self.part)?,
            serial: parsed(&self.serial)?,
        })
    }
}

/// What entries began, by the numbers of their fitments, and what of the same components they
/// ended. Fitments through assemblies have numbers beyond those that entries give.
const SIDES: &str = "), begun (entry, component_id, car_id, host_id, position, known_from) as (
    select wanted.entry, fitment.component_id, fitment.car_id, cast(null as bigint), fitment.position, fitment.known_from
        from wanted cross join fitment where fitment.id = wanted.id
    union all
    select wanted.entry, inner_fitment.component_id, cast(null as bigint), inner_fitment.host_id, inner_fitment.position, inner_fitment.known_from
        from wanted cross join inner_fitment where inner_fitment.id = wanted.id),
    side (entry, begun, component_id, car_id, host_id, position, known_from) as (
    select entry, cast(1 as bigint), component_id, car_id, host_id, position, known_from from begun
    union all
    select begun.entry, cast(0 as bigint), begun.component_id, fitment.car_id, cast(null as bigint), fitment.position, fitment.known_from
        from begun cross join fitment where fitment.component_id = begun.component_id and fitment.removed_by = begun.entry and fitment.id < 2147483648
    union all
    select begun.entry, cast(0 as bigint), begun.component_id, cast(null as bigint), inner_fitment.host_id, inner_fitment.position, inner_fitment.known_from
        from begun cross join inner_fitment where inner_fitment.component_id = begun.component_id and inner_fitment.removed_by = begun.entry)
    select side.entry, side.begun, component.part, component.serial, car.number as car, host.part as host_part, host.serial as host_serial, side.position
        from side cross join component left join car_ever car on car.id = side.car_id left join component host on host.id = side.host_id
        where component.id = side.component_id order by side.entry, side.begun, side.known_from, component.id";

impl View {
    /// The components that entries put at positions, with the positions that they left: also of
    /// entries that no longer hold. One statement; cost grows with the lives of those components.
    pub async fn sides(&mut self, entries: &[Seq]) -> Result<BTreeMap<Seq, Vec<Side>>, StoreError> {
        let wanted: Vec<(Seq, FitmentId)> = entries
            .iter()
            .flat_map(|&entry| {
                [Which::First, Which::Second].map(|which| (entry, FitmentId::of(entry, which)))
            })
            .take(KEYS)
            .collect();
        let mut sides: BTreeMap<Seq, Vec<Side>> = BTreeMap::new();
        if wanted.is_empty() {
            return Ok(sides);
        }
        let rows: Vec<SideRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with wanted (entry, id) as (");
            query.push_values(&wanted, |mut row, (entry, id)| {
                row.push_bind(entry.0).push_bind(id.0);
            });
            query.push(SIDES);
            query.build_query_as().fetch_all(conn).await
        })?;
        for row in rows.iter().filter(|row| row.begun == 1) {
            let (component, to) = (row.component()?, row.at()?);
            let of = sides.entry(Seq(row.entry)).or_default();
            of.retain(|side| side.component != component);
            of.push(Side {
                component,
                from: None,
                to,
            });
        }
        for row in rows.iter().filter(|row| row.begun == 0) {
            let component = row.component()?;
            let of = sides.entry(Seq(row.entry)).or_default().iter_mut();
            for side in of.filter(|side| side.component == component) {
                side.from = Some(row.at()?);
            }
        }
        Ok(sides)
    }
}
