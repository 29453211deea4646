//! Cars that carry components of a part: by how their serial numbers begin, by their modification
//! state, or by the batch that they are of.

use super::{Carried, Carrying, CarryingCount, CarryingFilter};
use crate::column::At;
use crate::connect::on;
use crate::dossier::components::{FITMENT_COLUMNS, FitmentRow, LAST};
use crate::error::StoreError;
use crate::read::as_known::{holding_at, known_at};
use crate::read::cars::limit;
use crate::read::{AsAt, View};
use crate::row::{Both, parsed, parsed_option, row};
use domain::configuration::looked_for::{BatchSought, StateSought};
use domain::identity::{Batch, PartNumber, fold};
use domain::time::Instant;
use sqlx::QueryBuilder;

/// Components of a part that are looked for.
pub(super) struct Sought<'a> {
    pub(super) part: &'a PartNumber,
    pub(super) having: Having<'a>,
}

/// Which of them.
pub(super) enum Having<'a> {
    /// Those whose serial numbers, or those of plates that they bore, begin so.
    Serials(&'a str),
    /// Those in this modification state.
    State(&'a StateSought),
    /// Those of this batch.
    Batch(&'a BatchSought),
}

impl<'a> Sought<'a> {
    pub(super) fn serials(part: &'a PartNumber, begins: &'a str) -> Self {
        let having = Having::Serials(begins);
        Self { part, having }
    }

    pub(super) fn state(part: &'a PartNumber, state: &'a StateSought) -> Self {
        let having = Having::State(state);
        Self { part, having }
    }

    pub(super) fn batch(part: &'a PartNumber, batch: &'a BatchSought) -> Self {
        let having = Having::Batch(batch);
        Self { part, having }
    }

    /// The same, of what cannot be told; none where nothing is left untold.
    pub(super) fn untold(&self) -> Option<Self> {
        match self.having {
            Having::State(StateSought::Is(_)) => {
                Some(Self::state(self.part, &StateSought::NotKnown))
            }
            Having::Batch(BatchSought::Is(_)) => {
                Some(Self::batch(self.part, &BatchSought::NotKnown))
            }
            _ => None,
        }
    }
}

row!(CarOfRow {
    unit_number: Option<String>,
    fleet: String,
    depot: String
});

row!(CountRow {
    cars: i64,
    places: i64
});

/// From where, and which: the same for what is listed and for what is counted.
macro_rules! looked_for {
    ($query:expr, $sought:expr, $as_at:expr) => {
        let (effective, known) = (At($as_at.effective), At($as_at.known));
        if let Having::Batch(BatchSought::Is(batch)) = &$sought.having {
            // Of a component one receipt was known at a time, which says its batch.
            $query.push(" from component_state cross join component cross join fitment cross join car_ever car where component_state.batch_folded = ");
            $query.push_bind(batch.folded());
            known_at!($query, "component_state", known);
            $query.push(" and component.id = component_state.component_id and component.part = ");
        } else {
            $query.push(" from component cross join fitment cross join car_ever car where component.part = ");
        }
        $query.push_bind($sought.part.as_str());
        match &$sought.having {
            Having::Batch(BatchSought::Is(_)) => {}
            Having::Batch(BatchSought::NotKnown) => {
                $query.push(" and not exists (select 1 from component_state where component_state.component_id = component.id and component_state.batch_folded is not null");
                known_at!($query, "component_state", known);
                $query.push(")");
            }
            Having::Serials(begins) => {
                let begins = fold(begins);
                if !begins.is_empty() {
                    let until = format!("{begins}{LAST}");
                    $query.push(" and component.id in (select id from component where folded >= ");
                    $query.push_bind(begins.clone()).push(" and folded < ");
                    $query.push_bind(until.clone()).push(" and part = ");
                    $query.push_bind($sought.part.as_str());
                    $query.push(" union select component_id from plate where folded >= ");
                    $query.push_bind(begins).push(" and folded < ");
                    $query.push_bind(until).push(" and part = ");
                    $query.push_bind($sought.part.as_str());
                    // A plate has the number of the entry that told of it.
                    $query.push(" and id <= (select max(seq) from ledger where recorded_at <= ");
                    $query.push_bind(known).push("))");
                }
            }
            Having::State(state) => {
                // The last that was said of the state, in the order of what is said of components.
                $query.push(" and (select component_state.modification_state from component_state where component_state.component_id = component.id and component_state.modification_state is not null and component_state.since <= ");
                $query.push_bind(effective);
                known_at!($query, "component_state", known);
                $query.push(" order by component_state.since desc, case component_state.whereabouts when 'kept' then 0 when 'fitted' then 2 else 1 end desc, component_state.recorded_by desc limit 1)");
                match state {
                    StateSought::Is(state) => $query.push(" = ").push_bind(state.as_str()),
                    StateSought::NotKnown => $query.push(" is null"),
                };
            }
        }
        $query.push(" and fitment.component_id = component.id and car.id = fitment.car_id");
        holding_at!($query, "fitment", effective);
        known_at!($query, "fitment", known);
    };
}

impl View {
    /// The components that were on cars, by car and position; one more than asked for where there
    /// are more.
    pub(super) async fn components_carried(
        &mut self,
        sought: &Sought<'_>,
        filter: &CarryingFilter,
    ) -> Result<Vec<Carrying>, StoreError> {
        let rows: Vec<Both<FitmentRow, CarOfRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.unit_number, car.fleet, car.depot, ");
            query.push(FITMENT_COLUMNS);
            looked_for!(query, sought, filter.as_at);
            if let Some(after) = &filter.after {
                query.push(" and (car.number, fitment.position) > (").push_bind(after.car.as_str());
                query.push(", ").push_bind(after.position.as_str()).push(")");
            }
            query.push(" order by car.number, fitment.position limit ").push_bind(limit(filter.rows));
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut found = Vec::with_capacity(rows.len());
        for Both(fitment, car) in rows {
            let fitment = fitment.fitment()?;
            found.push(Carrying {
                at: fitment.at.clone(),
                unit: parsed_option(car.unit_number.as_deref())?,
                fleet: parsed(&car.fleet)?,
                depot: parsed(&car.depot)?,
                carried: Carried::Component(Box::new(fitment)),
            });
        }
        Ok(found)
    }

    /// Whether a receipt told of a component of a batch, as was known at a time. One statement, a read of
    /// an index.
    pub async fn knows_batch(
        &mut self,
        part: &PartNumber,
        batch: &Batch,
        known: Instant,
    ) -> Result<bool, StoreError> {
        let one: Option<i64> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select component.id from component_state cross join component where component_state.batch_folded = ");
            query.push_bind(batch.folded());
            known_at!(query, "component_state", At(known));
            query.push(" and component.id = component_state.component_id and component.part = ");
            query.push_bind(part.as_str());
            query.push(" and component.withdrawn_by not between 1 and (select max(seq) from ledger where recorded_at <= ");
            query.push_bind(At(known)).push(") limit 1");
            query.build_query_scalar().fetch_optional(conn).await
        })?;
        Ok(one.is_some())
    }

    /// Whether a component of a part that was in the register by what was known at a time ever bore a plate
    /// whose serial number, folded, begins so. One statement, a read of two indexes.
    pub async fn knows_serials(
        &mut self,
        part: &PartNumber,
        begins: &str,
        known: Instant,
    ) -> Result<bool, StoreError> {
        let begins = fold(begins);
        let until = format!("{begins}{LAST}");
        let one: Option<i64> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select id from (select id, part, folded from component where withdrawn_by not between 1 and (select max(seq) from ledger where recorded_at <= ");
            query.push_bind(At(known)).push(") union all select id, part, folded from plate) borne where folded >= ");
            query.push_bind(begins).push(" and folded < ").push_bind(until);
            query.push(" and part = ").push_bind(part.as_str());
            // A component and a plate have the number of the entry that told of them first.
            query.push(" and id <= (select max(seq) from ledger where recorded_at <= ");
            query.push_bind(At(known)).push(") limit 1");
            query.build_query_scalar().fetch_optional(conn).await
        })?;
        Ok(one.is_some())
    }

    /// How many of them were on how many cars.
    pub(super) async fn components_count(
        &mut self,
        sought: &Sought<'_>,
        as_at: AsAt,
    ) -> Result<CarryingCount, StoreError> {
        let row: CountRow = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push("count(distinct fitment.car_id) as cars, count(*) as places");
            looked_for!(query, sought, as_at);
            query.build_query_as().fetch_one(conn).await
        })?;
        Ok(CarryingCount {
            cars: row.cars,
            places: row.places,
        })
    }
}
