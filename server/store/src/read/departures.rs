//! Where cars depart from their baseline: a read of one index, whose cost grows with what is
//! shown.

use super::View;
use super::cars::limit;
use crate::column::On;
use crate::connect::on;
use crate::dossier::cars::{CAR_COLUMNS, CarRow};
use crate::error::StoreError;
use crate::row::{Both, parsed, parsed_option, row};
use domain::configuration::component::{ComponentRef, Condition};
use domain::configuration::setting::SettingValue;
use domain::identity::{
    CarNumber, ConcessionNumber, DepotName, FleetName, ModificationState, PositionCode,
    SettingName, UnitNumber,
};
use domain::ledger::departures::{DepartureKind, DepartureStanding};
use domain::ledger::dossier::CarRecord;
use domain::time::Day;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

/// Departures on one page.
pub const DEPARTURES_PAGE: usize = 50;

/// Which departures to list.
#[derive(Debug, Clone)]
pub struct DepartureFilter {
    /// The day on which they are departures.
    pub on: Day,
    /// Of this fleet.
    pub fleet: Option<FleetName>,
    /// Of cars kept at this depot.
    pub depot: Option<DepotName>,
    /// Of cars of this unit.
    pub unit: Option<UnitNumber>,
    /// Of this car.
    pub car: Option<CarNumber>,
    /// At this position.
    pub position: Option<PositionCode>,
    /// Of this kind.
    pub kind: Option<DepartureKind>,
    /// Under a concession, or not.
    pub standing: Option<DepartureStanding>,
    /// For which this concession is.
    pub concession: Option<ConcessionNumber>,
    /// After this row.
    pub after: Option<DepartureCursor>,
    /// How many rows at most.
    pub rows: usize,
}

impl DepartureFilter {
    /// Everything, as on a day; the first page.
    pub fn all(on: Day) -> Self {
        Self {
            on,
            fleet: None,
            depot: None,
            unit: None,
            car: None,
            position: None,
            kind: None,
            standing: None,
            concession: None,
            after: None,
            rows: DEPARTURES_PAGE,
        }
    }

    /// Whether a departure of a car that is asked about is of the kind that is asked for.
    pub fn has(&self, item: &DepartureItem) -> bool {
        let concession = item.concession.as_ref().map(|(number, _)| number);
        let standing = item.standing(self.on);
        let position = self.position.as_ref();
        self.kind.is_none_or(|kind| kind == item.kind)
            && position.is_none_or(|asked| *asked == item.position)
            && self.standing.is_none_or(|asked| asked == standing)
            && (self.concession.is_none() || self.concession.as_ref() == concession)
    }
}

/// A row by which the next page begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DepartureCursor {
    /// The number of the car.
    pub car: i64,
    /// The position.
    pub position: PositionCode,
    /// The setting that departs there, where it is one.
    pub setting: Option<SettingName>,
    /// How it departs.
    pub kind: DepartureKind,
}

impl DepartureCursor {
    /// Before which rows it comes and after which.
    pub fn order(&self) -> (i64, String, String, &'static str) {
        let setting = self.setting.as_ref().map(ToString::to_string);
        let position = self.position.to_string();
        (
            self.car,
            position,
            setting.unwrap_or_default(),
            self.kind.name(),
        )
    }
}

/// A position of a car that departs from its baseline.
#[derive(Debug, Clone, PartialEq)]
pub struct DepartureItem {
    /// Where the next page begins after this row.
    pub cursor: DepartureCursor,
    /// The car.
    pub car: CarRecord,
    /// The position, by its full code.
    pub position: PositionCode,
    /// The setting that departs, where it is one.
    pub setting: Option<SettingName>,
    /// What it is set to, where that is told.
    pub set_to: Option<SettingValue>,
    /// How it departs.
    pub kind: DepartureKind,
    /// Since which day; none where from the beginning.
    pub from: Option<Day>,
    /// What is there.
    pub component: Option<ComponentThere>,
    /// The concession that is for it, or was until it ended, and its last day.
    pub concession: Option<(ConcessionNumber, Day)>,
}

impl DepartureItem {
    /// Whether it is a finding on a day or is allowed then.
    pub fn standing(&self, on: Day) -> DepartureStanding {
        match &self.concession {
            Some((_, until)) if on <= *until => DepartureStanding::UnderConcession,
            _ => DepartureStanding::Finding,
        }
    }
}

/// A component that is where something departs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ComponentThere {
    /// Which one.
    pub component: ComponentRef,
    /// Its modification state, if that is known.
    pub modification: Option<ModificationState>,
    /// Its condition.
    pub condition: Condition,
}

row!(DepartureRow {
    position: String,
    setting: String,
    set_to: Option<String>,
    kind: String,
    from_on: On,
    part: Option<String>,
    serial: Option<String>,
    modification_state: Option<String>,
    condition: Option<String>,
    concession: Option<String>,
    covered_until: Option<On>,
});

impl DepartureRow {
    fn item(&self, car: CarRecord) -> Result<DepartureItem, sqlx::Error> {
        let component = match (&self.part, &self.serial, &self.condition) {
            (Some(part), Some(serial), Some(condition)) => Some(ComponentThere {
                component: ComponentRef {
                    part: parsed(part)?,
                    serial: parsed(serial)?,
                },
                modification: parsed_option(self.modification_state.as_deref())?,
                condition: parsed(condition)?,
            }),
            _ => None,
        };
        let kind: DepartureKind = parsed(&self.kind)?;
        let position: PositionCode = parsed(&self.position)?;
        let setting = Some(self.setting.as_str()).filter(|name| !name.is_empty());
        let setting: Option<SettingName> = parsed_option(setting)?;
        Ok(DepartureItem {
            cursor: DepartureCursor {
                car: car.id.0,
                position: position.clone(),
                setting: setting.clone(),
                kind,
            },
            car,
            position,
            setting,
            set_to: parsed_option(self.set_to.as_deref())?,
            kind,
            concession: match (&self.concession, self.covered_until) {
                (Some(number), Some(until)) => Some((parsed(number)?, until.0)),
                _ => None,
            },
            from: Some(self.from_on.0).filter(|from| Day::EARLIEST < *from),
            component,
        })
    }
}

row!(CountRow {
    concession: String,
    positions: i64,
});

/// Pushes all conditions of a filter. The words are the same for both databases.
macro_rules! conditions {
    ($query:expr, $filter:expr) => {{
        let filter = $filter;
        $query
            .push("departure.from_on <= ")
            .push_bind(On(filter.on));
        $query.push(" and (departure.until_on is null or departure.until_on > ");
        $query.push_bind(On(filter.on)).push(")");
        if let Some(fleet) = &filter.fleet {
            $query
                .push(" and departure.fleet = ")
                .push_bind(fleet.as_str());
        }
        if let Some(depot) = &filter.depot {
            $query
                .push(" and departure.depot = ")
                .push_bind(depot.as_str());
        }
        if let Some(unit) = &filter.unit {
            $query.push(" and departure.car_id in (select id from car where unit_number = ");
            $query.push_bind(unit.as_str()).push(")");
        }
        if let Some(car) = &filter.car {
            $query.push(" and departure.car_id = (select id from car where number = ");
            $query.push_bind(car.as_str()).push(")");
        }
        if let Some(position) = &filter.position {
            $query
                .push(" and departure.position = ")
                .push_bind(position.as_str());
        }
        if let Some(number) = &filter.concession {
            $query
                .push(" and departure.concession = ")
                .push_bind(number.as_str());
        }
        match filter.standing {
            None => {}
            Some(DepartureStanding::UnderConcession) => {
                $query
                    .push(" and departure.covered_until >= ")
                    .push_bind(On(filter.on));
            }
            Some(DepartureStanding::Finding) => {
                $query.push(" and (departure.covered_until is null or departure.covered_until < ");
                $query.push_bind(On(filter.on)).push(")");
            }
        }
        if let Some(kind) = filter.kind {
            $query.push(" and departure.kind = ").push_bind(kind.name());
        }
    }};
}

impl View {
    /// Departures in the order of cars and positions; one row more than asked for where there
    /// are more. One statement; cost grows with the rows shown.
    pub async fn departures(
        &mut self,
        filter: &DepartureFilter,
    ) -> Result<Vec<DepartureItem>, StoreError> {
        let rows: Vec<Both<CarRow, DepartureRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(CAR_COLUMNS);
            query.push(", departure.position, departure.setting, departure.set_to, departure.kind, departure.from_on, component.part, component.serial, component.modification_state, component.condition, departure.concession, departure.covered_until from departure join car on car.id = departure.car_id left join component on component.id = departure.component_id where ");
            conditions!(query, filter);
            if let Some(after) = &filter.after {
                query.push(" and (departure.car_id, departure.position, departure.setting, departure.kind) > (").push_bind(after.car);
                query.push(", ").push_bind(after.position.as_str());
                query.push(", ").push_bind(after.setting.as_ref().map_or("", SettingName::as_str));
                query.push(", ").push_bind(after.kind.name()).push(")");
            }
            query.push(" order by departure.car_id, departure.position, departure.setting, departure.kind limit ").push_bind(limit(filter.rows));
            query.build_query_as().fetch_all(conn).await
        })?;
        let items = rows.iter().map(|Both(car, row)| row.item(car.record()?));
        let items: Result<Vec<_>, sqlx::Error> = items.collect();
        Ok(items?)
    }

    /// How many departures a filter has, counted up to `most`; cost grows with the count.
    pub async fn departure_count(
        &mut self,
        filter: &DepartureFilter,
        most: usize,
    ) -> Result<i64, StoreError> {
        let count: i64 = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select count(*) from (select 1 as one from departure where ");
            conditions!(query, filter);
            query.push(" limit ").push_bind(limit(most)).push(") counted");
            query.build_query_scalar().fetch_one(conn).await
        })?;
        Ok(count)
    }

    /// How many positions each concession is for on a day, where there are any at a place. One
    /// statement; cost grows with the departures that have a concession.
    pub async fn under_concessions(
        &mut self,
        filter: &DepartureFilter,
    ) -> Result<BTreeMap<ConcessionNumber, i64>, StoreError> {
        let rows: Vec<CountRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select departure.concession, count(*) as positions from departure where departure.concession is not null and ");
            conditions!(query, filter);
            query.push(" group by departure.concession");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut counts = BTreeMap::new();
        for row in rows {
            counts.insert(parsed(&row.concession)?, row.positions);
        }
        Ok(counts)
    }
}
