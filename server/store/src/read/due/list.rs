//! The list itself, and how long it is.

use super::row::{DueListRow, LISTED, TOLD};
use super::{DueCursor, DueFilter, DueItem};
use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::read::cars::limit;
use domain::due::place::WorkPlace;
use domain::due::state::State;
use domain::ledger::entry::Seq;
use domain::time::Day;
use sqlx::QueryBuilder;

/// Pushes where a filter looks. The words are the same for both databases.
macro_rules! place_conditions {
    ($query:expr, $filter:expr) => {{
        let filter = $filter;
        // Work on a car has the car's fleet, which stands in the index by date.
        $query.push(match filter.place {
            None => "1 = 1",
            Some(WorkPlace::OnCars) => "due.fleet is not null",
            Some(WorkPlace::OffCars) => "due.fleet is null",
        });
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
    }};
}
pub(super) use place_conditions;

/// Pushes all conditions of a filter.
macro_rules! conditions {
    ($query:expr, $filter:expr) => {{
        let filter = $filter;
        let today = On(filter.today);
        place_conditions!($query, filter);
        if let Some(until) = filter
            .until
            .filter(|_| filter.has_dates())
        {
            $query.push(" and due.due_on <= ").push_bind(On(until));
        }
        match filter.state {
            None if filter.ends_undated() => {}
            None => {
                $query.push(" and due.due_on is not null");
            }
            Some(State::Overdue) => {
                $query.push(" and due.due_on < ").push_bind(today);
                $query.push(" and due.latest_on < ").push_bind(today);
            }
            Some(State::Unknown) => {
                $query.push(
                    " and due.lacking is not null and due.at_once is null and (due.latest_on is null or due.latest_on >= ",
                );
                $query.push_bind(today).push(")");
            }
            Some(State::NoDate) => {
                $query.push(" and due.due_on is null and due.lacking is null");
            }
            Some(State::InLateTolerance) => {
                $query
                    .push(" and due.lacking is null and due.at_once is null and due.due_on < ")
                    .push_bind(today);
                $query.push(" and due.latest_on >= ").push_bind(today);
            }
            Some(State::Due) => {
                $query.push(" and due.due_on <= ").push_bind(today);
                $query.push(" and (due.latest_on is null or due.latest_on >= ");
                $query.push_bind(today);
                $query.push(") and (due.at_once is not null or (due.lacking is null and due.due_on = ");
                $query.push_bind(today).push("))");
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

/// The orders of lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Order {
    /// By date; what has none comes last.
    Date,
    /// By subject.
    Subject,
}

/// Rows as the core has them, in order.
fn items(rows: &[DueListRow], today: Day, order: Order) -> Result<Vec<DueItem>, sqlx::Error> {
    let items: Result<Vec<_>, _> = rows.iter().map(|row| row.item(today)).collect();
    let mut items = items?;
    items.sort_by(|one, other| {
        let key = |item: &DueItem| {
            let on = item.cursor.on.filter(|_| order == Order::Date);
            (on.is_none(), on, item.cursor.subject)
        };
        let by_task = || one.task.cmp(&other.task);
        key(one).cmp(&key(other)).then_with(by_task)
    });
    Ok(items)
}

impl View {
    /// Due work in the order of its dates; one row more than asked for where there are more.
    /// Work whose date cannot be told, and work that has none, are lists of their own, asked for
    /// by those states, and end the list of a car or a unit. One statement; cost grows with the rows shown.
    pub async fn due(&mut self, filter: &DueFilter) -> Result<Vec<DueItem>, StoreError> {
        let by_date = filter.has_dates();
        let rows: Vec<DueListRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(LISTED);
            conditions!(query, filter);
            let undated = by_date && filter.ends_undated();
            match &filter.after {
                Some(DueCursor { on: Some(on), subject, task }) if by_date => {
                    query.push(if undated { " and (due.due_on is null or " } else { " and (" });
                    query.push("(due.due_on, due.subject_id, due.task) > (").push_bind(On(*on));
                    query.push(", ").push_bind(*subject).push(", ").push_bind(task.as_str()).push("))");
                }
                Some(DueCursor { subject, task, .. }) => {
                    query.push(if undated { " and due.due_on is null" } else { "" });
                    query.push(" and (due.subject_id, due.task) > (").push_bind(*subject);
                    query.push(", ").push_bind(task.as_str()).push(")");
                }
                None => {}
            }
            query.push(match (by_date, undated) {
                (true, true) => " order by due.due_on is null, due.due_on, due.subject_id, due.task limit ",
                (true, false) => " order by due.due_on, due.subject_id, due.task limit ",
                (false, _) => " order by due.subject_id, due.task limit ",
            });
            query.push_bind(limit(filter.rows)).push(TOLD);
            query.build_query_as().fetch_all(conn).await
        })?;
        let order = if by_date { Order::Date } else { Order::Subject };
        Ok(items(&rows, filter.today, order)?)
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
        component: Seq,
        today: Day,
    ) -> Result<Vec<DueItem>, StoreError> {
        let rows: Vec<DueListRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new(LISTED);
            query.push("due.subject_id = ").push_bind(component.0);
            query.push(TOLD);
            query.build_query_as().fetch_all(conn).await
        })?;
        Ok(items(&rows, today, Order::Date)?)
    }
}
