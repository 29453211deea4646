//! Where a component was on cars, with when the meters of those were last read: what came off
//! later has run an estimate.

use super::View;
use crate::column::At;
use crate::connect::on;
use crate::dossier::components::{FITMENT_COLUMNS, FitmentRow};
use crate::error::StoreError;
use crate::row::{Both, row};
use domain::ledger::dossier::Fitment;
use domain::ledger::entry::Seq;
use domain::ledger::estimated::LastRead;
use domain::units::Meter;
use sqlx::QueryBuilder;

row!(
    /// When each meter of a car was last read, by the numbers of the meters.
    ReadRow {
        first: Option<At>,
        second: Option<At>,
        third: Option<At>,
    }
);

impl ReadRow {
    fn last_read(&self, fitment: &Fitment) -> impl Iterator<Item = LastRead> {
        let read = [self.first, self.second, self.third];
        let by_meter = Meter::ALL.iter().copied().zip(read);
        by_meter.filter_map(move |(meter, at)| {
            Some(LastRead {
                car: fitment.at.car.clone(),
                meter,
                at: at?.0,
            })
        })
    }
}

impl View {
    /// The fitments of a component on cars, by their beginning, and when the meters were last read
    /// of those that it came off. One statement.
    pub(super) async fn fitments(
        &mut self,
        component: Seq,
    ) -> Result<(Vec<Fitment>, Vec<LastRead>), StoreError> {
        let rows: Vec<Both<FitmentRow, ReadRow>> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select ");
            query.push(FITMENT_COLUMNS).push(", meter_0.last_at as first, meter_1.last_at as second, meter_2.last_at as third from fitment join component on component.id = fitment.component_id join car on car.id = fitment.car_id left join meter meter_0 on meter_0.car_id = fitment.car_id and meter_0.meter = 0 left join meter meter_1 on meter_1.car_id = fitment.car_id and meter_1.meter = 1 left join meter meter_2 on meter_2.car_id = fitment.car_id and meter_2.meter = 2 where fitment.known_until is null and fitment.component_id = ");
            query.push_bind(component.0).push(" order by fitment.from_at");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut fitments: Vec<Fitment> = Vec::with_capacity(rows.len());
        let mut last_read: Vec<LastRead> = Vec::new();
        for Both(fitment, read) in &rows {
            let fitment = fitment.fitment()?;
            let told = last_read.iter().any(|one| one.car == fitment.at.car);
            if fitment.end.is_some() && !told {
                last_read.extend(read.last_read(&fitment));
            }
            fitments.push(fitment);
        }
        Ok((fitments, last_read))
    }
}
