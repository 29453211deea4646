//! From an address to a database, chosen by its first word; the only place that knows the
//! dialects apart.

use crate::absent::{self, IfAbsent};
use crate::checkpoint::{Checkpoints, LOG_PAGES_MAX};
use crate::error::StoreError;
use crate::schema::{MIGRATIONS, for_sqlite};
use log::LevelFilter;
use sqlx::postgres::{PgConnectOptions, PgListener, PgPool, PgPoolOptions, Postgres};
use sqlx::sqlite::{
    Sqlite, SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions,
    SqliteSynchronous,
};
use sqlx::{AssertSqlSafe, ConnectOptions, Connection, Executor, Transaction};
use std::str::FromStr;
use std::time::{Duration, Instant};

/// Pools of one of the two databases.
#[derive(Debug, Clone)]
pub(crate) enum Pools {
    /// One connection that writes, several that can only read.
    Sqlite {
        /// The writer; others wait for it in a fair queue.
        write: SqlitePool,
        /// Opened read-only.
        read: SqlitePool,
        /// Empties the write-ahead log.
        checkpoints: Checkpoints,
    },
    /// Writers wait for each other in the database; few of them have their statements ready.
    Postgres {
        /// The writers.
        write: PgPool,
        /// The readers.
        read: PgPool,
    },
}

/// A transaction on one of the two databases. Dropped, it rolls back.
pub(crate) enum Tx {
    /// SQLite.
    Sqlite(Transaction<'static, Sqlite>),
    /// PostgreSQL.
    Postgres(Transaction<'static, Postgres>),
}

/// Writes one body for both databases; the connection's type decides which driver is meant.
macro_rules! on {
    ($tx:expr, $conn:ident => $body:expr) => {
        match $tx {
            $crate::connect::Tx::Sqlite(tx) => {
                #[allow(unused_mut, reason = "not every body borrows it anew")]
                let mut $conn = &mut **tx;
                $body
            }
            $crate::connect::Tx::Postgres(tx) => {
                #[allow(unused_mut, reason = "not every body borrows it anew")]
                let mut $conn = &mut **tx;
                $body
            }
        }
    };
}
pub(crate) use on;

/// The same for a single statement that only reads, outside any transaction.
macro_rules! on_read {
    ($pools:expr, $pool:ident => $body:expr) => {
        match $pools {
            $crate::connect::Pools::Sqlite { read: $pool, .. } => $body,
            $crate::connect::Pools::Postgres { read: $pool, .. } => $body,
        }
    };
}
pub(crate) use on_read;

/// Readers of a SQLite file; four are right for two cores.
const READERS: u32 = 4;
/// Connections to PostgreSQL of one server. One writer records at a time; the others sign people in
/// and wait.
const POSTGRES_WRITERS: u32 = 4;
const POSTGRES_READERS: u32 = 8;
/// How long to wait for another process that writes the same SQLite file.
const BUSY: Duration = Duration::from_secs(20);
/// After how long to ask again where SQLite does not wait itself.
const BUSY_STEP: Duration = Duration::from_millis(10);
/// SQLite's result code for a database that another connection has locked.
const SQLITE_BUSY: &str = "5";
/// Page cache of one SQLite connection, in kibibytes: four readers and a writer stay far below
/// the memory that a server may use.
const SQLITE_CACHE_KIB: &str = "-16000";
/// From when on a statement is slow. A rebuild's are long by their nature, so that nobody is warned
/// of one unless they ask for the log.
const SLOW: Duration = Duration::from_secs(1);
const SLOW_LEVEL: LevelFilter = LevelFilter::Info;
/// Statements that a connection keeps ready: all that there are, in all their shapes.
const STATEMENTS: usize = 256;
/// Rows that a SQLite connection may be ahead of their reader: batches of an import.
const SQLITE_ROWS_AHEAD: usize = 1_000;
/// No statement here is worth compiling; what is asked for by key lies in memory or on a disk
/// that does not seek; and the rollback before use, of nothing as a rule, needs no warning.
const POSTGRES_OPTIONS: [(&str, &str); 3] = [
    ("jit", "off"),
    ("random_page_cost", "1.1"),
    ("client_min_messages", "error"),
];
/// A number of our own for PostgreSQL's advisory lock on the schema.
const SCHEMA_LOCK: &str = "select pg_advisory_xact_lock(7303201)";

/// The channel on which PostgreSQL's servers tell each other of changes, and how one is told:
/// those who listen hear of it when the transaction commits, and never if it does not.
const CHANNEL: &str = "brake_register";
const NOTIFY: &str = "select pg_notify('brake_register', $1)";

const SCHEMA_TABLE: &str =
    "create table if not exists schema_migration (number BIGINT primary key, name TEXT not null)";

const SCHEMA_LAST: &str = "select coalesce(max(number), 0) from schema_migration";

const SCHEMA_DONE: &str = "insert into schema_migration (number, name) values ($1, $2)";

/// For a transaction that writes without end, on SQLite: more cache, since random keys would else
/// be read back from an ever longer write-ahead log. A bound that does not grow with the input.
const SQLITE_BULK: &str = "pragma cache_size = -200000";
const SQLITE_USUAL: &str = "pragma cache_size = -16000";
/// Whatever a write looks up, it looks up by key. What it reaches through assemblies PostgreSQL
/// takes for far more rows than there are, and would rather look through whole tables. One plan for
/// all keys is right, and is made once.
const POSTGRES_WRITE: [(&str, &str); 4] = [
    ("enable_seqscan", "off"),
    ("enable_hashjoin", "off"),
    ("enable_mergejoin", "off"),
    ("plan_cache_mode", "force_generic_plan"),
];

impl Pools {
    /// Opens `sqlite://FILE` or `postgres://…` and brings its schema up to date.
    pub(crate) async fn open(address: &str, if_absent: IfAbsent) -> Result<Self, StoreError> {
        let pools = if address.starts_with("sqlite:") {
            Self::open_sqlite(address, if_absent).await?
        } else if address.starts_with("postgres:") || address.starts_with("postgresql:") {
            Self::open_postgres(address).await?
        } else {
            return Err(StoreError::Address(address.to_owned()));
        };
        if if_absent == IfAbsent::Refuse && !absent::has_register(&pools).await? {
            return Err(absent::not_there(address, "that database holds none"));
        }
        pools.migrate().await?;
        Ok(pools)
    }

    async fn open_sqlite(address: &str, if_absent: IfAbsent) -> Result<Self, StoreError> {
        let options = SqliteConnectOptions::from_str(address)?;
        if if_absent == IfAbsent::Refuse && !options.get_filename().is_file() {
            return Err(absent::not_there(address, "there is no such file"));
        }
        let options = options
            .create_if_missing(if_absent == IfAbsent::Make)
            .journal_mode(SqliteJournalMode::Wal)
            // FULL survives a power cut; it costs a sixth of the commits a second.
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .busy_timeout(BUSY)
            .pragma("cache_size", SQLITE_CACHE_KIB)
            // What a statement would undo is kept in memory rather than in a file of its own.
            .pragma("temp_store", "memory")
            .pragma("wal_autocheckpoint", LOG_PAGES_MAX)
            .row_buffer_size(SQLITE_ROWS_AHEAD)
            .statement_cache_capacity(STATEMENTS)
            .log_slow_statements(SLOW_LEVEL, SLOW);
        let opened = sqlite_writer(&options).await;
        let write = opened.map_err(|why| absent::told(address, why))?;
        let read = SqlitePoolOptions::new()
            .max_connections(READERS)
            .test_before_acquire(false)
            .connect_lazy_with(options.clone().read_only(true));
        let checkpoints = Checkpoints::new(options);
        Ok(Self::Sqlite {
            write,
            read,
            checkpoints,
        })
    }

    async fn open_postgres(address: &str) -> Result<Self, StoreError> {
        let options = PgConnectOptions::from_str(address)?
            .application_name("brake register")
            .statement_cache_capacity(STATEMENTS)
            .options(POSTGRES_OPTIONS)
            .log_slow_statements(SLOW_LEVEL, SLOW);
        let pool = |most| {
            PgPoolOptions::new()
                .max_connections(most)
                // A BEGIN cancelled by a vanished client would leave its connection inside a
                // transaction (sqlx 0.9.0); the next user must not work in it. One that the
                // database has left fails here too, and another is taken.
                .test_before_acquire(false)
                .before_acquire(|connection, _| {
                    Box::pin(async move {
                        connection.execute("rollback").await?;
                        Ok(true)
                    })
                })
        };
        // A pool tries again until its time is up; that nobody answers is told at once.
        let first = options.connect().await;
        first
            .map_err(|why| absent::told(address, why))?
            .close()
            .await?;
        let writing = options.clone().options(POSTGRES_WRITE);
        let connected = pool(POSTGRES_WRITERS).connect_with(writing).await;
        let write = connected.map_err(|why| absent::told(address, why))?;
        let read = pool(POSTGRES_READERS).connect_lazy_with(options);
        let collation: String = sqlx::query_scalar(
            "select datcollate::text from pg_database where datname = current_database()",
        )
        .fetch_one(&write)
        .await?;
        if !matches!(collation.as_str(), "C" | "POSIX" | "C.UTF-8" | "C.utf8") {
            return Err(StoreError::Collation(collation));
        }
        Ok(Self::Postgres { write, read })
    }

    /// Opens a transaction that may write. SQLite takes its single write lock now, so that a
    /// later statement can never fail because another writer came first.
    pub(crate) async fn begin(&self) -> Result<Tx, StoreError> {
        Ok(match self {
            Self::Sqlite { write, .. } => Tx::Sqlite(write.begin_with("BEGIN IMMEDIATE").await?),
            Self::Postgres { write, .. } => Tx::Postgres(write.begin().await?),
        })
    }

    /// Opens a transaction that will write very many rows.
    pub(crate) async fn begin_bulk(&self) -> Result<Tx, StoreError> {
        let mut tx = self.begin().await?;
        if let Tx::Sqlite(tx) = &mut tx {
            tx.execute(SQLITE_BULK).await?;
        }
        Ok(tx)
    }

    /// Opens one consistent view of the register that cannot write.
    pub(crate) async fn read(&self) -> Result<Tx, StoreError> {
        const SNAPSHOT: &str = "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY";
        Ok(match self {
            Self::Sqlite { read, .. } => Tx::Sqlite(read.begin().await?),
            Self::Postgres { read, .. } => Tx::Postgres(read.begin_with(SNAPSHOT).await?),
        })
    }

    /// Runs the migrations that are missing, all or none of them, one server at a time.
    async fn migrate(&self) -> Result<(), StoreError> {
        let mut tx = self.begin().await?;
        if let Tx::Postgres(tx) = &mut tx {
            tx.execute(SCHEMA_LOCK).await?;
        }
        on!(&mut tx, conn => conn.execute(SCHEMA_TABLE).await.map(drop))?;
        let last: i64 =
            on!(&mut tx, conn => sqlx::query_scalar(SCHEMA_LAST).fetch_one(conn).await)?;
        let newest = MIGRATIONS.last().map_or(0, |(number, ..)| *number);
        if newest < last {
            return Err(StoreError::NewerSchema {
                found: last,
                known: newest,
            });
        }
        for (number, name, text) in MIGRATIONS.iter().filter(|(number, ..)| last < *number) {
            match &mut tx {
                Tx::Sqlite(tx) => tx
                    .execute(AssertSqlSafe(for_sqlite(text)))
                    .await
                    .map(drop)?,
                Tx::Postgres(tx) => tx.execute(*text).await.map(drop)?,
            }
            on!(&mut tx, conn => sqlx::query(SCHEMA_DONE).bind(number).bind(*name).execute(conn).await.map(drop))?;
        }
        tx.commit().await
    }

    /// Hears what other servers announce, where the database carries that; on SQLite nothing.
    pub(crate) async fn listener(&self) -> Result<Option<PgListener>, StoreError> {
        let Self::Postgres { read, .. } = self else {
            return Ok(None);
        };
        let mut listener = PgListener::connect_with(read).await?;
        // A lost connection is to be known of: what was announced meanwhile was not heard.
        listener.eager_reconnect(false);
        listener.listen(CHANNEL).await?;
        Ok(Some(listener))
    }

    /// Tells of an entry that was committed.
    pub(crate) fn committed(&self) {
        if let Self::Sqlite { checkpoints, .. } = self {
            checkpoints.committed();
        }
    }

    /// Closes all connections.
    pub(crate) async fn close(&self) {
        match self {
            Self::Sqlite {
                write,
                read,
                checkpoints,
            } => {
                checkpoints.close().await;
                read.close().await;
                write.close().await;
            }
            Self::Postgres { write, read } => {
                read.close().await;
                write.close().await;
            }
        }
    }
}

/// Opens the one connection that writes. The first to open a file turns it to its write-ahead log,
/// for which SQLite refuses whoever comes at that moment instead of letting them wait.
async fn sqlite_writer(options: &SqliteConnectOptions) -> Result<SqlitePool, sqlx::Error> {
    let started = Instant::now();
    loop {
        let opened = SqlitePoolOptions::new()
            .max_connections(1)
            // Nobody else can close a file.
            .test_before_acquire(false)
            .after_release(|connection, _| {
                Box::pin(async move {
                    connection.execute(SQLITE_USUAL).await?;
                    Ok(true)
                })
            })
            .connect_with(options.clone())
            .await;
        match opened {
            Err(sqlx::Error::Database(refused))
                if refused.code().as_deref() == Some(SQLITE_BUSY) && started.elapsed() < BUSY =>
            {
                tokio::time::sleep(BUSY_STEP).await;
            }
            opened => return opened,
        }
    }
}

impl Tx {
    /// Announces an entry to the other servers once this is committed.
    pub(crate) async fn notify(&mut self, seq: i64) -> Result<(), StoreError> {
        if let Self::Postgres(tx) = self {
            sqlx::query(NOTIFY)
                .bind(seq.to_string())
                .execute(&mut **tx)
                .await?;
        }
        Ok(())
    }

    /// Makes what was written durable.
    pub(crate) async fn commit(self) -> Result<(), StoreError> {
        match self {
            Self::Sqlite(tx) => tx.commit().await?,
            Self::Postgres(tx) => tx.commit().await?,
        }
        Ok(())
    }

    /// Takes back what was written.
    pub(crate) async fn rollback(self) -> Result<(), StoreError> {
        match self {
            Self::Sqlite(tx) => tx.rollback().await?,
            Self::Postgres(tx) => tx.rollback().await?,
        }
        Ok(())
    }
}
