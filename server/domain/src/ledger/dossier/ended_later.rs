//! How later entries ended what a corrected entry had begun: what takes its place ends so, too.

use super::{Dossier, FitmentEnd, Whereabouts};
use crate::configuration::component::{ComponentRef, PositionRef};
use crate::configuration::host::HostPosition;
use crate::identity::LocationName;
use crate::ledger::entry::Seq;
use crate::time::Instant;
use std::collections::HashMap;

/// The ends of what an entry began that is taken back.
#[derive(Debug, Default)]
pub(crate) struct EndedLater {
    fitments: Vec<(ComponentRef, HostPosition, FitmentEnd)>,
    isolation: Option<(PositionRef, (Instant, Seq))>,
    known: HashMap<Seq, (Instant, Seq)>,
}

impl EndedLater {
    /// Remembers how a fitment ended.
    pub(crate) fn note_fitment(
        &mut self,
        (component, at): (ComponentRef, HostPosition),
        end: FitmentEnd,
    ) {
        self.fitments.push((component, at, end));
    }

    /// Remembers how a cut-out ended.
    pub(crate) fn note_isolation(&mut self, at: PositionRef, ended: (Instant, Seq)) {
        self.isolation = Some((at, ended));
    }

    /// How the fitment of a component at a position ended, if it began by what is taken back.
    pub(crate) fn fitment(
        &self,
        component: &ComponentRef,
        at: &HostPosition,
    ) -> Option<&FitmentEnd> {
        let mut ended = self.fitments.iter();
        let found = ended.find(|(of, place, _)| of == component && place == at);
        found.map(|(.., end)| end)
    }

    /// How the cut-out of a position ended, if it began by what is taken back.
    pub(crate) fn isolation(&self, at: &PositionRef) -> Option<(Instant, Seq)> {
        let found = self.isolation.as_ref().filter(|(place, _)| place == at);
        found.map(|(_, ended)| *ended)
    }

    /// Whether an entry ended the cut-out of what is taken back, or was known to have ended one that is
    /// told by its entry alone.
    pub(crate) fn is_ended_by(&self, by: Seq) -> bool {
        let taken_back = self.isolation.iter().map(|(_, (_, end))| *end);
        let known = self.known.values().map(|(_, end)| *end);
        taken_back.chain(known).any(|end| end == by)
    }

    /// How the cut-out of an entry had ended as it was known then.
    pub(crate) fn as_known(&self, cut_out: Seq) -> Option<(Instant, Seq)> {
        self.known.get(&cut_out).copied()
    }
}

impl Dossier {
    /// Loads how a cut-out had ended that is told by its entry alone, since another has taken its
    /// place.
    pub fn load_end_known(&mut self, cut_out: Seq, ended: (Instant, Seq)) {
        self.ended_later.known.insert(cut_out, ended);
    }

    /// Where a component was kept before it was put somewhere at a moment; none where it came from
    /// another position.
    pub(crate) fn kept_before(
        &self,
        component: &ComponentRef,
        at: Instant,
    ) -> Option<LocationName> {
        let until = self.states_of(component).iter();
        let until = until.filter(|state| state.since <= at);
        let mut said = until.filter_map(|state| state.whereabouts.as_ref());
        match said.next_back()? {
            Whereabouts::Fitted => None,
            Whereabouts::Kept(kept) => Some(kept.location.clone()),
        }
    }
}
