//! All entries that say something of a component, and in which condition what it was inside was
//! found meanwhile: what befell that may have befallen it.

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
const LIFE: &str = "with recursive around (host_id, from_at, until_at, level) as (
    select host_id, from_at, until_at, 1 from inner_fitment where component_id = $1 and known_until is null
    union select above.host_id,
        case when above.from_at < around.from_at then around.from_at else above.from_at end,
        case when around.until_at is null or above.until_at < around.until_at then above.until_at else around.until_at end,
        around.level + 1
    from around cross join inner_fitment above
    where above.component_id = around.host_id and above.known_until is null and around.level < 8
        and (around.until_at is null or above.from_at < around.until_at)
        and (above.until_at is null or around.from_at < above.until_at)),
said (seq) as (
    select recorded_by from component_state where component_id = $1 and known_until is null
    union select recorded_by from work_done where component_id = $1
    union select id from test_record where component_id = $1
    union select id from plate where component_id = $1
    union select id from evidence_hold where component_id = $1
    union select lifted_by from evidence_hold where component_id = $1 and lifted_by is not null
    union select fitted_by from fitment where component_id = $1 and known_until is null
    union select removed_by from fitment where component_id = $1 and known_until is null and removed_by is not null
    union select component_state.recorded_by from around cross join component_state
        where component_state.component_id = around.host_id and component_state.known_until is null
        and component_state.condition is not null and component_state.recorded_by <> around.host_id
        and around.from_at <= component_state.since and (around.until_at is null or component_state.since < around.until_at))
    select ledger.seq, ledger.command, ledger.recorded_at, ledger.effective_at, ledger.actor, ledger.reason, ledger.corrects, ledger.kind, ledger.body, ledger.consequences, ledger.hash
    from said cross join ledger where ledger.seq = said.seq
    order by ledger.effective_at desc, ledger.seq desc limit $2";

/// The same of what was known at $2 and had become true by $3.
const LIFE_THEN: &str = "with recursive around (host_id, from_at, until_at, level) as (
    select host_id, from_at, until_at, 1 from inner_fitment where component_id = $1 and known_from <= $2 and (known_until is null or $2 < known_until)
    union select above.host_id,
        case when above.from_at < around.from_at then around.from_at else above.from_at end,
        case when around.until_at is null or above.until_at < around.until_at then above.until_at else around.until_at end,
        around.level + 1
    from around cross join inner_fitment above
    where above.component_id = around.host_id and above.known_from <= $2 and (above.known_until is null or $2 < above.known_until) and around.level < 8
        and (around.until_at is null or above.from_at < around.until_at)
        and (above.until_at is null or around.from_at < above.until_at)),
said (seq) as (
    select recorded_by from component_state where component_id = $1 and known_from <= $2 and (known_until is null or $2 < known_until)
    union select recorded_by from work_done where component_id = $1
    union select id from test_record where component_id = $1
    union select id from evidence_hold where component_id = $1
    union select lifted_by from evidence_hold where component_id = $1 and lifted_by is not null
    union select entry from withdrawn where subject_id = $1 and known_from <= $2 and $2 < known_until
    union select fitted_by from fitment where component_id = $1 and known_from <= $2 and (known_until is null or $2 < known_until)
    union select removed_by from fitment where component_id = $1 and known_from <= $2 and (known_until is null or $2 < known_until) and removed_by is not null
    union select component_state.recorded_by from around cross join component_state
        where component_state.component_id = around.host_id and component_state.known_from <= $2
        and (component_state.known_until is null or $2 < component_state.known_until)
        and component_state.condition is not null and component_state.recorded_by <> around.host_id
        and around.from_at <= component_state.since and (around.until_at is null or component_state.since < around.until_at))
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
