//! Which cars carry a part, or serial numbers of it, as at a time and as known at one.

use super::cars::limit;
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::dossier::components::{FITMENT_COLUMNS, FitmentRow, LAST};
use crate::error::StoreError;
use crate::row::{Both, parsed, parsed_option, row};
use domain::configuration::component::PositionRef;
use domain::identity::{DepotName, FleetName, PartNumber, UnitNumber, fold};
use domain::ledger::dossier::Fitment;
use sqlx::QueryBuilder;

/// Rows on one page.
pub const CARRYING_PAGE: usize = 100;

/// What is looked for.
#[derive(Debug, Clone)]
pub struct CarryingFilter {
    /// The part.
    pub part: PartNumber,
    /// How the serial number begins: a batch, where serial numbers begin with it. Empty is any.
    pub serial: String,
    /// As at when.
    pub as_at: AsAt,
    /// After this place, in the order of cars and positions.
    pub after: Option<PositionRef>,
    /// At most so many.
    pub rows: usize,
}

/// A component on a car.
#[derive(Debug, Clone, PartialEq)]
pub struct Carrying {
    /// Where it was, and since when.
    pub fitment: Fitment,
    /// The car's unit now.
    pub unit: Option<UnitNumber>,
    /// The car's fleet now.
    pub fleet: FleetName,
    /// The car's depot now.
    pub depot: DepotName,
}

row!(CarOfRow {
    unit_number: Option<String>,
    fleet: String,
    depot: String
});

row!(CountRow {
    cars: i64,
    components: i64
});

/// From where, and which: the same for what is listed and for what is counted.
macro_rules! looked_for {
    ($query:expr, $filter:expr) => {
        let AsAt { effective, known } = $filter.as_at;
        let (effective, known) = (At(effective), At(known));
        $query.push(" from component cross join fitment cross join car where component.part = ");
        $query.push_bind($filter.part.as_str());
        let begins = fold(&$filter.serial);
        if !begins.is_empty() {
            let until = format!("{begins}{LAST}");
            $query.push(" and component.folded >= ").push_bind(begins);
            $query.push(" and component.folded < ").push_bind(until);
        }
        $query.push(" and fitment.component_id = component.id and car.id = fitment.car_id");
        $query.push(" and fitment.from_at <= ").push_bind(effective);
        $query
            .push(" and (fitment.until_at is null or ")
            .push_bind(effective);
        $query
            .push(" < fitment.until_at) and fitment.known_from <= ")
            .push_bind(known);
        $query
            .push(" and (fitment.known_until is null or ")
            .push_bind(known);
        $query.push(" < fitment.known_until)");
    };
}

impl View {
    /// The components looked for that were on cars, by car and position; one more than asked for
    /// where there are more. Cost: the components of the part whose serial number begins so, with
    /// their fitments.
    pub async fn carrying(&mut self, filter: &CarryingFilter) -> Result<Vec<Carrying>, StoreError> {
        let rows: Vec<Both<FitmentRow, CarOfRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car.unit_number, car.fleet, car.depot, ");
            query.push(FITMENT_COLUMNS);
            looked_for!(query, filter);
            if let Some(after) = &filter.after {
                query.push(" and (car.number, fitment.position) > (").push_bind(after.car.as_str());
                query.push(", ").push_bind(after.position.as_str()).push(")");
            }
            query.push(" order by car.number, fitment.position limit ").push_bind(limit(filter.rows));
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut found = Vec::with_capacity(rows.len());
        for Both(fitment, car) in rows {
            found.push(Carrying {
                fitment: fitment.fitment()?,
                unit: parsed_option(car.unit_number.as_deref())?,
                fleet: parsed(&car.fleet)?,
                depot: parsed(&car.depot)?,
            });
        }
        Ok(found)
    }

    /// On how many cars how many of the components looked for were, on all pages together. The
    /// same cost.
    pub async fn carrying_count(
        &mut self,
        filter: &CarryingFilter,
    ) -> Result<(i64, i64), StoreError> {
        let row: CountRow = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push("count(distinct fitment.car_id) as cars, count(*) as components");
            looked_for!(query, filter);
            query.build_query_as().fetch_one(conn).await
        })?;
        Ok((row.cars, row.components))
    }
}
