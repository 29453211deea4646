//! The one write path: take the head of the ledger and with it the lock, load what is touched,
//! let the core decide, append, keep what changed, commit. All or nothing.

use crate::absent::IfAbsent;
use crate::announce::Announcer;
use crate::asked_too::StillCarrying;
use crate::connect::{Pools, Tx};
use crate::consequences::{Look, decided_since};
use crate::dossier::{self, Known};
use crate::error::StoreError;
use crate::keep::{self, Write};
use crate::ledger::{self, Head};
use crate::past_designs::PastDesigns;
use crate::proof::{self, Proven};
use crate::read::holds::in_force;
use crate::repeated::recorded_before;
use crate::settle::Settling;
use crate::zone::KeepZone;
use crate::{documents, refused, zone};
use domain::ledger::command::Command;
use domain::ledger::consequences::reaches_back;
use domain::ledger::dossier::{Documents, Dossier, HoldsInForce};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::ledger::record::{Next, record};
use domain::ledger::touches::Touched;
use domain::people::{Actor, Authority};
use domain::time::{Instant, Zone};
use std::sync::{Arc, Mutex, PoisonError};

/// The register's storage. Cheap to clone; all clones share their connections.
#[derive(Debug, Clone)]
pub struct Store {
    pub(crate) pools: Pools,
    pub(crate) zone: Zone,
    pub(crate) announcer: Announcer,
    copy: Arc<Mutex<Copy>>,
    pub(crate) past_designs: PastDesigns,
}

/// The copies of the design data and of the evidence holds in memory, each with the entry up to
/// which it is current.
#[derive(Debug, Default)]
struct Copy {
    design_seq: i64,
    documents: Arc<Documents>,
    holds_seq: i64,
    holds: Arc<HoldsInForce>,
}

/// What became of a command.
#[derive(Debug, Clone, PartialEq)]
pub enum Recorded {
    /// It is in the ledger as this entry.
    Now(Box<Entry>),
    /// The same command was recorded before, by this entry; nothing was changed.
    Before(Seq),
}

impl Recorded {
    /// The entry that it is.
    pub fn seq(&self) -> Seq {
        match self {
            Self::Now(entry) => entry.seq,
            Self::Before(seq) => *seq,
        }
    }
}

/// A command that may be recorded, as its entry, and what it changes.
pub(crate) struct Decided {
    pub(crate) dossier: Dossier,
    pub(crate) entry: Entry,
    pub(crate) authority: Authority,
}

impl Decided {
    /// Whether it puts something in force for days that are over, or tells what may have been so then.
    fn reaches_back(&self, now: Instant) -> bool {
        self.since() < now.earlier_by_days(1)
    }

    /// Whether it puts a task in force that two people agreed on: its limits, and after what work it is
    /// due at once, can make work due of days that are over.
    fn agrees_on_a_task(&self) -> bool {
        let Self { dossier, entry, .. } = self;
        let agreed = matches!(entry.fact, Fact::Approved { .. });
        agreed && matches!(&*dossier.made_true(&entry.fact), Fact::TaskDefined(_))
    }

    /// Whether a decision that stood was taken since it became true, or may have: it did not know of
    /// it.
    fn lies_before_a_decision(&self) -> bool {
        let Self { dossier, entry, .. } = self;
        let since = self.since();
        let mut decisions = dossier.decisions.values();
        decisions.any(|record| record.id != entry.seq && since < record.at)
    }

    /// Whether one that was void already was: its sheet tells that it did not know of this either. One
    /// statement where the entry can move a verdict and tells of a time before it is recorded.
    async fn lies_before_a_void_one(&self, tx: &mut Tx) -> Result<bool, StoreError> {
        let Self { dossier, entry, .. } = self;
        let since = self.since();
        if entry.recorded_at <= since {
            return Ok(false);
        }
        decided_since(tx, &dossier.changes.moved_cars, since).await
    }

    /// From when on it changes what held, or may have.
    fn since(&self) -> Instant {
        let Self { dossier, entry, .. } = self;
        let made_true = dossier.made_true(&entry.fact);
        reaches_back(&made_true, entry.effective_at, &dossier.zone)
    }
}

impl Store {
    /// Opens `sqlite://FILE` or `postgres://HOST/NAME` and brings its schema up to date.
    /// Days begin and end in the depot's time zone, which is kept with the register: a new one
    /// takes UTC where none is given, an older one refuses another than its own.
    pub async fn open(address: &str, zone: impl Into<Option<Zone>>) -> Result<Self, StoreError> {
        Self::open_or(address, zone.into(), (IfAbsent::Make, KeepZone::Now)).await
    }

    /// The same to bring something in: a new register keeps the zone with what it brings, so that one
    /// that fails does not settle it.
    pub async fn open_to_import(
        address: &str,
        zone: impl Into<Option<Zone>>,
    ) -> Result<Self, StoreError> {
        Self::open_or(address, zone.into(), (IfAbsent::Make, KeepZone::Later)).await
    }

    /// The same of a register that must be there: whoever only asks makes none by a slip.
    pub async fn open_existing(
        address: &str,
        zone: impl Into<Option<Zone>>,
    ) -> Result<Self, StoreError> {
        Self::open_or(address, zone.into(), (IfAbsent::Refuse, KeepZone::Later)).await
    }

    async fn open_or(
        address: &str,
        zone: Option<Zone>,
        (if_absent, keep_zone): (IfAbsent, KeepZone),
    ) -> Result<Self, StoreError> {
        let pools = Pools::open(address, if_absent).await?;
        let zone = zone::of_register(&pools, zone, keep_zone).await?;
        Ok(Self::of(pools, zone))
    }

    /// The depot's time zone.
    pub fn zone(&self) -> &Zone {
        &self.zone
    }

    fn of(pools: Pools, zone: Zone) -> Self {
        Self {
            announcer: Announcer::new(&pools),
            pools,
            zone,
            copy: Arc::default(),
            past_designs: PastDesigns::default(),
        }
    }

    /// Whether nothing was ever recorded.
    pub async fn is_empty(&self) -> Result<bool, StoreError> {
        let mut tx = self.pools.read().await?;
        Ok(ledger::read_head(&mut tx).await?.seq == 0)
    }

    /// Closes all connections; whoever waits for changes is told that there will be none.
    pub async fn close(&self) {
        self.announcer.stop().await;
        self.pools.close().await;
    }

    /// What settling needs to know.
    pub(crate) fn settling(&self, documents: &Arc<Documents>) -> Settling {
        Settling {
            documents: Arc::clone(documents),
            zone: self.zone.clone(),
        }
    }

    /// Records a command of a person at a time, or says why not, which is noted for auditors.
    /// Where the clock has run backwards, the time of the last entry is taken. Runs in a task of
    /// its own, so that a caller who goes away leaves nothing half done.
    pub async fn record(
        &self,
        actor: Actor,
        command: Command,
        now: Instant,
    ) -> Result<Recorded, StoreError> {
        let store = self.clone();
        let task = tokio::spawn(async move {
            let attempt = refused::of_command(&actor, &command, now)?;
            let recorded = Box::pin(store.record_here(&actor, command, now)).await;
            if let Err(StoreError::Refused(refusal)) = &recorded {
                store.note_refusal(attempt, refusal).await;
            }
            recorded
        });
        task.await
            .map_err(|why| StoreError::Database(sqlx::Error::Io(std::io::Error::other(why))))?
    }

    async fn record_here(
        &self,
        actor: &Actor,
        command: Command,
        now: Instant,
    ) -> Result<Recorded, StoreError> {
        let mut tx = self.pools.begin().await?;
        let head = ledger::take_head(&mut tx).await?;
        if let Some(before) = recorded_before(&mut tx, &command).await? {
            tx.rollback().await?;
            return Ok(Recorded::Before(before));
        }
        let look = Look::of(&command, now);
        let asked = self.still_carrying(tx, (&head, &command), now);
        let (mut tx, carrying) = Box::pin(asked).await?;
        let asked = (actor, command, carrying);
        let decided = self.decide(&mut tx, &head, asked, now).await?;
        let all = decided.agrees_on_a_task() || decided.reaches_back(now);
        let all = all || decided.lies_before_a_decision();
        let all = all || decided.lies_before_a_void_one(&mut tx).await?;
        let look = if all { Look::All } else { look };
        let told = self.keep_told(&mut tx, head, (decided, look));
        let (kept, entry) = Box::pin(told).await?;
        let end = ledger::append(&mut tx, kept, std::slice::from_ref(&entry)).await?;
        self.commit(tx, (head, end)).await?;
        Ok(Recorded::Now(Box::new(entry)))
    }

    /// Loads what a command touches and lets the core decide.
    pub(crate) async fn decide(
        &self,
        tx: &mut Tx,
        head: &Head,
        (actor, command, carrying): (&Actor, Command, StillCarrying),
        now: Instant,
    ) -> Result<Decided, StoreError> {
        let documents = self.documents(tx, head.design_seq).await?;
        let zone = self.zone.clone();
        let holds = self.holds(tx, head.holds_seq).await?;
        let known = Known {
            documents,
            holds: Some(holds),
            doubts_seq: head.doubts_seq,
        };
        let mut touched = Touched::by(&command);
        for (check, cars) in &carrying {
            let asked = touched.fleet_checks.entry(*check).or_default();
            asked.extend(cars.keys().cloned());
        }
        let mut dossier = dossier::load(tx, known, zone, touched).await?;
        dossier.carrying = carrying;
        let next = Next {
            seq: Seq(head.seq + 1),
            recorded_at: head.not_before(now),
        };
        let entry = record(&mut dossier, actor, command, next)?;
        Ok(Decided {
            dossier,
            entry,
            authority: actor.authority,
        })
    }

    /// Commits what moved the head from one place to another, and announces it if it can change
    /// what is said about trains.
    pub(crate) async fn commit(
        &self,
        mut tx: Tx,
        (before, after): (Head, Head),
    ) -> Result<(), StoreError> {
        let changed = before.changed_seq < after.changed_seq;
        if changed {
            tx.notify(after.changed_seq).await?;
        }
        tx.commit().await?;
        self.pools.committed();
        if changed {
            self.announcer.announce(after.changed_seq);
        }
        Ok(())
    }

    /// Appends entries and keeps what they changed.
    pub(crate) async fn keep(
        &self,
        tx: &mut Tx,
        head: Head,
        dossier: &mut Dossier,
        entries: &[Entry],
    ) -> Result<Head, StoreError> {
        let head = self.keep_changes(tx, head, dossier, entries).await?;
        ledger::append(tx, head, entries).await
    }

    /// Keeps what entries changed that are about to be appended.
    pub(crate) async fn keep_changes(
        &self,
        tx: &mut Tx,
        mut head: Head,
        dossier: &mut Dossier,
        entries: &[Entry],
    ) -> Result<Head, StoreError> {
        let Some(first) = entries.first() else {
            return Ok(head);
        };
        if let Some(last) = dossier.changes.documents.last() {
            head.design_seq = last.0;
            for entry in entries {
                documents::put(tx, dossier, entry).await?;
            }
        }
        head.note_changes(entries);
        if !dossier.changes.holds.is_empty() {
            head.holds_seq = entries.last().unwrap_or(first).seq.0;
        }
        let write = Write {
            first: first.seq,
            recorded_at: first.recorded_at,
        };
        keep::changes(tx, dossier, write).await?;
        Ok(head)
    }

    /// The design data as of the given entry, read only if the copy is older or newer.
    pub(crate) async fn documents(
        &self,
        tx: &mut Tx,
        design_seq: i64,
    ) -> Result<Arc<Documents>, StoreError> {
        {
            let copy = self.copy.lock().unwrap_or_else(PoisonError::into_inner);
            if copy.design_seq == design_seq {
                return Ok(Arc::clone(&copy.documents));
            }
        }
        let documents = Arc::new(documents::read(tx, Seq(design_seq)).await?);
        let mut copy = self.copy.lock().unwrap_or_else(PoisonError::into_inner);
        // A transaction that has appended design data and may yet roll back never comes here.
        copy.design_seq = design_seq;
        copy.documents = Arc::clone(&documents);
        Ok(documents)
    }

    /// The evidence holds in force as of the given entry, read only if the copy is older or newer.
    pub(crate) async fn holds(
        &self,
        tx: &mut Tx,
        holds_seq: i64,
    ) -> Result<Arc<HoldsInForce>, StoreError> {
        {
            let copy = self.copy.lock().unwrap_or_else(PoisonError::into_inner);
            if copy.holds_seq == holds_seq {
                return Ok(Arc::clone(&copy.holds));
            }
        }
        let holds = Arc::new(in_force(tx).await?);
        let mut copy = self.copy.lock().unwrap_or_else(PoisonError::into_inner);
        copy.holds_seq = holds_seq;
        copy.holds = Arc::clone(&holds);
        Ok(holds)
    }

    /// Proves the chain of the ledger from the first entry to the last, or names the first bad
    /// one. Linear in the ledger.
    pub async fn verify(&self, progress: impl FnMut(i64)) -> Result<Proven, StoreError> {
        let mut tx = self.pools.read().await?;
        proof::verify(&mut tx, progress).await
    }
}
