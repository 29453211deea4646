//! The statements that stand whole in the source of the store are understood by both databases,
//! whether or not another test happens to send them. Those that are put together from parts end
//! in a blank or a bracket where they stand; they are sent by the tests of what they are for.

use std::fs;
use std::path::Path;

use sqlx::{
    AssertSqlSafe, Connection, Executor, PgConnection, SqlSafeStr, SqlStr, SqliteConnection,
};
use store::Store;
use tests::each_database;

/// The words that a statement begins with.
const BEGINNINGS: [&str; 5] = ["select ", "insert ", "update ", "delete ", "with "];
/// Statements that only one of both is asked, by a word in them; and one that names no table.
const NOT_FOR_ALL: [&str; 7] = [
    "pg_advisory",
    "pg_database",
    "{",
    "pg_notify",
    "pg_relation_size",
    "to_regclass",
    "sqlite_master",
];

async fn every_whole_statement_is_understood(url: &str) {
    let store = Store::open(url, domain::time::Zone::UTC).await.unwrap();
    let texts = whole_statements();
    assert!(
        texts.len() > 30,
        "the statements are not where they are looked for"
    );
    let mut refused = Vec::new();
    for text in texts {
        let statement = AssertSqlSafe(text.clone()).into_sql_str();
        if let Err(why) = prepared(url, statement).await {
            refused.push(format!("{text}\n{why}"));
        }
    }
    store.close().await;
    assert!(
        refused.is_empty(),
        "not understood:\n{}",
        refused.join("\n\n")
    );
}

each_database!(every_whole_statement_is_understood);

async fn prepared(url: &str, statement: SqlStr) -> Result<(), sqlx::Error> {
    if url.starts_with("postgres:") {
        let mut connection = PgConnection::connect(url).await?;
        connection.prepare(statement).await.map(drop)
    } else {
        let mut connection = SqliteConnection::connect(url).await?;
        connection.prepare(statement).await.map(drop)
    }
}

fn whole_statements() -> Vec<String> {
    let store = Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/store/src");
    let mut texts = Vec::new();
    collect(&store, &mut texts);
    texts
}

fn collect(folder: &Path, texts: &mut Vec<String>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, texts);
        } else {
            texts.extend(statements_in(&fs::read_to_string(path).unwrap()));
        }
    }
}

fn statements_in(source: &str) -> Vec<String> {
    let literals = source.split('"').skip(1).step_by(2);
    let whole = literals.filter(|text| {
        BEGINNINGS
            .iter()
            .any(|beginning| text.starts_with(beginning))
            && !text.ends_with([' ', '('])
            && !NOT_FOR_ALL.iter().any(|word| text.contains(word))
    });
    whole.map(str::to_owned).collect()
}

#[test]
fn whole_statements_are_told_from_parts() {
    let source = r#"const A: &str = "select a from b"; query.push("select "); push(" where c"); "with d as (";"#;
    assert_eq!(statements_in(source), ["select a from b"]);
}
