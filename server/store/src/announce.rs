//! Changes are announced as soon as they are committed: within this process by a channel, to the
//! other servers by PostgreSQL's notifications. Whoever waits is also told when it can no longer
//! be known that nothing has changed, since a stale verdict is worse than none.

use crate::connect::Pools;
use crate::error::StoreError;
use crate::ledger;
use crate::record::Store;
use domain::ledger::entry::Seq;
use sqlx::postgres::PgListener;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;
use tokio::sync::watch::{Receiver, Sender};
use tokio::task::JoinHandle;

/// How often the head of the ledger is read: a SQLite file can be written by a process that tells
/// nobody, and a connection to PostgreSQL can fall silent without being closed.
const LOOK_EVERY: Duration = Duration::from_secs(1);
/// How long to wait before listening again after the database failed.
const AGAIN_AFTER: Duration = Duration::from_secs(1);

/// What is known of changes.
#[derive(Debug, Clone, Copy, Default)]
struct Told {
    hearing: Hearing,
    /// The last entry known to this process that can change what is said about trains.
    last: i64,
}

/// Whether changes by others would be heard of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Hearing {
    /// Nobody has asked yet, or listening has not begun.
    #[default]
    NotYet,
    /// Yes.
    Yes,
    /// No: the database does not answer.
    Lost,
    /// Never again: the register is being closed.
    Ended,
}

/// Tells of changes. Clones tell the same people.
#[derive(Debug, Clone)]
pub(crate) struct Announcer {
    pools: Pools,
    told: Arc<Sender<Told>>,
    listening: Arc<Mutex<Option<JoinHandle<()>>>>,
}

/// The entries that can change what is said about trains, from the last one on.
#[derive(Debug)]
pub struct Changes {
    told: Receiver<Told>,
    last: Option<i64>,
}

impl Announcer {
    pub(crate) fn new(pools: &Pools) -> Self {
        Self {
            pools: pools.clone(),
            told: Arc::new(Sender::new(Told::default())),
            listening: Arc::default(),
        }
    }

    /// Tells whoever waits in this process of an entry that is committed.
    pub(crate) fn announce(&self, seq: i64) {
        self.told.send_if_modified(|told| {
            let later = told.last < seq;
            told.last = told.last.max(seq);
            later
        });
    }

    fn hear(&self, hearing: Hearing) {
        self.told.send_if_modified(|told| {
            let changed = told.hearing != hearing && told.hearing != Hearing::Ended;
            if changed {
                told.hearing = hearing;
            }
            changed
        });
    }

    /// Begins to listen when somebody first waits.
    fn listen(&self) {
        let mut listening = self
            .listening
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        if listening.is_none() && self.told.borrow().hearing != Hearing::Ended {
            let announcer = self.clone();
            *listening = Some(tokio::spawn(
                async move { announcer.keep_listening().await },
            ));
        }
    }

    async fn keep_listening(&self) {
        loop {
            if let Err(cause) = self.listen_until_lost().await {
                tracing::warn!(%cause, "changes by other servers are not heard of");
            }
            self.hear(Hearing::Lost);
            tokio::time::sleep(AGAIN_AFTER).await;
        }
    }

    /// Listens first and reads the head then, so that nothing falls between the two.
    async fn listen_until_lost(&self) -> Result<(), StoreError> {
        match self.pools.listener().await? {
            Some(listener) => tokio::try_join!(self.notified(listener), self.look()).map(drop),
            None => self.look().await,
        }
    }

    async fn notified(&self, mut listener: PgListener) -> Result<(), StoreError> {
        while let Some(notification) = listener.try_recv().await? {
            if let Ok(seq) = notification.payload().parse() {
                self.announce(seq);
            }
        }
        let lost = std::io::Error::from(std::io::ErrorKind::ConnectionAborted);
        Err(StoreError::Database(sqlx::Error::Io(lost)))
    }

    async fn look(&self) -> Result<(), StoreError> {
        loop {
            let mut tx = self.pools.read().await?;
            let head = ledger::read_head(&mut tx).await?;
            tx.rollback().await?;
            self.announce(head.changed_seq);
            self.hear(Hearing::Yes);
            tokio::time::sleep(LOOK_EVERY).await;
        }
    }

    /// Tells whoever waits that nothing more will come.
    fn end(&self) {
        self.hear(Hearing::Ended);
    }

    /// The same, and gives back the connection that was listened on.
    pub(crate) async fn stop(&self) {
        self.end();
        let listening = self
            .listening
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .take();
        if let Some(task) = listening {
            task.abort();
            // It was cancelled, which is what was wanted.
            let _ = task.await;
        }
    }
}

impl Store {
    /// Changes from now on, the last one before included.
    pub fn changes(&self) -> Changes {
        self.announcer.listen();
        Changes {
            told: self.announcer.told.subscribe(),
            last: None,
        }
    }

    /// Ends all waiting for changes, so that the server can be stopped.
    pub fn end_changes(&self) {
        self.announcer.end();
    }
}

impl Changes {
    /// The last entry that can change what is said about trains, once it is known and is another
    /// than the one told before; 0 before the first. None where changes by others would not be
    /// heard of any more. Dropping the wait loses nothing.
    pub async fn next(&mut self) -> Option<Seq> {
        loop {
            let Told { hearing, last } = *self.told.borrow_and_update();
            match hearing {
                Hearing::Yes if self.last != Some(last) => {
                    self.last = Some(last);
                    return Some(Seq(last));
                }
                Hearing::Yes | Hearing::NotYet => self.told.changed().await.ok()?,
                Hearing::Lost | Hearing::Ended => return None,
            }
        }
    }
}
