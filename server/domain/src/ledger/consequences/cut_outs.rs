//! What a correction does to cut-outs: what an entry ended is in force again without it; and what a test
//! that is told late does to their ends.

use super::{CameOrWent, CutOutMoved};
use crate::configuration::component::PositionRef;
use crate::identity::TestRecordId;
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::ledger::proof::Ended;
use crate::time::Instant;
use serde::{Deserialize, Serialize};

/// The end of a cut-out that is not proved with what a test tells that was recorded after it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EndUnproved {
    /// Where.
    #[serde(flatten)]
    pub at: PositionRef,
    /// When it ended.
    pub ended: Instant,
    /// The entry that ended it.
    pub by: Seq,
    /// The earlier test on the strength of which it ended.
    pub proved_by: TestRecordId,
}

impl From<&Ended> for EndUnproved {
    fn from(end: &Ended) -> Self {
        let (ended, by) = end.ended;
        Self {
            at: end.position.clone(),
            ended,
            by,
            proved_by: end.proof.record.id.clone(),
        }
    }
}

impl Dossier {
    /// The cut-outs that are in force again, or no more, since an entry corrected another.
    pub fn cut_outs_moved(&self, entry: &Entry) -> Vec<CutOutMoved> {
        let corrected = entry.corrects.and_then(|seq| self.corrected.get(&seq));
        let (at, change) = match (corrected.map(|(wrong, _)| &wrong.fact), &entry.fact) {
            // At another time, or for another reason, it is in force as long as it was.
            (
                Some(Fact::IsolationEnded { at: one, .. }),
                Fact::IsolationEnded { at: other, .. },
            ) if one == other => return Vec::new(),
            (Some(Fact::Isolated(one)), Fact::Isolated(other)) if one.at == other.at => {
                return Vec::new();
            }
            (Some(Fact::IsolationEnded { at, .. }), _) => (at, CameOrWent::Came),
            (Some(Fact::Isolated(cut_out)), _) => (&cut_out.at, CameOrWent::Went),
            _ => return Vec::new(),
        };
        let mut there = self.isolations.get(at).into_iter().flatten();
        let in_force = there.any(|isolation| isolation.ended.is_none());
        if in_force != (change == CameOrWent::Came) {
            return Vec::new();
        }
        vec![CutOutMoved {
            at: at.clone(),
            change,
        }]
    }
}
