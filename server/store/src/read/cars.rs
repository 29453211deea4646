//! Cars and units.

use super::as_known::{cars_known, holding_at, known_at};
use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::dossier::meters::meter;
use crate::error::StoreError;
use crate::row::{Both, parsed, row};
use domain::configuration::component::{ComponentRef, Condition};
use domain::identity::{CarNumber, DepotName, FleetName, PositionCode, UnitNumber};
use domain::ledger::dossier::CarRecord;
use domain::ledger::entry::Seq;
use domain::ledger::standing::MeterStanding;
use domain::time::Instant;
use domain::units::{Amount, Meter};
use domain::usage::meter::MeterPoint;
use domain::usage::rate::DailyRate;
use sqlx::QueryBuilder;

/// How many cars of a fleet a depot keeps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FleetAtDepot {
    /// The fleet.
    pub fleet: FleetName,
    /// The depot.
    pub depot: DepotName,
    /// Its cars there.
    pub cars: i64,
}

/// Which cars to list.
#[derive(Debug, Clone, Default)]
pub struct CarFilter {
    /// Of this fleet.
    pub fleet: Option<FleetName>,
    /// Kept at this depot.
    pub depot: Option<DepotName>,
    /// After this car, in the order of unit, place and number.
    pub after: Option<CarNumber>,
}

/// Where the meters of a car stand; one that was never read is not among them.
pub type Standings = Vec<(Meter, MeterStanding)>;

/// A component at a position of a car, as at a time.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The position.
    pub position: PositionCode,
    /// The component.
    pub component: ComponentRef,
    /// The component's condition, of now unless it is said otherwise.
    pub condition: Condition,
    /// Since when it is there.
    pub from: Instant,
    /// The entry that says so.
    pub fitted_by: Seq,
}

row!(FittedRow {
    position: String,
    part: String,
    serial: String,
    condition: String,
    from_at: At,
    fitted_by: i64,
});

impl FittedRow {
    fn fitted(&self) -> Result<Fitted, sqlx::Error> {
        Ok(Fitted {
            position: parsed(&self.position)?,
            component: ComponentRef {
                part: parsed(&self.part)?,
                serial: parsed(&self.serial)?,
            },
            condition: parsed(&self.condition)?,
            from: self.from_at.0,
            fitted_by: Seq(self.fitted_by),
        })
    }
}

row!(FleetRow {
    fleet: String,
    depot: String,
    cars: i64
});

const FLEETS: &str =
    "select fleet, depot, count(*) as cars from car group by fleet, depot order by fleet, depot";

/// Cars on one page of a list.
pub const CARS_PAGE: usize = 60;
/// Cars on one page of a list by units: a hundred units of six.
pub const UNIT_CARS_PAGE: usize = 600;

const METERS: &str = "select meter.meter, meter.last_at, meter.last_usage, meter.last_shown, meter.rate_slow, meter.rate_likely, meter.rate_fast
    from car join meter on meter.car_id = car.id where car.number = $1 order by meter.meter";

row!(
    /// A meter of a car; all null for a car that was never read.
    MeterRow {
        meter: Option<i16>,
        last_at: Option<At>,
        last_usage: Option<i64>,
        last_shown: Option<i64>,
        rate_slow: Option<i64>,
        rate_likely: Option<i64>,
        rate_fast: Option<i64>,
    }
);

impl MeterRow {
    fn standing(&self) -> Result<Option<(Meter, MeterStanding)>, sqlx::Error> {
        let known = (self.meter, self.last_at, self.last_usage, self.last_shown);
        let (Some(number), Some(at), Some(usage), Some(shown)) = known else {
            return Ok(None);
        };
        let rate = match (self.rate_slow, self.rate_likely, self.rate_fast) {
            (Some(slow), Some(likely), Some(fast)) => {
                DailyRate::new(Amount(slow), Amount(likely), Amount(fast))
            }
            _ => None,
        };
        let last = MeterPoint {
            at: at.0,
            usage: Amount(usage),
        };
        let standing = MeterStanding {
            last,
            shown: Amount(shown),
            rate,
        };
        Ok(Some((meter(number)?, standing)))
    }
}

impl View {
    /// All fleets by depot. Linear in the cars.
    pub async fn fleets(&mut self) -> Result<Vec<FleetAtDepot>, StoreError> {
        let rows: Vec<FleetRow> =
            on!(&mut self.tx, conn => sqlx::query_as(FLEETS).fetch_all(conn).await)?;
        let mut fleets = Vec::with_capacity(rows.len());
        for row in rows {
            fleets.push(FleetAtDepot {
                fleet: parsed(&row.fleet)?,
                depot: parsed(&row.depot)?,
                cars: row.cars,
            });
        }
        Ok(fleets)
    }

    /// A page of cars, by number; one more than a page where there are more.
    pub async fn cars(&mut self, filter: &CarFilter) -> Result<Vec<CarRecord>, StoreError> {
        self.cars_registered(filter, None).await
    }

    /// The same, of those alone that were there by a time and first registered by an entry that is not
    /// after one.
    pub(super) async fn cars_registered(
        &mut self,
        filter: &CarFilter,
        by: Option<(Instant, Seq)>,
    ) -> Result<Vec<CarRecord>, StoreError> {
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS);
            cars_known!(query, by.map(|(_, last)| last));
            if let Some((at, last)) = by {
                query.push(" and car.id <= ").push_bind(last.0);
                query.push(" and (car.there_since is null or car.there_since <= ");
                query.push_bind(At(at)).push(")");
            }
            if let Some(fleet) = &filter.fleet {
                query.push(" and car.fleet = ").push_bind(fleet.as_str());
            }
            if let Some(depot) = &filter.depot {
                query.push(" and car.depot = ").push_bind(depot.as_str());
            }
            if let Some(after) = &filter.after {
                query.push(" and car.number > ").push_bind(after.as_str());
            }
            query.push(" order by car.number limit ").push_bind(limit(CARS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(CarRow::record).collect();
        Ok(records?)
    }

    /// One car; of a view of what was known at a time, the one that bore the number then, if any did.
    pub async fn car(&mut self, number: &CarNumber) -> Result<Option<CarRecord>, StoreError> {
        let row: Option<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS);
            cars_known!(query, self.known);
            query.push(" and car.number = ").push_bind(number.as_str());
            query.push(" order by car.id limit 1");
            query.build_query_as().fetch_optional(conn).await
        })?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// Cars of a fleet at a depot that run in units, by unit and place, after a unit; one more
    /// than a page where there are more. Sorts the fleet's cars at the depot.
    pub async fn cars_in_units(
        &mut self,
        fleet: &FleetName,
        depot: &DepotName,
        after: Option<&UnitNumber>,
    ) -> Result<Vec<CarRecord>, StoreError> {
        let after = after.map_or("", UnitNumber::as_str);
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS).push(" from car where car.fleet = ").push_bind(fleet.as_str());
            query.push(" and car.depot = ").push_bind(depot.as_str());
            query.push(" and car.unit_number > ").push_bind(after);
            query.push(" order by car.unit_number, car.unit_place limit ").push_bind(limit(UNIT_CARS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(CarRow::record).collect();
        Ok(records?)
    }

    /// Cars of a fleet at a depot that are in no unit, by number, as many as a page has.
    pub async fn cars_without_unit(
        &mut self,
        fleet: &FleetName,
        depot: &DepotName,
    ) -> Result<Vec<CarRecord>, StoreError> {
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS).push(" from car where car.fleet = ").push_bind(fleet.as_str());
            query.push(" and car.depot = ").push_bind(depot.as_str());
            query.push(" and car.unit_number is null order by car.number limit ");
            query.push_bind(limit(CARS_PAGE));
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(CarRow::record).collect();
        Ok(records?)
    }

    /// The cars of a unit in its order; empty where there is no such unit.
    pub async fn unit(&mut self, number: &UnitNumber) -> Result<Vec<CarRecord>, StoreError> {
        let rows: Vec<CarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS).push(" from car where car.unit_number = ");
            query.push_bind(number.as_str()).push(" order by car.unit_place");
            query.build_query_as().fetch_all(conn).await
        })?;
        let records: Result<Vec<_>, _> = rows.iter().map(CarRow::record).collect();
        Ok(records?)
    }

    /// What was fitted to a car as at a time, by position. Grows with the car's history.
    pub async fn fitted(
        &mut self,
        car: &CarRecord,
        as_at: AsAt,
    ) -> Result<Vec<Fitted>, StoreError> {
        let (effective, known) = (At(as_at.effective), At(as_at.known));
        let rows: Vec<FittedRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select fitment.position, component.part, component.serial, component.condition, fitment.from_at, fitment.fitted_by from fitment join component on component.id = fitment.component_id where fitment.car_id = ");
            query.push_bind(car.id.0);
            holding_at!(query, "fitment", effective);
            known_at!(query, "fitment", known);
            query.push(" order by fitment.position");
            query.build_query_as().fetch_all(conn).await
        })?;
        let fitted: Result<Vec<_>, _> = rows.iter().map(FittedRow::fitted).collect();
        Ok(fitted?)
    }

    /// Where the meters of a car stand.
    pub async fn meters(&mut self, car: &CarNumber) -> Result<Standings, StoreError> {
        let rows: Vec<MeterRow> = on!(&mut self.tx, conn => sqlx::query_as(METERS).bind(car.as_str()).fetch_all(conn).await)?;
        let standings = rows.iter().map(MeterRow::standing);
        let standings: Result<Vec<_>, _> = standings.filter_map(Result::transpose).collect();
        Ok(standings?)
    }

    /// One car, as [`Self::car`] finds it, with where its meters stand. One statement.
    pub async fn car_with_meters(
        &mut self,
        number: &CarNumber,
    ) -> Result<Option<(CarRecord, Standings)>, StoreError> {
        let rows: Vec<Both<CarRow, MeterRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS);
            query.push(", meter.meter, meter.last_at, meter.last_usage, meter.last_shown, meter.rate_slow, meter.rate_likely, meter.rate_fast");
            cars_known!(query, self.known, " left join meter on meter.car_id = car.id");
            query.push(" and car.number = ").push_bind(number.as_str());
            query.push(" order by car.id, meter.meter");
            query.build_query_as().fetch_all(conn).await
        })?;
        let Some(Both(car, _)) = rows.first() else {
            return Ok(None);
        };
        let record = car.record()?;
        let of_it = rows.iter().filter(|Both(of, _)| of.is_same(car));
        let standings = of_it.map(|Both(_, meter)| meter.standing());
        let standings: Result<Vec<_>, _> = standings.filter_map(Result::transpose).collect();
        Ok(Some((record, standings?)))
    }
}

/// The rows of a page and one more, by which to see whether there are more.
pub(super) fn limit(page: usize) -> i64 {
    i64::try_from(page).unwrap_or(i64::MAX - 1) + 1
}
