//! Where work is due: what a due list can be narrowed to.

use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::row::{parsed, row};
use domain::identity::{DepotName, FleetName};

/// The fleets and depots of cars, each in order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DuePlaces {
    /// The fleets.
    pub fleets: Vec<FleetName>,
    /// The depots.
    pub depots: Vec<DepotName>,
}

/// Steps through an index from each fleet to the next, and in each from depot to depot.
const PLACES: &str = "with recursive at_fleet (name) as (
    select min(car.fleet) from car
    union all
    select (select min(car.fleet) from car where car.fleet > at_fleet.name)
    from at_fleet where at_fleet.name is not null
), at_depot (fleet, name) as (
    select at_fleet.name, (select min(car.depot) from car where car.fleet = at_fleet.name)
    from at_fleet
    union all
    select at_depot.fleet, (select min(car.depot) from car
        where car.fleet = at_depot.fleet and car.depot > at_depot.name)
    from at_depot where at_depot.name is not null
) select 0 as of_depot, name from at_fleet where name is not null
union select 1 as of_depot, name from at_depot where name is not null";

row!(PlaceRow {
    of_depot: i32,
    name: String
});

impl View {
    /// Where work is due. One statement; one lookup for each fleet and each depot of it, however
    /// many cars they have.
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
