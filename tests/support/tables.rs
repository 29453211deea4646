//! The tables as they are, past the program: to look at every row, and to do what nobody should.

use std::collections::{BTreeMap, BTreeSet};

use domain::time::Instant;
use sqlx::{AssertSqlSafe, Column, Connection, PgConnection, Row as _, SqliteConnection};

/// A row by column. Both databases give the same texts: days since 1970-01-01, microseconds
/// since 1970-01-01T00:00Z, bytes in hexadecimal.
pub type Row = BTreeMap<String, Option<String>>;

/// All rows of some tables, by table.
pub type Contents = BTreeMap<String, Vec<Row>>;

/// A connection of the test's own to a register's database.
#[derive(Debug)]
pub struct Tables {
    connection: Connected,
    columns: Vec<Columned>,
}

#[derive(Debug)]
enum Connected {
    Sqlite(SqliteConnection),
    Postgres(PgConnection),
}

/// Which database it is, for what they say in different words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dialect {
    /// `SQLite`.
    Sqlite,
    /// `PostgreSQL`.
    Postgres,
}

/// A table, a column of it, and the column's type as the database names it.
type Columned = (String, String, String);

/// What no entry says: the schema's own number, accounts and what belongs to them, refusals.
const NOT_OF_THE_LEDGER: [&str; 10] = [
    "schema_migration",
    "account",
    "session",
    "api_token",
    "account_change",
    "sign_in_tries",
    "sign_on_pending",
    "outside_identity",
    "unbound_identity",
    "refused_attempt",
];

const SQLITE_COLUMNS: &str =
    "select t.name, c.name, c.type from sqlite_master t, pragma_table_info(t.name) c
    where t.type = 'table' order by t.name, c.cid";
const POSTGRES_COLUMNS: &str =
    "select c.relname::text, a.attname::text, format_type(a.atttypid, null)
    from pg_class c join pg_attribute a on a.attrelid = c.oid
    where c.relkind = 'r' and c.relnamespace = 'public'::regnamespace and 0 < a.attnum
    and not a.attisdropped order by c.relname, a.attnum";

/// Writes one body for both databases.
macro_rules! on {
    ($tables:expr, $connection:ident => $body:expr) => {
        match &mut $tables.connection {
            Connected::Sqlite($connection) => $body,
            Connected::Postgres($connection) => $body,
        }
    };
}

impl Tables {
    /// Connects to the database at an address.
    pub async fn open(url: &str) -> Self {
        let connection = if url.starts_with("postgres:") {
            Connected::Postgres(PgConnection::connect(url).await.expect("a database"))
        } else {
            let url = format!("{url}?mode=rwc");
            Connected::Sqlite(SqliteConnection::connect(&url).await.expect("a database"))
        };
        Self {
            connection,
            columns: Vec::new(),
        }
    }

    /// Which database it is.
    pub fn dialect(&self) -> Dialect {
        match self.connection {
            Connected::Sqlite(_) => Dialect::Sqlite,
            Connected::Postgres(_) => Dialect::Postgres,
        }
    }

    /// Runs statements that give nothing back.
    pub async fn execute(&mut self, statements: &str) {
        let statements = sqlx::raw_sql(AssertSqlSafe(statements.to_owned()));
        on!(self, connection => statements.execute(connection).await.map(drop))
            .expect("the database answers");
    }

    /// The one whole number that a statement gives.
    pub async fn number(&mut self, statement: &str) -> i64 {
        let statement = AssertSqlSafe(statement.to_owned());
        on!(self, connection => sqlx::query_scalar(statement).fetch_one(connection).await)
            .expect("the database answers")
    }

    /// A moment in the words of the database.
    pub fn moment(&self, at: Instant) -> String {
        match self.dialect() {
            Dialect::Sqlite => at.microseconds().to_string(),
            Dialect::Postgres => format!("timestamptz '{at}'"),
        }
    }

    /// The rows of a statement whose columns are texts.
    pub async fn texts(&mut self, statement: String) -> Vec<Row> {
        let statement = AssertSqlSafe(statement);
        on!(self, connection => {
            let rows = sqlx::query(statement).fetch_all(connection).await.expect("the database answers");
            rows.iter()
                .map(|row| {
                    let named = |column: &_| {
                        let text: Option<String> = row.get(Column::ordinal(column));
                        (Column::name(column).to_owned(), text)
                    };
                    row.columns().iter().map(named).collect()
                })
                .collect()
        })
    }

    /// The columns of all tables that there were when it was first asked.
    async fn columns(&mut self) -> Vec<Columned> {
        if self.columns.is_empty() {
            let statement = match self.dialect() {
                Dialect::Sqlite => SQLITE_COLUMNS,
                Dialect::Postgres => POSTGRES_COLUMNS,
            };
            self.columns =
                on!(self, connection => sqlx::query_as(statement).fetch_all(connection).await)
                    .expect("the database answers");
        }
        self.columns.clone()
    }

    /// Everything that follows from the ledger, and the ledger itself.
    pub async fn contents(&mut self) -> Contents {
        let tables: BTreeSet<String> = self
            .columns()
            .await
            .into_iter()
            .map(|(table, ..)| table)
            .collect();
        let mut contents = Contents::new();
        for table in tables {
            if !NOT_OF_THE_LEDGER.contains(&table.as_str()) {
                let rows = self.rows(&table).await;
                contents.insert(table, rows);
            }
        }
        contents
    }

    /// The rows of one table, in the order of their texts.
    pub async fn rows(&mut self, table: &str) -> Vec<Row> {
        let mut columns = self.columns().await;
        columns.retain(|(of, ..)| of == table);
        let texts = columns
            .iter()
            .map(|(_, column, kind)| format!("{} as {column}", as_text(column, kind)));
        let texts: Vec<String> = texts.collect();
        let statement = format!("select {} from {table}", texts.join(", "));
        let mut rows = self.texts(statement).await;
        rows.sort();
        rows
    }
}

/// A column as text, the same on both databases.
fn as_text(column: &str, kind: &str) -> String {
    match kind {
        "BLOB" => format!("lower(hex({column}))"),
        "bytea" => format!("encode({column}, 'hex')"),
        "uuid" => format!("replace({column}::text, '-', '')"),
        "timestamp with time zone" => {
            format!("cast(cast(extract(epoch from {column}) * 1000000 as bigint) as text)")
        }
        "date" => format!("cast({column} - date '1970-01-01' as text)"),
        _ => format!("cast({column} as text)"),
    }
}
