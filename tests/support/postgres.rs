//! A `PostgreSQL` database of its own for one test, on the server that `tests/run` started.

use std::str::FromStr;
use std::sync::OnceLock;
use std::thread;

use sqlx::postgres::{PgConnectOptions, PgConnection};
use sqlx::{AssertSqlSafe, ConnectOptions, Connection};
use uuid::Uuid;

use crate::{with_schema, with_trains};

/// Names the server; set by `tests/run`.
const SERVER: &str = "REGISTER_TEST_POSTGRES";
const BY_BYTES: &str = "ENCODING 'UTF8' LC_COLLATE 'C' LC_CTYPE 'C'";
/// The database that is copied for each test.
static ORIGINAL: OnceLock<String> = OnceLock::new();
/// The one that is copied for each test that begins with trains.
static ORIGINAL_WITH_TRAINS: OnceLock<String> = OnceLock::new();

/// A database in UTF-8 that orders text by its bytes. It is dropped with this value, even
/// if someone is still connected to it.
#[derive(Debug)]
pub struct PostgresDatabase {
    server: PgConnectOptions,
    name: String,
    url: String,
}

impl PostgresDatabase {
    /// A register in which nothing was ever recorded.
    pub async fn fresh() -> Self {
        let original = ORIGINAL.get_or_init(|| {
            let name = format!("schema_{:016x}", with_schema::of_migrations());
            let empty = format!("template0 {BY_BYTES}");
            make_original(name, empty, with_schema::fill_postgres)
        });
        Self::copy_of(original, "").await
    }

    /// An empty database.
    pub async fn empty() -> Self {
        Self::copy_of("template0", BY_BYTES).await
    }

    /// Puts a copy of the trains in the place of a fresh register.
    pub(crate) async fn put_trains(url: &str) {
        let original = ORIGINAL_WITH_TRAINS.get_or_init(|| {
            let schema = ORIGINAL.get().expect("a fresh register was made before");
            let name = format!("trains_{:016x}", with_trains::of_this_program());
            make_original(name, schema.clone(), with_trains::record_at)
        });
        let here = PgConnectOptions::from_str(url).expect("the address of a register");
        let name = here.get_database().expect("it names a database");
        let replaced = async {
            let server = server();
            execute(&server, format!("DROP DATABASE {name} WITH (FORCE)")).await?;
            execute(
                &server,
                format!("CREATE DATABASE {name} TEMPLATE {original}"),
            )
            .await
        };
        replaced.await.expect("a copy of the trains");
    }

    /// Makes a database with a name that no other test has. Making and dropping take about 50 ms.
    async fn copy_of(original: &str, how: &str) -> Self {
        let server = server();
        let name = format!("test_{}", Uuid::new_v4().simple());
        let create = format!("CREATE DATABASE {name} TEMPLATE {original} {how}");
        execute(&server, create)
            .await
            .unwrap_or_else(|error| panic!("no database could be made with {SERVER}: {error}"));
        let url = url_of(&server, &name);
        Self { server, name, url }
    }

    /// Where the register is to be kept: `postgres://user@host/test_…`.
    pub fn url(&self) -> &str {
        &self.url
    }
}

impl Drop for PostgresDatabase {
    fn drop(&mut self) {
        let server = self.server.clone();
        let name = self.name.clone();
        // The test's own runtime may be ending, so the work is done in another.
        let dropped = thread::spawn(move || {
            tokio::runtime::Builder::new_current_thread()
                .enable_all()
                .build()
                .expect("a runtime of one thread needs nothing that can be missing")
                .block_on(execute(
                    &server,
                    format!("DROP DATABASE {name} WITH (FORCE)"),
                ))
        })
        .join();
        if !matches!(dropped, Ok(Ok(()))) {
            eprintln!("database {} is left behind: {dropped:?}", self.name);
        }
    }
}

fn url_of(server: &PgConnectOptions, name: &str) -> String {
    server.clone().database(name).to_url_lossy().to_string()
}

/// Makes a database to be copied from another, unless one of that name is there, and gives its
/// name; it stays for the next run. Several processes may come to it at once.
fn make_original<F>(
    name: String,
    from: String,
    fill: impl FnOnce(String) -> F + Send + 'static,
) -> String
where
    F: Future<Output = Result<(), sqlx::Error>> + Send + 'static,
{
    let made = name.clone();
    with_schema::wait_for(async move {
        let server = server();
        let mut connection: PgConnection = server.connect().await?;
        sqlx::raw_sql("SELECT pg_advisory_lock(7303202)")
            .execute(&mut connection)
            .await?;
        let there = "SELECT count(*) FROM pg_database WHERE datname = $1";
        let there: i64 = sqlx::query_scalar(there)
            .bind(&made)
            .fetch_one(&mut connection)
            .await?;
        if there == 0 {
            let making = format!("{made}_making");
            let anew = format!("DROP DATABASE IF EXISTS {making} WITH (FORCE)");
            execute(&server, anew).await?;
            execute(&server, format!("CREATE DATABASE {making} TEMPLATE {from}")).await?;
            fill(url_of(&server, &making)).await?;
            execute(&server, format!("ALTER DATABASE {making} RENAME TO {made}")).await?;
        }
        connection.close().await
    });
    name
}

fn server() -> PgConnectOptions {
    let url = std::env::var(SERVER).unwrap_or_else(|_| {
        panic!(
            "this test needs PostgreSQL, and {SERVER} names no server. Run `tests/run`, which \
             installs and starts one, or `tests/run NAME` for this test alone."
        )
    });
    PgConnectOptions::from_str(&url)
        .unwrap_or_else(|error| panic!("{SERVER} cannot be read: {error}"))
}

async fn execute(server: &PgConnectOptions, statement: String) -> Result<(), sqlx::Error> {
    let mut connection: PgConnection = server.connect().await?;
    sqlx::raw_sql(AssertSqlSafe(statement))
        .execute(&mut connection)
        .await?;
    connection.close().await
}
