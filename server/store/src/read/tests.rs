//! Test records by their identity.

use super::{AsAt, View};
use crate::connect::on;
use crate::dossier::tests::TestRow;
use crate::error::StoreError;
use domain::identity::TestRecordId;
use domain::ledger::dossier::TestedRecord;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;

const TEST: &str = "select id, outcome, body from test_record where name = $1";

impl View {
    /// One test record.
    pub async fn test(&mut self, id: &TestRecordId) -> Result<Option<TestedRecord>, StoreError> {
        let row: Option<TestRow> = on!(&mut self.tx, conn => sqlx::query_as(TEST)
            .bind(id.as_str()).fetch_optional(conn).await)?;
        Ok(row.map(|row| row.record()).transpose()?)
    }

    /// The same as it was told: none where it was made or recorded later. Of a record that was
    /// corrected since, what it said then: two statements more for each correction.
    pub async fn test_told(
        &mut self,
        id: &TestRecordId,
        as_at: AsAt,
    ) -> Result<Option<TestedRecord>, StoreError> {
        let last = self.last_recorded(as_at.known).await?;
        let mut test = self.test(id).await?;
        while let Some(later) = test.as_ref().filter(|test| last < test.by) {
            test = self.corrected_test(later.by, id).await?;
        }
        Ok(test.filter(|test| test.record.at <= as_at.effective))
    }

    /// The record in whose place an entry put another of the same identity.
    async fn corrected_test(
        &mut self,
        by: Seq,
        id: &TestRecordId,
    ) -> Result<Option<TestedRecord>, StoreError> {
        let later = self.entry(by).await?;
        let Some(wrong) = later.and_then(|kept| kept.entry.corrects) else {
            return Ok(None);
        };
        let told = self.entry(wrong).await?.map(|kept| kept.entry.fact);
        Ok(match told {
            Some(Fact::TestRecorded(record)) if record.id == *id => {
                let by_limits = (&*self.documents, &self.zone);
                Some(TestedRecord::new(wrong, record, by_limits))
            }
            _ => None,
        })
    }
}
