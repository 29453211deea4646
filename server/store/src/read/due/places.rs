//! Where work is due: what a due list can be narrowed to.

use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::row::{parsed, row};
use domain::identity::{DepotName, FleetName};

/// Fleets and depots with due work, each in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DuePlaces {
    /// The fleets.
    pub fleets: Vec<FleetName>,
    /// The depots.
    pub depots: Vec<DepotName>,
}

/// Steps through an index from each name to the next, for fleets and for depots.
const PLACES: &str = "with recursive at_fleet (name) as (
    select min(due.fleet) from due
    union all
    select (select min(due.fleet) from due where due.fleet > at_fleet.name)
    from at_fleet where at_fleet.name is not null
), at_depot (name) as (
    select min(due.depot) from due
    union all
    select (select min(due.depot) from due where due.depot > at_depot.name)
    from at_depot where at_depot.name is not null
) select 0 as of_depot, name from at_fleet where name is not null
union all select 1 as of_depot, name from at_depot where name is not null";

row!(PlaceRow {
    of_depot: i32,
    name: String
});

impl View {
    /// Where work is due. One statement; one lookup for each fleet and depot, however many cars
    /// they have.
    pub async fn due_places(&mut self) -> Result<DuePlaces, StoreError> {
        let rows: Vec<PlaceRow> =
            on!(&mut self.tx, conn => sqlx::query_as(PLACES).fetch_all(conn).await)?;
        let mut places = DuePlaces::default();
        for row in rows {
            if row.of_depot == 0 {
                places.fleets.push(parsed(&row.name)?);
            } else {
                places.depots.push(parsed(&row.name)?);
            }
        }
        places.fleets.sort();
        places.depots.sort();
        Ok(places)
    }
}
