//! What pages and answers ask of the register: one consistent view each, in a fixed number of
//! statements, at a cost that grows with what is shown.

pub(crate) mod alike;
mod as_known;
pub mod assemblies;
pub mod board;
pub mod campaigns;
pub mod carrying;
pub mod cars;
pub mod components;
pub mod decisions;
pub mod departures;
mod design_known;
pub mod designs;
pub mod doubted;
pub mod due;
pub mod entries;
pub mod fleet_checks;
pub(crate) mod formation_then;
pub mod formations;
pub mod holds;
mod last_read;
pub mod life;
pub mod modifications;
pub mod not_there;
mod on_cars;
pub mod proposals;
pub(crate) mod proved;
pub mod search;
pub mod settings;
pub mod sides;
pub mod stock;
pub mod stock_then;
pub mod stretch;
pub mod tests;
pub mod then;
mod touched_then;
pub mod trains;
pub mod trial;
mod vacated;
mod vehicles;
pub mod visits;
pub mod whereabouts;

use crate::connect::Tx;
use crate::error::StoreError;
use crate::ledger::{self, Head};
use crate::past_designs::PastDesigns;
use crate::record::Store;
use domain::ledger::chain::Hash;
use domain::ledger::dossier::{Documents, HoldsInForce};
use domain::ledger::entry::Seq;
use domain::time::{Instant, Zone};
use std::sync::Arc;

/// The register as it stood at one moment, for the time of one page. It cannot write.
pub struct View {
    tx: Tx,
    /// In which days begin and end.
    zone: Zone,
    /// The design data.
    pub documents: Arc<Documents>,
    /// The last entry that changed them.
    design_seq: Seq,
    /// Those of past times.
    past_designs: PastDesigns,
    /// The last entry that was known, of a view of what was known at a past time.
    known: Option<Seq>,
    /// The last entries that were recorded by times, once these were asked for: few.
    recorded: Vec<(Instant, Seq)>,
    /// The evidence holds in force: every page that could act on a thing says so.
    pub holds: Arc<HoldsInForce>,
    /// Whether a hold was ever set.
    ever_held: bool,
    /// Whether a doubt about a component was ever raised.
    ever_doubted: bool,
    /// The number of the last entry it shows.
    pub last_entry: i64,
    /// The hash of that entry, in which the whole chain up to it is contained.
    pub last_hash: Hash,
    /// The last entry that can change what is said about trains; 0 before the first.
    pub last_change: i64,
    /// When that was recorded, if it is known.
    pub last_change_at: Option<Instant>,
}

/// Two times: when something was so in the world, and when the register knew it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AsAt {
    /// The effective time.
    pub effective: Instant,
    /// The recorded time.
    pub known: Instant,
}

impl Store {
    /// Opens a view: one statement, and one more after design data or evidence holds have changed.
    pub async fn view(&self) -> Result<View, StoreError> {
        let mut tx = self.pools.read().await?;
        let head = ledger::read_head(&mut tx).await?;
        self.view_of(tx, &head).await
    }

    /// What a transaction sees, with the head of the ledger in it.
    pub(crate) async fn view_of(&self, mut tx: Tx, head: &Head) -> Result<View, StoreError> {
        let documents = self.documents(&mut tx, head.design_seq).await?;
        let holds = self.holds(&mut tx, head.holds_seq).await?;
        Ok(View {
            tx,
            zone: self.zone.clone(),
            documents,
            design_seq: Seq(head.design_seq),
            past_designs: self.past_designs.clone(),
            known: None,
            recorded: Vec::new(),
            holds,
            ever_held: head.holds_seq != 0,
            ever_doubted: head.doubts_seq != 0,
            last_entry: head.seq,
            last_hash: head.hash,
            last_change: head.changed_seq,
            last_change_at: head.changed_at,
        })
    }
}

impl View {
    /// The transaction, to go on with.
    pub(crate) fn into_tx(self) -> Tx {
        self.tx
    }
}
