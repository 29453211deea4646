//! The design data of a few past times in memory: to read and compile all of it costs more than all
//! else that a page of the past does, and whoever looks at one past time looks at it again.

use crate::connect::{Tx, on};
use crate::documents;
use crate::error::StoreError;
use crate::row::row;
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use std::sync::{Arc, Mutex, PoisonError};

/// How many are kept: those that were asked for last.
const KEPT: usize = 4;

row!(StretchRow {
    from_seq: Option<i64>,
    before_seq: Option<i64>,
});

const STRETCH: &str = "select (select max(seq) from document where seq <= $1) as from_seq,
    (select min(seq) from document where seq > $1) as before_seq";

/// The design data that was the same from one entry until another changed it.
#[derive(Debug)]
struct PastDesign {
    from: Seq,
    before: Seq,
    documents: Arc<Documents>,
}

/// What is kept, the one asked for last at the end. What was recorded is never changed, so none of
/// it becomes untrue.
#[derive(Debug, Clone, Default)]
pub(crate) struct PastDesigns(Arc<Mutex<Vec<PastDesign>>>);

impl PastDesigns {
    /// The design data as of an entry, after which it was changed. No statement where it is kept,
    /// else two.
    pub(crate) async fn as_of(&self, tx: &mut Tx, last: Seq) -> Result<Arc<Documents>, StoreError> {
        if let Some(kept) = self.kept(last) {
            return Ok(kept);
        }
        let documents = Arc::new(documents::read(tx, last).await?);
        let stretch: StretchRow =
            on!(tx, conn => sqlx::query_as(STRETCH).bind(last.0).fetch_one(conn).await)?;
        if let Some(before) = stretch.before_seq {
            self.keep(PastDesign {
                from: Seq(stretch.from_seq.unwrap_or_default()),
                before: Seq(before),
                documents: Arc::clone(&documents),
            });
        }
        Ok(documents)
    }

    fn kept(&self, last: Seq) -> Option<Arc<Documents>> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let place = all
            .iter()
            .position(|one| one.from <= last && last < one.before)?;
        let found = all.remove(place);
        let documents = Arc::clone(&found.documents);
        all.push(found);
        Some(documents)
    }

    fn keep(&self, one: PastDesign) {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|other| other.from != one.from);
        if all.len() == KEPT {
            all.remove(0);
        }
        all.push(one);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(from: i64, before: i64) -> PastDesign {
        PastDesign {
            from: Seq(from),
            before: Seq(before),
            documents: Arc::default(),
        }
    }

    #[test]
    fn those_asked_for_last_are_kept_and_each_only_for_its_entries() {
        let kept = PastDesigns::default();
        for from in 0..4 {
            kept.keep(design(from * 10, from * 10 + 10));
        }
        assert!(kept.kept(Seq(0)).is_some() && kept.kept(Seq(9)).is_some());
        assert!(kept.kept(Seq(40)).is_none(), "changed by then");
        // The first was asked for since, so that the second makes room.
        kept.keep(design(40, 50));
        assert!(kept.kept(Seq(15)).is_none());
        assert!(kept.kept(Seq(5)).is_some() && kept.kept(Seq(45)).is_some());
    }
}
