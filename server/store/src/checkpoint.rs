//! Moves what was committed from SQLite's write-ahead log into its file once nobody records, so
//! that nobody has to wait for it: both would write to one disk.

use sqlx::Executor;
use sqlx::sqlite::{SqliteConnectOptions, SqlitePool, SqlitePoolOptions};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::Duration;

/// Pages of the log at which whoever commits moves them after all: a bound on the log where
/// entries follow each other without a pause.
pub(crate) const LOG_PAGES_MAX: &str = "64000";
/// For how long nobody must have recorded.
const QUIET: Duration = Duration::from_millis(500);
/// Waits for nobody.
const MOVE: &str = "pragma wal_checkpoint(passive)";

/// Moves commits into the file, shortly after the last of them.
#[derive(Debug, Clone)]
pub(crate) struct Checkpoints {
    connection: SqlitePool,
    shared: Arc<Shared>,
}

#[derive(Debug, Default)]
struct Shared {
    commits: AtomicU64,
    /// Whether somebody waits for quiet.
    waiting: AtomicBool,
}

impl Checkpoints {
    /// On a connection of its own, opened when it is first needed.
    pub(crate) fn new(options: SqliteConnectOptions) -> Self {
        let pool = SqlitePoolOptions::new().max_connections(1);
        Self {
            connection: pool.connect_lazy_with(options),
            shared: Arc::default(),
        }
    }

    /// Tells of a commit.
    pub(crate) fn committed(&self) {
        self.shared.commits.fetch_add(1, Ordering::AcqRel);
        if self.shared.waiting.swap(true, Ordering::AcqRel) {
            return;
        }
        let Self { connection, shared } = self.clone();
        tokio::spawn(async move {
            loop {
                let seen = shared.commits.load(Ordering::Acquire);
                tokio::time::sleep(QUIET).await;
                if shared.commits.load(Ordering::Acquire) == seen {
                    break;
                }
            }
            shared.waiting.store(false, Ordering::Release);
            // What is not moved now is moved after the next commit; it is durable already.
            let _ = connection.execute(MOVE).await;
        });
    }

    /// Ends it.
    pub(crate) async fn close(&self) {
        self.connection.close().await;
    }
}
