//! The due list: a read of one index, whose cost grows with what is shown.

use super::View;
use super::cars::limit;
use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::row::{from_json, parsed, parsed_option, row};
use domain::configuration::component::{ComponentRef, Subject};
use domain::due::forecast::{Forecast, Lacking};
use domain::due::state::State;
use domain::identity::{
    CarNumber, DepotName, FleetName, LocationName, PartNumber, PositionCode, TaskCode, UnitNumber,
};
use domain::time::Day;
use sqlx::QueryBuilder;

/// Rows on one page of the due list.
pub const DUE_PAGE: usize = 50;

/// Which due work to list.
#[derive(Debug, Clone)]
pub struct DueFilter {
    /// The day by which states are told.
    pub today: Day,
    /// Of this fleet.
    pub fleet: Option<FleetName>,
    /// Kept at this depot.
    pub depot: Option<DepotName>,
    /// On cars of this unit.
    pub unit: Option<UnitNumber>,
    /// On this car.
    pub car: Option<CarNumber>,
    /// On components of this part.
    pub part: Option<PartNumber>,
    /// In this state.
    pub state: Option<State>,
    /// Due on or before this day. Not used for work whose date cannot be told.
    pub until: Option<Day>,
    /// After this row.
    pub after: Option<DueCursor>,
    /// How many rows at most.
    pub rows: usize,
}

impl DueFilter {
    /// Everything, as on a day; the first page.
    pub fn all(today: Day) -> Self {
        Self {
            today,
            fleet: None,
            depot: None,
            unit: None,
            car: None,
            part: None,
            state: None,
            until: None,
            after: None,
            rows: DUE_PAGE,
        }
    }
}

/// A row of the due list by which the next page begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueCursor {
    /// Its day; none in the list of what cannot be told.
    pub on: Option<Day>,
    /// The number of its subject.
    pub subject: i64,
    /// Its task.
    pub task: TaskCode,
}

/// One task of one component or car.
#[derive(Debug, Clone, PartialEq)]
pub struct DueItem {
    /// Where the next page begins after this row.
    pub cursor: DueCursor,
    /// What the work is done on.
    pub subject: Subject,
    /// The task.
    pub task: TaskCode,
    /// The car it is on.
    pub car: Option<CarNumber>,
    /// That car's unit.
    pub unit: Option<UnitNumber>,
    /// The position it is fitted at.
    pub position: Option<PositionCode>,
    /// The car's fleet.
    pub fleet: Option<FleetName>,
    /// The car's depot.
    pub depot: Option<DepotName>,
    /// Where it is while not fitted.
    pub location: Option<LocationName>,
    /// The dates, the limit that sets them, and what is lacking.
    pub forecast: Forecast,
    /// The state on the filter's day.
    pub state: State,
}

row!(DueListRow {
    subject_id: i64,
    task: String,
    part: Option<String>,
    serial: Option<String>,
    subject_car: Option<String>,
    car: Option<String>,
    unit_number: Option<String>,
    position: Option<String>,
    fleet: Option<String>,
    depot: Option<String>,
    location: Option<String>,
    due_on: Option<On>,
    early_on: Option<On>,
    late_on: Option<On>,
    opens_on: Option<On>,
    latest_on: Option<On>,
    set_by: Option<String>,
    lacking: Option<String>,
});

const FROM: &str = "select due.subject_id, due.task, component.part, component.serial, subject_car.number as subject_car, car.number as car, car.unit_number, due.position, due.fleet, due.depot, component.location, due.due_on, due.early_on, due.late_on, due.opens_on, due.latest_on, due.set_by, due.lacking
    from due
    left join component on component.id = due.component_id
    left join car on car.id = due.car_id
    left join car subject_car on subject_car.id = due.subject_id and due.component_id is null
    where ";

impl DueListRow {
    fn item(&self, today: Day) -> Result<DueItem, sqlx::Error> {
        let subject = match (&self.part, &self.serial, &self.subject_car) {
            (Some(part), Some(serial), _) => Subject::Component(ComponentRef {
                part: parsed(part)?,
                serial: parsed(serial)?,
            }),
            (_, _, Some(car)) => Subject::Car(parsed(car)?),
            _ => return Err(sqlx::Error::Decode("due work on nothing".into())),
        };
        let day = |on: Option<On>| on.map(|on| on.0);
        let forecast = Forecast {
            on: day(self.due_on),
            early: day(self.early_on),
            late: day(self.late_on),
            opens: day(self.opens_on),
            latest: day(self.latest_on),
            set_by: parsed_option(self.set_by.as_deref())?,
            lacking: self
                .lacking
                .as_deref()
                .map_or(Ok(Lacking::default()), from_json)?,
        };
        let task: TaskCode = parsed(&self.task)?;
        Ok(DueItem {
            cursor: DueCursor {
                on: forecast.on,
                subject: self.subject_id,
                task: task.clone(),
            },
            subject,
            task,
            car: parsed_option(self.car.as_deref())?,
            unit: parsed_option(self.unit_number.as_deref())?,
            position: parsed_option(self.position.as_deref())?,
            fleet: parsed_option(self.fleet.as_deref())?,
            depot: parsed_option(self.depot.as_deref())?,
            location: parsed_option(self.location.as_deref())?,
            state: forecast.state_on(today),
            forecast,
        })
    }
}

/// Pushes the conditions of a filter. The words are the same for both databases.
macro_rules! conditions {
    ($query:expr, $filter:expr) => {{
        let filter = $filter;
        let today = On(filter.today);
        $query.push("1 = 1");
        if let Some(fleet) = &filter.fleet {
            $query.push(" and due.fleet = ").push_bind(fleet.as_str());
        }
        if let Some(depot) = &filter.depot {
            $query.push(" and due.depot = ").push_bind(depot.as_str());
        }
        if let Some(unit) = &filter.unit {
            $query.push(" and due.car_id in (select id from car where unit_number = ");
            $query.push_bind(unit.as_str()).push(")");
        }
        if let Some(car) = &filter.car {
            $query.push(" and due.car_id = (select id from car where number = ");
            $query.push_bind(car.as_str()).push(")");
        }
        if let Some(part) = &filter.part {
            $query.push(" and due.part = ").push_bind(part.as_str());
        }
        if let Some(until) = filter
            .until
            .filter(|_| filter.state != Some(State::Unknown))
        {
            $query.push(" and due.due_on <= ").push_bind(On(until));
        }
        match filter.state {
            None => {
                $query.push(" and due.due_on is not null");
            }
            Some(State::Overdue) => {
                $query.push(" and due.due_on < ").push_bind(today);
                $query.push(" and due.latest_on < ").push_bind(today);
            }
            Some(State::Unknown) => {
                $query.push(
                    " and due.lacking is not null and (due.latest_on is null or due.latest_on >= ",
                );
                $query.push_bind(today).push(")");
            }
            Some(State::InLateTolerance) => {
                $query
                    .push(" and due.lacking is null and due.due_on < ")
                    .push_bind(today);
                $query.push(" and due.latest_on >= ").push_bind(today);
            }
            Some(State::Due) => {
                $query
                    .push(" and due.lacking is null and due.due_on = ")
                    .push_bind(today);
            }
            Some(State::InWindow) => {
                $query
                    .push(" and due.lacking is null and due.due_on > ")
                    .push_bind(today);
                $query.push(" and due.opens_on <= ").push_bind(today);
            }
            Some(State::NotDue) => {
                $query
                    .push(" and due.lacking is null and due.due_on > ")
                    .push_bind(today);
                $query.push(" and due.opens_on > ").push_bind(today);
            }
        }
    }};
}

impl View {
    /// Due work in the order of its dates; one row more than asked for where there are more.
    /// Work whose date cannot be told is a list of its own, asked for by that state. One
    /// statement; cost grows with the rows shown.
    pub async fn due(&mut self, filter: &DueFilter) -> Result<Vec<DueItem>, StoreError> {
        let unknown = filter.state == Some(State::Unknown);
        let rows: Vec<DueListRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(FROM);
            conditions!(query, filter);
            match &filter.after {
                Some(DueCursor { on: Some(on), subject, task }) if !unknown => {
                    query.push(" and (due.due_on, due.subject_id, due.task) > (").push_bind(On(*on));
                    query.push(", ").push_bind(*subject).push(", ").push_bind(task.as_str()).push(")");
                }
                Some(DueCursor { subject, task, .. }) => {
                    query.push(" and (due.subject_id, due.task) > (").push_bind(*subject);
                    query.push(", ").push_bind(task.as_str()).push(")");
                }
                None => {}
            }
            query.push(if unknown { " order by due.subject_id, due.task limit " } else { " order by due.due_on, due.subject_id, due.task limit " });
            query.push_bind(limit(filter.rows));
            query.build_query_as().fetch_all(conn).await
        })?;
        let items: Result<Vec<_>, _> = rows.iter().map(|row| row.item(filter.today)).collect();
        Ok(items?)
    }

    /// How many rows a filter has, counted up to `most`; cost grows with the count.
    pub async fn due_count(&mut self, filter: &DueFilter, most: usize) -> Result<i64, StoreError> {
        let count: i64 = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select count(*) from (select 1 as one from due where ");
            conditions!(query, filter);
            query.push(" limit ").push_bind(limit(most)).push(") counted");
            query.build_query_scalar().fetch_one(conn).await
        })?;
        Ok(count)
    }

    /// The due work of one component, by date; what cannot be told comes last.
    pub async fn due_of_component(
        &mut self,
        component: domain::ledger::entry::Seq,
        today: Day,
    ) -> Result<Vec<DueItem>, StoreError> {
        let rows: Vec<DueListRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(FROM);
            query.push("due.subject_id = ").push_bind(component.0);
            query.push(" order by due.due_on nulls last, due.task");
            query.build_query_as().fetch_all(conn).await
        })?;
        let items: Result<Vec<_>, _> = rows.iter().map(|row| row.item(today)).collect();
        Ok(items?)
    }
}
