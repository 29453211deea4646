//! Test records by their identity.

use super::{AsAt, View};
use crate::connect::on;
use crate::dossier::tests::TestRow;
use crate::error::StoreError;
use domain::identity::TestRecordId;
use domain::ledger::dossier::TestedRecord;

const TEST: &str = "select id, outcome, body from test_record where name = $1";

impl View {
    /// One test record.
    pub async fn test(&mut self, id: &TestRecordId) -> Result<Option<TestedRecord>, StoreError> {
        let row: Option<TestRow> = on!(&mut self.tx, conn => sqlx::query_as(TEST)
            .bind(id.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// The same as it was told: none where it was made or recorded later.
    pub async fn test_told(
        &mut self,
        id: &TestRecordId,
        as_at: AsAt,
    ) -> Result<Option<TestedRecord>, StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        let test = self.test(id).await?;
        Ok(test.filter(|test| test.by <= last && test.record.at <= as_at.effective))
    }
}
