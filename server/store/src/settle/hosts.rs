//! Cars as far as due work depends on them: where they belong and where their meters stand.

use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::meters;
use crate::error::StoreError;
use crate::row::{parsed, row};
use crate::shape::padded;
use domain::due::facts::{LastReading, MeterFacts};
use domain::identity::CarNumber;
use domain::time::Zone;
use domain::units::{Amount, ByMeter};
use domain::usage::rate::DailyRate;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// A car as the host of components.
#[derive(Debug)]
pub(super) struct Host {
    /// Its id.
    pub(super) id: i64,
    /// Its fleet.
    pub(super) fleet: String,
    /// Its depot.
    pub(super) depot: String,
    /// Where its meters stand.
    pub(super) meters: ByMeter<MeterFacts>,
}

row!(HostRow {
    id: i64,
    number: String,
    fleet: String,
    depot: String,
    meter: Option<i16>,
    last_at: Option<At>,
    last_usage: Option<i64>,
    rate_slow: Option<i64>,
    rate_likely: Option<i64>,
    rate_fast: Option<i64>,
});

/// Cars by their numbers. One statement.
pub(super) async fn load_hosts(
    tx: &mut Tx,
    cars: &BTreeSet<&CarNumber>,
    zone: &Zone,
) -> Result<HashMap<CarNumber, Host>, StoreError> {
    if cars.is_empty() {
        return Ok(HashMap::new());
    }
    let cars: Vec<&CarNumber> = cars.iter().copied().collect();
    let rows: Vec<HostRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car.id, car.number, car.fleet, car.depot, meter.meter, meter.last_at, meter.last_usage, meter.rate_slow, meter.rate_likely, meter.rate_fast from car left join meter on meter.car_id = car.id where car.number in (");
        let mut list = query.separated(", ");
        for car in padded(&cars) {
            list.push_bind(car.map(|car| car.as_str()));
        }
        query.push(")");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut hosts: HashMap<CarNumber, Host> = HashMap::new();
    for row in rows {
        let facts = row.facts(zone);
        let host = hosts.entry(parsed(&row.number)?).or_insert_with(|| Host {
            id: row.id,
            fleet: row.fleet,
            depot: row.depot,
            meters: ByMeter::from_fn(|_| MeterFacts::UNKNOWN),
        });
        if let Some(number) = row.meter {
            host.meters[meters::meter(number)?] = facts;
        }
    }
    Ok(hosts)
}

impl HostRow {
    fn facts(&self, zone: &Zone) -> MeterFacts {
        let last = self
            .last_at
            .zip(self.last_usage)
            .map(|(at, usage)| LastReading {
                on: zone.day_of(at.0),
                usage: Amount(usage),
            });
        let rate = match (self.rate_slow, self.rate_likely, self.rate_fast) {
            (Some(slow), Some(likely), Some(fast)) => {
                DailyRate::new(Amount(slow), Amount(likely), Amount(fast))
            }
            _ => None,
        };
        MeterFacts { last, rate }
    }
}
