//! How much work is due in each of some periods, for the picture beside the list.

use super::DueFilter;
use super::list::place_conditions;
use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::read::cars::limit;
use crate::row::row;
use domain::due::place::WorkPlace;
use domain::time::Day;
use sqlx::QueryBuilder;

/// The most tasks that are counted: what a page can afford.
pub const COUNTED_MAX: usize = 5_000;

/// How many tasks are due in each of some periods that follow each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueByPeriod {
    /// The tasks of each period; none where not all of them were counted.
    pub tasks: Vec<Option<i64>>,
    /// The first day that was not counted, where counting stopped early.
    pub stopped_at: Option<Day>,
}

row!(PeriodRow {
    place: i64,
    stopped_at: Option<On>,
    tasks: Option<i64>,
});

row!(DayRow {
    due_on: On,
    tasks: i64,
});

impl View {
    /// How many tasks are due before the first of some days, from it to the second, and so on up
    /// to the last, where the filter looks and in whatever state. Counts at most [`COUNTED_MAX`].
    /// One statement; cost grows with the tasks counted. Those of a car or a unit are counted all,
    /// in one look at each.
    pub async fn due_by_period(
        &mut self,
        filter: &DueFilter,
        ends: &[Day],
    ) -> Result<DueByPeriod, StoreError> {
        let Some(last) = ends.last() else {
            return Ok(DueByPeriod {
                tasks: Vec::new(),
                stopped_at: None,
            });
        };
        if filter.is_near() {
            return Ok(DueByPeriod {
                tasks: self.due_near(filter, ends, *last).await?,
                stopped_at: None,
            });
        }
        let begins = std::iter::once(&Day::EARLIEST).chain(ends);
        let periods = (0_i64..).zip(begins.zip(ends));
        let mut rows: Vec<PeriodRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("with period (place, since, until) as (");
            query.push_values(periods, |mut values, (place, (since, until))| {
                values.push_bind(place).push_bind(On(*since)).push_bind(On(*until));
            });
            query.push("), stop (first) as (select due.due_on from due where ");
            place_conditions!(query, filter);
            query.push(" and due.due_on < ").push_bind(On(*last));
            query.push(" order by due.due_on limit 1 offset ").push_bind(limit(COUNTED_MAX));
            query.push(
                ") select period.place, stop.first as stopped_at, case when period.until <= coalesce(stop.first, period.until) then (select count(*) from due where ",
            );
            place_conditions!(query, filter);
            query.push(
                " and due.due_on >= period.since and due.due_on < period.until) end as tasks from period left join stop on 1 = 1",
            );
            query.build_query_as().fetch_all(conn).await
        })?;
        rows.sort_by_key(|row| row.place);
        Ok(DueByPeriod {
            stopped_at: rows.first().and_then(|row| row.stopped_at).map(|on| on.0),
            tasks: rows.into_iter().map(|row| row.tasks).collect(),
        })
    }

    /// The tasks of each period on a car or the cars of a unit: no index has those of several cars by date.
    async fn due_near(
        &mut self,
        filter: &DueFilter,
        ends: &[Day],
        last: Day,
    ) -> Result<Vec<Option<i64>>, StoreError> {
        let days: Vec<DayRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select due.due_on, count(*) as tasks from due where ");
            place_conditions!(query, filter);
            query.push(" and due.due_on < ").push_bind(On(last));
            query.push(" group by due.due_on");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut tasks = vec![0; ends.len()];
        for DayRow {
            due_on,
            tasks: on_day,
        } in days
        {
            tasks[ends.partition_point(|end| *end <= due_on.0)] += on_day;
        }
        Ok(tasks.into_iter().map(Some).collect())
    }
}
