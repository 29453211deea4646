//! All that is due on a few cars, with no more than their pages tell of it.

use super::forecast;
use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::row::{parsed, parsed_option, row};
use domain::due::forecast::Forecast;
use domain::due::state::State;
use domain::identity::{CarNumber, PositionCode, TaskCode};
use domain::ledger::dossier::CarRecord;
use domain::time::Day;
use sqlx::QueryBuilder;

/// One task on a car.
#[derive(Debug, Clone, PartialEq)]
pub struct DueOnCar {
    /// The car.
    pub car: CarNumber,
    /// Where the component is fitted that the work is done on; none for the car as a whole.
    pub position: Option<PositionCode>,
    /// The task.
    pub task: TaskCode,
    /// The dates, the limit that sets them, and what is lacking.
    pub forecast: Forecast,
    /// The state on the day that was asked for.
    pub state: State,
}

row!(OnCarRow {
    car_id: i64,
    position: Option<String>,
    task: String,
    due_on: Option<On>,
    early_on: Option<On>,
    late_on: Option<On>,
    opens_on: Option<On>,
    latest_on: Option<On>,
    set_by: Option<String>,
    lacking: Option<String>,
    at_once: Option<String>,
});

impl OnCarRow {
    fn on(&self, car: &CarNumber, today: Day) -> Result<DueOnCar, sqlx::Error> {
        let days = [
            self.due_on,
            self.early_on,
            self.late_on,
            self.opens_on,
            self.latest_on,
        ];
        let forecast = forecast(
            days,
            self.set_by.as_deref(),
            self.lacking.as_deref(),
            self.at_once.as_deref(),
        )?;
        Ok(DueOnCar {
            car: car.clone(),
            position: parsed_option(self.position.as_deref())?,
            task: parsed(&self.task)?,
            state: forecast.state_on(today),
            forecast,
        })
    }
}

impl View {
    /// All due work on cars: of the components fitted to them and of the cars themselves, by
    /// date; what has none comes last. One statement, linear in what is due on them.
    pub async fn due_on(
        &mut self,
        cars: &[&CarRecord],
        today: Day,
    ) -> Result<Vec<DueOnCar>, StoreError> {
        if cars.is_empty() {
            return Ok(Vec::new());
        }
        let rows: Vec<OnCarRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select car_id, position, task, due_on, early_on, late_on, opens_on, latest_on, set_by, lacking, at_once from due where car_id in (");
            let mut list = query.separated(", ");
            for car in cars {
                list.push_bind(car.id.0);
            }
            query.push(") order by due_on is null, due_on, subject_id, task");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut due = Vec::with_capacity(rows.len());
        for row in &rows {
            if let Some(car) = cars.iter().find(|car| car.id.0 == row.car_id) {
                due.push(row.on(&car.car.number, today)?);
            }
        }
        Ok(due)
    }
}
