//! Which cars are built to which design.

use super::View;
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{parsed, parsed_option, row};
use domain::configuration::car::{Orientation, Vehicle};
use domain::identity::{CarTypeName, Revision};

row!(DesignRow {
    car_type: String,
    revision: String,
    cars: i64,
});

row!(ExampleRow {
    number: String,
    unit_number: Option<String>,
});

const DESIGNS: &str = "select car_type, revision, count(*) as cars from car
    group by car_type, revision order by car_type, revision";
const EXAMPLE: &str = "select number, unit_number from car where car_type = $1 and revision = $2
    order by case when unit_number is null then 1 else 0 end, number limit 1";

/// A design and how many cars are built to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CarsOfDesign {
    /// The car type.
    pub car_type: CarTypeName,
    /// The revision of its baseline.
    pub revision: Revision,
    /// How many cars.
    pub cars: i64,
}

impl View {
    /// How many cars there are of each design. One statement, linear in the cars.
    pub async fn cars_of_designs(&mut self) -> Result<Vec<CarsOfDesign>, StoreError> {
        let rows: Vec<DesignRow> =
            on!(&mut self.tx, conn => sqlx::query_as(DESIGNS).fetch_all(conn).await)?;
        let mut designs = Vec::with_capacity(rows.len());
        for row in rows {
            designs.push(CarsOfDesign {
                car_type: parsed(&row.car_type)?,
                revision: parsed(&row.revision)?,
                cars: row.cars,
            });
        }
        Ok(designs)
    }

    /// A unit with a car of a design in it, or such a car by itself where none is in a unit; none
    /// where there is no such car. One statement.
    pub async fn vehicle_of_design(
        &mut self,
        name: &CarTypeName,
        revision: &Revision,
    ) -> Result<Option<Vehicle>, StoreError> {
        let row: Option<ExampleRow> = on!(&mut self.tx, conn => sqlx::query_as(EXAMPLE)
            .bind(name.as_str()).bind(revision.as_str()).fetch_optional(conn).await)?;
        let Some(row) = row else {
            return Ok(None);
        };
        let unit = parsed_option(row.unit_number.as_deref())?;
        Ok(Some(match unit {
            Some(unit) => Vehicle::Unit(unit, Orientation::Forward),
            None => Vehicle::Car(parsed(&row.number)?, Orientation::Forward),
        }))
    }
}
