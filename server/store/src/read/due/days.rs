//! How much work is due on each day, for the picture beside the list.

use super::DueFilter;
use super::list::place_conditions;
use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::read::cars::limit;
use domain::time::Day;
use sqlx::QueryBuilder;

/// The most tasks that are counted: what a page can afford.
pub const DAYS_TASKS_MAX: usize = 5_000;

/// How many tasks are due on each day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueByDay {
    /// Days on which something is due, in order, with the number of tasks.
    pub days: Vec<(Day, i64)>,
    /// The first day that was not counted, where counting stopped early.
    pub stopped_at: Option<Day>,
}

impl View {
    /// How many tasks are due on each day before one, those overdue included, where the filter
    /// looks and in whatever state. Counts at most [`DAYS_TASKS_MAX`]. One statement; cost grows
    /// with the tasks counted.
    pub async fn due_by_day(
        &mut self,
        filter: &DueFilter,
        before: Day,
    ) -> Result<DueByDay, StoreError> {
        let rows: Vec<(On, i64)> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select due_on, count(*) as tasks from (select due.due_on from due where ");
            place_conditions!(query, filter);
            query.push(" and due.due_on < ").push_bind(On(before));
            query.push(" order by due.due_on limit ").push_bind(limit(DAYS_TASKS_MAX));
            query.push(") counted group by due_on order by due_on");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut days: Vec<(Day, i64)> = rows.into_iter().map(|(on, tasks)| (on.0, tasks)).collect();
        let counted: i64 = days.iter().map(|(_, tasks)| tasks).sum();
        let stopped_at = if counted < limit(DAYS_TASKS_MAX) {
            None
        } else {
            // Of the last day perhaps not all were counted.
            days.pop().map(|(day, _)| day)
        };
        Ok(DueByDay { days, stopped_at })
    }
}
