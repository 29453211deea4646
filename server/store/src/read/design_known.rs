//! The design data as the register knew it at a time: car types with their revisions and from when
//! they were in force, parts, tasks, procedures, concessions, modifications and kinds of locations.

use super::View;
use crate::column::At;
use crate::connect::on;
use crate::error::StoreError;
use crate::record::Store;
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::time::Instant;
use std::sync::Arc;

const BEGAN: &str = "select recorded_at from ledger order by seq limit 1";
const LAST_RECORDED: &str =
    "select seq from ledger where recorded_at <= $1 order by recorded_at desc, seq desc limit 1";

impl Store {
    /// A view with the design data that was known at a time, and the cars that were in the register then. One statement more than that of now,
    /// and two that read all design data of then where it was changed since and was not asked for
    /// lately. Before the first entry was recorded nothing was known, which is no view at all.
    pub async fn view_known(&self, known: Instant) -> Result<View, StoreError> {
        let mut view = self.view().await?;
        let last = view.last_recorded(known).await?;
        view.documents = view.documents_known(known).await?;
        view.design_seq = view.design_seq.min(last);
        view.known = Some(last);
        Ok(view)
    }
}

impl View {
    /// When the first entry was recorded.
    async fn began(&mut self) -> Result<Option<Instant>, StoreError> {
        let began: Option<At> =
            on!(&mut self.tx, conn => sqlx::query_scalar(BEGAN).fetch_optional(conn).await)?;
        Ok(began.map(|at| at.0))
    }

    /// The design data that was known at a time, of that which the view has.
    pub async fn documents_known(&mut self, known: Instant) -> Result<Arc<Documents>, StoreError> {
        let last = self.last_recorded(known).await?;
        if self.design_seq <= last {
            return Ok(Arc::clone(&self.documents));
        }
        self.past_designs.as_of(&mut self.tx, last).await
    }

    /// The last entry recorded by a time. Before the first nothing was known, which is told as such;
    /// of a register with no entry, none is the last.
    pub(super) async fn last_recorded(&mut self, known: Instant) -> Result<Seq, StoreError> {
        if let Some((_, last)) = self.recorded.iter().find(|(asked, _)| *asked == known) {
            return Ok(*last);
        }
        let last: Option<i64> = on!(&mut self.tx, conn => sqlx::query_scalar(LAST_RECORDED)
            .bind(At(known)).fetch_optional(conn).await)?;
        if last.is_none()
            && let Some(began) = self.began().await?
        {
            return Err(StoreError::NotBegun(self.zone.show(began)));
        }
        let last = Seq(last.unwrap_or_default());
        self.recorded.push((known, last));
        Ok(last)
    }
}
