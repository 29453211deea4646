//! When work on stale components is due.

use super::{Settling, due, tests};
use crate::column::At;
use crate::connect::{Tx, on};
use crate::dossier::assemblies::{Side, load_inner_fitments};
use crate::dossier::components::{Reach, load_components};
use crate::dossier::meters;
use crate::dossier::work::{DONE_FROM, DoneRow};
use crate::error::StoreError;
use crate::row::{parsed, row};
use crate::shape::padded;
use domain::configuration::component::ComponentRef;
use domain::configuration::component::Subject;
use domain::due::facts::{LastReading, MeterFacts};
use domain::identity::CarNumber;
use domain::ledger::dossier::{DoneRecord, Dossier};
use domain::ledger::standing::ComponentHistory;
use domain::time::Zone;
use domain::units::{Amount, ByMeter};
use domain::usage::rate::DailyRate;
use sqlx::QueryBuilder;
use std::collections::{BTreeSet, HashMap};

/// The ids of components. One statement a thousand.
pub(super) async fn ids(
    tx: &mut Tx,
    components: &BTreeSet<ComponentRef>,
) -> Result<BTreeSet<i64>, StoreError> {
    let mut found = BTreeSet::new();
    let components: Vec<&ComponentRef> = components.iter().collect();
    for chunk in components.chunks(1_000) {
        let ids: Vec<i64> = on!(tx, conn => {
            let mut query = QueryBuilder::new("with wanted (part, serial) as (");
            query.push_values(chunk, |mut row, component| {
                row.push_bind(component.part.as_str()).push_bind(component.serial.as_str());
            });
            query.push(") select component.id from wanted cross join component where component.part = wanted.part and component.serial = wanted.serial");
            query.build_query_scalar().fetch_all(&mut *conn).await
        })?;
        found.extend(ids);
    }
    Ok(found)
}

/// Settles components together: seven statements to load, two to write, however many.
pub(super) async fn settle(
    tx: &mut Tx,
    settling: &Settling,
    components: &BTreeSet<ComponentRef>,
) -> Result<(), StoreError> {
    if components.is_empty() {
        return Ok(());
    }
    let mut dossier = Dossier::default();
    load_components(tx, &mut dossier, components, Reach::Alone).await?;
    load_inner_fitments(tx, &mut dossier, &[Side::Component]).await?;
    let ids: Vec<i64> = dossier
        .components
        .values()
        .map(|record| record.id.0)
        .collect();
    let done = load_done(tx, &ids).await?;
    let mut tests = tests::load(tx, tests::Of::Components, &ids).await?;
    let hosts: BTreeSet<&CarNumber> = components
        .iter()
        .filter_map(|component| Some(&dossier.open_fitment(component)?.at.car))
        .collect();
    let hosts = load_hosts(tx, &hosts, &settling.zone).await?;
    let mut rows = Vec::new();
    for component in components {
        let Some(record) = dossier.components.get(component) else {
            continue;
        };
        let mut fitments: Vec<_> = dossier.fitments_of(component).collect();
        fitments.sort_by_key(|fitment| fitment.from);
        let open = fitments
            .iter()
            .find(|fitment| fitment.end.is_none())
            .copied();
        let host = open.and_then(|fitment| hosts.get(&fitment.at.car));
        let done = done.get(component).map_or(&[][..], Vec::as_slice);
        let history = ComponentHistory {
            record,
            fitments,
            came_off: dossier.came_off(component),
            done: done.iter().collect(),
            tests: tests.remove(&record.id.0).unwrap_or_default(),
        };
        let facts = host.map_or(ByMeter::from_fn(|_| MeterFacts::UNKNOWN), |host| {
            host.meters
        });
        let due = history.due(&settling.documents, &facts, &settling.zone);
        rows.extend(due.into_iter().map(|(task, row)| due::ComponentDue {
            record,
            place: open.zip(host),
            task,
            row,
        }));
    }
    due::put_of_components(tx, &ids, &rows).await
}

async fn load_done(
    tx: &mut Tx,
    ids: &[i64],
) -> Result<HashMap<ComponentRef, Vec<DoneRecord>>, StoreError> {
    let rows: Vec<DoneRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new(DONE_FROM);
        query.push(" where work_done.component_id in (");
        let mut list = query.separated(", ");
        for id in padded(ids) {
            list.push_bind(*id);
        }
        query.push(") order by work_done.done_at, work_done.recorded_by");
        query.build_query_as().fetch_all(conn).await
    })?;
    let mut done: HashMap<ComponentRef, Vec<DoneRecord>> = HashMap::new();
    for row in &rows {
        let record = row.record()?;
        if let Subject::Component(component) = &record.subject {
            done.entry(component.clone()).or_default().push(record);
        }
    }
    Ok(done)
}

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

pub(super) async fn load_hosts(
    tx: &mut Tx,
    cars: &BTreeSet<&CarNumber>,
    zone: &Zone,
) -> Result<HashMap<CarNumber, Host>, StoreError> {
    if cars.is_empty() {
        return Ok(HashMap::new());
    }
    let rows: Vec<HostRow> = on!(tx, conn => {
        let mut query = QueryBuilder::new("select car.id, car.number, car.fleet, car.depot, meter.meter, meter.last_at, meter.last_usage, meter.rate_slow, meter.rate_likely, meter.rate_fast from car left join meter on meter.car_id = car.id where car.number in (");
        let mut list = query.separated(", ");
        for car in cars {
            list.push_bind(car.as_str());
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
