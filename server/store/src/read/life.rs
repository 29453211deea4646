//! All entries that say something of a component.

use super::{AsAt, View};
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::ledger::EntryRow;
use domain::ledger::dossier::ComponentRecord;
use domain::ledger::entry::Entry;

/// Entries that a life shows at most: the newest.
pub const LIFE_MAX: usize = 2_000;

/// What still holds: entries that were taken back are in the ledger, and not here.
const LIFE: &str = "with said (seq) as (
    select recorded_by from component_state where component_id = $1 and known_until is null
    union select recorded_by from work_done where component_id = $1
    union select id from test_record where component_id = $1
    union select id from plate where component_id = $1
    union select id from evidence_hold where component_id = $1
    union select lifted_by from evidence_hold where component_id = $1 and lifted_by is not null
    union select fitted_by from fitment where component_id = $1 and known_until is null
    union select removed_by from fitment where component_id = $1 and known_until is null and removed_by is not null)
    select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash
    from said cross join ledger where ledger.seq = said.seq
    order by ledger.effective_at desc, ledger.seq desc limit $2";

/// The same of what was known at $2 and had become true by $3.
const LIFE_THEN: &str = "with said (seq) as (
    select recorded_by from component_state where component_id = $1 and known_from <= $2 and (known_until is null or $2 < known_until)
    union select recorded_by from work_done where component_id = $1
    union select id from test_record where component_id = $1
    union select id from evidence_hold where component_id = $1
    union select lifted_by from evidence_hold where component_id = $1 and lifted_by is not null
    union select entry from withdrawn where subject_id = $1 and known_from <= $2 and $2 < known_until
    union select fitted_by from fitment where component_id = $1 and known_from <= $2 and (known_until is null or $2 < known_until)
    union select removed_by from fitment where component_id = $1 and known_from <= $2 and (known_until is null or $2 < known_until) and removed_by is not null)
    select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash
    from said cross join ledger where ledger.seq = said.seq and ledger.recorded_at <= $2 and ledger.effective_at <= $3
    order by ledger.effective_at desc, ledger.seq desc limit $4";

impl View {
    /// The entries that said something of a component by a time and held as known at another.
    /// One statement; the same cost.
    pub async fn entries_of_then(
        &mut self,
        record: &ComponentRecord,
        as_at: AsAt,
    ) -> Result<Vec<Entry>, StoreError> {
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => sqlx::query_as(LIFE_THEN)
            .bind(record.id.0).bind(At(as_at.known)).bind(At(as_at.effective))
            .bind(super::cars::limit(LIFE_MAX)).fetch_all(conn).await)?;
        let entries: Result<Vec<_>, sqlx::Error> = rows.iter().rev().map(EntryRow::entry).collect();
        Ok(entries?)
    }

    /// The entries that say something of a component and still hold, by their time; one more than
    /// [`LIFE_MAX`] where there are more. One statement; cost grows with what is shown.
    pub async fn entries_of(&mut self, record: &ComponentRecord) -> Result<Vec<Entry>, StoreError> {
        let rows: Vec<EntryRow> = on!(&mut self.tx, conn => sqlx::query_as(LIFE)
            .bind(record.id.0).bind(super::cars::limit(LIFE_MAX)).fetch_all(conn).await)?;
        let entries: Result<Vec<_>, sqlx::Error> = rows.iter().rev().map(EntryRow::entry).collect();
        Ok(entries?)
    }
}
