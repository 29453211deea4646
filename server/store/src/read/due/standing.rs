//! How some components stand: the worst state of their work, and what comes first.

use super::forecast;
use crate::column::On;
use crate::connect::on;
use crate::error::StoreError;
use crate::read::View;
use crate::row::row;
use domain::due::state::Standing;
use domain::ledger::dossier::ComponentRecord;
use domain::ledger::entry::Seq;
use domain::time::Day;
use sqlx::QueryBuilder;
use std::collections::BTreeMap;

row!(StandingRow {
    subject_id: i64,
    due_on: Option<On>,
    early_on: Option<On>,
    late_on: Option<On>,
    opens_on: Option<On>,
    latest_on: Option<On>,
    set_by: Option<String>,
    lacking: Option<String>,
    at_once: Option<String>,
});

impl View {
    /// How components stand on a day, by their numbers; those on which no work is ever due are
    /// absent. One statement, linear in their tasks.
    pub async fn standing_of(
        &mut self,
        components: &[ComponentRecord],
        today: Day,
    ) -> Result<BTreeMap<Seq, Standing>, StoreError> {
        if components.is_empty() {
            return Ok(BTreeMap::new());
        }
        let rows: Vec<StandingRow> = on!(&mut self.tx, conn => {
            let mut query = QueryBuilder::new("select subject_id, due_on, early_on, late_on, opens_on, latest_on, set_by, lacking, at_once from due where subject_id in (");
            let mut list = query.separated(", ");
            for component in components {
                list.push_bind(component.id.0);
            }
            query.push(")");
            query.build_query_as().fetch_all(conn).await
        })?;
        let mut standing: BTreeMap<Seq, Standing> = BTreeMap::new();
        for row in &rows {
            let days = [
                row.due_on,
                row.early_on,
                row.late_on,
                row.opens_on,
                row.latest_on,
            ];
            let (set_by, lacking) = (row.set_by.as_deref(), row.lacking.as_deref());
            let work = forecast(days, set_by, lacking, row.at_once.as_deref())?;
            let work = Standing::of(&work, today);
            standing
                .entry(Seq(row.subject_id))
                .and_modify(|worst| *worst = worst.with(work))
                .or_insert(work);
        }
        Ok(standing)
    }
}
