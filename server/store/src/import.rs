//! Many commands in one transaction: all of them are recorded or none. They take the same way
//! as a single one; only what follows for due dates is worked out once, at the end.

use crate::connect::Tx;
use crate::consequences::raised_by;
use crate::dossier::{self, Known};
use crate::error::StoreError;
use crate::keep::put_doubts;
use crate::ledger::{self, Head};
use crate::read::alike::alike;
use crate::record::Store;
use crate::settle;
use crate::sizes::Sizes;
use crate::zone;
use domain::configuration::component::ComponentRef;
use domain::ledger::command::Command;
use domain::ledger::consequences::Consequences;
use domain::ledger::dossier::{Documents, Dossier};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::record::{Next, names_unknown, record};
use domain::ledger::touches::Touched;
use domain::people::Actor;
use domain::refusal::Refusal;
use domain::time::Instant;
use std::collections::HashMap;
use std::iter::Peekable;
use std::sync::Arc;
use uuid::Uuid;

/// Commands loaded, decided and kept together. Memory is that of one batch.
const BATCH: usize = 1_000;

/// Who watches an import: hears of refusals and progress, may stop it, and decides at the end
/// whether it is kept. `Tag` is where a command came from.
pub trait ImportWatch<Tag> {
    /// A command was refused; the others go on, so that all errors come in one report.
    fn refused(&mut self, tag: Tag, refusal: Refusal);
    /// Whether a command is looked at for what it names alone, since something else is wanting that it
    /// builds on. It is not recorded.
    fn is_only_named(&self, tag: &Tag) -> bool {
        let _ = tag;
        false
    }
    /// A command became an entry. Entries are numbered one after the other.
    fn recorded(&mut self, tag: &Tag, seq: Seq) {
        let _ = (tag, seq);
    }
    /// How far it has come. An answer of [`Go::Stop`] leaves everything as it was.
    fn progress(&mut self, progress: ImportProgress) -> Go;
    /// All was read and nothing refused. These components would then be in the register with
    /// serial numbers that differ only in case, blanks and hyphens within their part.
    fn alike(&mut self, alike: Vec<ComponentRef>) {
        drop(alike);
    }
    /// All was read and nothing refused: shall it be kept?
    fn keep(&mut self) -> bool;
}

/// Whether to go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Go {
    /// Go on.
    On,
    /// Stop and change nothing.
    Stop,
}

/// How far an import has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ImportProgress {
    /// Commands recorded so far.
    pub recorded: u64,
    /// Commands that had been recorded before.
    pub unchanged: u64,
    /// Commands that were refused; one is enough for nothing to be kept.
    pub refused: u64,
    /// Components whose due dates are worked out.
    pub settled: u64,
}

/// How an import ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Imported {
    /// Everything was recorded.
    Kept(ImportProgress),
    /// Nothing was changed.
    LeftAsItWas(ImportProgress),
}

struct Batch<Tag> {
    commands: Vec<(Tag, Command)>,
    touched: Touched,
}

impl<Tag> Batch<Tag> {
    /// The next commands. A correction, an approval or a decision comes by itself, since it looks
    /// at what was kept before it, and a refused correction spoils the dossier.
    fn next(commands: &mut Peekable<impl Iterator<Item = (Tag, Command)>>) -> Self {
        let mut batch = Self {
            commands: Vec::new(),
            touched: Touched::default(),
        };
        let mut alone = false;
        let mut fits = |batch: &Self, command: &Command| {
            let looks_back = command.corrects.is_some() || command.fact.looks_back();
            let first = batch.commands.is_empty();
            let fits = first || (!alone && !looks_back && batch.commands.len() < BATCH);
            alone |= looks_back;
            fits
        };
        while let Some((tag, command)) = commands.next_if(|(_, next)| fits(&batch, next)) {
            batch.touched.add(&command);
            if let Some(end) = command.end_alone() {
                batch.touched.add(&end);
            }
            batch.commands.push((tag, command));
        }
        batch
    }

    /// The identities under which its commands may have been recorded before.
    fn ids(&self) -> Vec<Uuid> {
        let commands = self.commands.iter();
        let ids = commands.flat_map(|(_, command)| {
            let end = command.end_alone().map(|end| end.id);
            std::iter::once(command.id).chain(end)
        });
        ids.collect()
    }
}

/// What an import carries from batch to batch.
struct Run<'a> {
    actor: &'a Actor,
    now: Instant,
    first: Head,
    head: Head,
    documents: Arc<Documents>,
    progress: ImportProgress,
}

impl Store {
    /// Records commands in the order given, all or none, at a time not before that of the last
    /// entry. A command is known by its identity, which an input works out from its contents. Holds the ledger's lock for its whole
    /// time. Linear in the commands.
    pub async fn import<Tag>(
        &self,
        actor: &Actor,
        now: Instant,
        commands: impl Iterator<Item = (Tag, Command)>,
        watch: &mut impl ImportWatch<Tag>,
    ) -> Result<Imported, StoreError> {
        let mut tx = self.pools.begin_bulk().await?;
        let head = ledger::take_head(&mut tx).await?;
        zone::keep(&mut tx, self.zone.clone()).await?;
        let documents = self.documents(&mut tx, head.design_seq).await?;
        let progress = ImportProgress::default();
        let mut run = Run {
            actor,
            now: head.not_before(now),
            first: head,
            head,
            documents,
            progress,
        };
        let mut commands = commands.peekable();
        let mut sizes = Sizes::default();
        while commands.peek().is_some() {
            let batch = Batch::next(&mut commands);
            // Boxed, as it would be most of what whoever imports waits for.
            Box::pin(self.import_batch(&mut tx, &mut run, batch, watch)).await?;
            sizes.count_anew(&mut tx).await?;
            if watch.progress(run.progress) == Go::Stop {
                tx.rollback().await?;
                return Ok(Imported::LeftAsItWas(run.progress));
            }
        }
        if run.progress.refused == 0 {
            watch.alike(alike(&mut tx).await?);
        }
        if run.progress.refused != 0 || !watch.keep() {
            tx.rollback().await?;
            return Ok(Imported::LeftAsItWas(run.progress));
        }
        let settling = self.settling(&run.documents);
        let mut stopped = Go::On;
        let reached = run.progress;
        let settled = settle::settle_noted(&mut tx, &settling, |settled| {
            stopped = watch.progress(ImportProgress { settled, ..reached });
            stopped
        });
        Box::pin(settled).await?;
        if stopped == Go::Stop {
            tx.rollback().await?;
            return Ok(Imported::LeftAsItWas(run.progress));
        }
        self.commit(tx, (run.first, run.head)).await?;
        Ok(Imported::Kept(run.progress))
    }

    async fn import_batch<Tag>(
        &self,
        tx: &mut Tx,
        run: &mut Run<'_>,
        batch: Batch<Tag>,
        watch: &mut impl ImportWatch<Tag>,
    ) -> Result<(), StoreError> {
        let known = ledger::known_commands(tx, &batch.ids()).await?;
        let mut known: HashMap<Uuid, i64> = known.into_iter().collect();
        let documents = Arc::clone(&run.documents);
        let remembered = Known {
            documents,
            holds: None,
            doubts_seq: run.head.doubts_seq,
        };
        let zone = self.zone.clone();
        let loaded = dossier::load(tx, remembered, zone, batch.touched);
        let mut dossier = Box::pin(loaded).await?;
        let mut entries = Vec::with_capacity(batch.commands.len());
        for (tag, command) in batch.commands {
            if watch.is_only_named(&tag) {
                if let Some(refusal) = names_unknown(&dossier, &command) {
                    run.progress.refused += 1;
                    watch.refused(tag, refusal);
                }
                continue;
            }
            let end = command.end_alone();
            let end =
                end.filter(|end| known.contains_key(&end.id) || dossier.is_under_way(&command));
            let command = end.unwrap_or(command);
            match known.get(&command.id) {
                Some(seq) if *seq <= run.first.seq => {
                    run.progress.unchanged += 1;
                    continue;
                }
                Some(seq) => {
                    run.progress.refused += 1;
                    watch.refused(tag, Refusal::Repeated { by: Seq(*seq) });
                    continue;
                }
                None => {}
            }
            let seq = Seq(run.head.seq + i64::try_from(entries.len()).unwrap_or(i64::MAX) + 1);
            let id = command.id;
            match record(
                &mut dossier,
                run.actor,
                command,
                Next {
                    seq,
                    recorded_at: run.now,
                },
            ) {
                Ok(entry) => {
                    let entry = with_doubts(tx, &dossier, (entry, run.first)).await?;
                    known.insert(id, seq.0);
                    watch.recorded(&tag, seq);
                    entries.push(entry);
                    run.progress.recorded += 1;
                }
                Err(refusal) => {
                    run.progress.refused += 1;
                    watch.refused(tag, refusal);
                }
            }
        }
        self.keep_batch(tx, run, (&mut dossier, &entries)).await
    }

    async fn keep_batch(
        &self,
        tx: &mut Tx,
        run: &mut Run<'_>,
        (dossier, entries): (&mut Dossier, &[Entry]),
    ) -> Result<(), StoreError> {
        run.head = self.keep(tx, run.head, dossier, entries).await?;
        for entry in entries {
            if let Some(told) = &entry.consequences {
                put_doubts(tx, entry.seq, &told.doubts).await?;
            }
        }
        run.documents = Arc::clone(&dossier.documents);
        settle::note(tx, dossier).await
    }
}

/// An entry of an import with the doubts that it raises about what was recorded before the import: whoever
/// brings history in knows all of it, in whichever order it is told.
async fn with_doubts(
    tx: &mut Tx,
    dossier: &Dossier,
    (mut entry, before): (Entry, Head),
) -> Result<Entry, StoreError> {
    if before.seq == 0 {
        return Ok(entry);
    }
    let doubts = raised_by(tx, dossier, (&entry, Seq(before.seq + 1))).await?;
    if !doubts.is_empty() {
        let told = Consequences {
            doubts,
            ..Consequences::default()
        };
        entry.consequences = Some(Box::new(told));
    }
    Ok(entry)
}
