//! How much is overdue, and due soon, on the cars of a fleet at a depot, unit by unit.

use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::row::{parsed, row};
use domain::identity::{DepotName, FleetName, UnitNumber};
use domain::time::Day;
use std::collections::HashMap;

/// How much is due on the cars of a unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct DueOnUnit {
    /// Tasks that are overdue.
    pub overdue: i64,
    /// Tasks due by the day asked about, those that are overdue among them.
    pub due: i64,
}

const BY_UNIT: &str = "select car.unit_number as unit_number, count(case when due.due_on < $3 and due.latest_on < $3 then 1 end) as overdue, count(*) as due
    from due join car on car.id = due.car_id
    where due.depot = $1 and due.fleet = $2 and due.due_on <= $4 and car.unit_number is not null
    group by car.unit_number";

row!(ByUnitRow {
    unit_number: String,
    overdue: i64,
    due: i64,
});

impl View {
    /// How much is due on the units of a fleet at a depot: overdue on a day, and due until another.
    /// A unit with nothing due is not among them. One statement; cost grows with what is due there
    /// until then.
    pub async fn due_by_unit(
        &mut self,
        (fleet, depot): (&FleetName, &DepotName),
        (today, until): (Day, Day),
    ) -> Result<HashMap<UnitNumber, DueOnUnit>, StoreError> {
        let rows: Vec<ByUnitRow> = on!(&mut self.tx, conn => sqlx::query_as(BY_UNIT)
            .bind(depot.as_str()).bind(fleet.as_str()).bind(On(today)).bind(On(until))
            .fetch_all(conn).await)?;
        let mut units = HashMap::with_capacity(rows.len());
        for row in rows {
            let on_unit = DueOnUnit {
                overdue: row.overdue,
                due: row.due,
            };
            units.insert(parsed(&row.unit_number)?, on_unit);
        }
        Ok(units)
    }
}
