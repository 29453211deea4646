//! A fresh `PostgreSQL` database for one test, on the server that `tests/run` started.

use std::str::FromStr;
use std::thread;

use sqlx::postgres::{PgConnectOptions, PgConnection};
use sqlx::{AssertSqlSafe, ConnectOptions, Connection};
use uuid::Uuid;

/// Names the server; set by `tests/run`.
const SERVER: &str = "REGISTER_TEST_POSTGRES";

/// An empty database in UTF-8 that orders text by its bytes. It is dropped with this value, even
/// if someone is still connected to it.
#[derive(Debug)]
pub struct PostgresDatabase {
    server: PgConnectOptions,
    name: String,
    url: String,
}

impl PostgresDatabase {
    /// Makes a database with a name that no other test has. Making and dropping take about 50 ms.
    pub async fn fresh() -> Self {
        let server = server();
        let name = format!("test_{}", Uuid::new_v4().simple());
        let create = format!(
            "CREATE DATABASE {name} TEMPLATE template0 ENCODING 'UTF8' LC_COLLATE 'C' LC_CTYPE 'C'"
        );
        execute(&server, create)
            .await
            .unwrap_or_else(|error| panic!("no database could be made with {SERVER}: {error}"));
        let url = server.clone().database(&name).to_url_lossy().to_string();
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
