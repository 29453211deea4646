//! Each database is reachable, empty, and set up as the register needs it.

use sqlx::{Connection, PgConnection, SqliteConnection};
use tests::each_empty_database;
use tests::postgres::PostgresDatabase;
use tests::sqlite::SqliteFile;

async fn the_database_given_is_empty_and_keeps_what_is_written(url: &str) {
    const STATEMENTS: &str =
        "CREATE TABLE written (word TEXT); INSERT INTO written VALUES ('held')";
    const READ: &str = "SELECT word FROM written";
    let word: String = if url.starts_with("postgres:") {
        let mut connection = PgConnection::connect(url).await.unwrap();
        sqlx::raw_sql(STATEMENTS)
            .execute(&mut connection)
            .await
            .unwrap();
        sqlx::query_scalar(READ)
            .fetch_one(&mut connection)
            .await
            .unwrap()
    } else {
        let mut connection = SqliteConnection::connect(&format!("{url}?mode=rwc"))
            .await
            .unwrap();
        sqlx::raw_sql(STATEMENTS)
            .execute(&mut connection)
            .await
            .unwrap();
        sqlx::query_scalar(READ)
            .fetch_one(&mut connection)
            .await
            .unwrap()
    };
    assert_eq!(word, "held");
}

each_empty_database!(the_database_given_is_empty_and_keeps_what_is_written);

#[tokio::test]
async fn postgres_orders_text_by_its_bytes() {
    let database = PostgresDatabase::fresh().await;
    let mut connection = PgConnection::connect(database.url()).await.unwrap();
    let ordered: bool = sqlx::query_scalar("SELECT 'B' < 'a' AND 'z' < 'ä'")
        .fetch_one(&mut connection)
        .await
        .unwrap();
    assert!(ordered);
}

#[tokio::test]
async fn a_postgres_database_goes_with_its_test_although_someone_is_connected() {
    let other = PostgresDatabase::fresh().await;
    let database = PostgresDatabase::fresh().await;
    let _connected = PgConnection::connect(database.url()).await.unwrap();
    let url = database.url().to_owned();
    drop(database);
    let refusal = PgConnection::connect(&url).await.unwrap_err().to_string();
    assert!(refusal.contains("does not exist"), "{refusal}");
    PgConnection::connect(other.url()).await.unwrap();
}

#[test]
fn two_sqlite_files_are_apart_and_go_with_their_tests() {
    let (one, other) = (SqliteFile::fresh(), SqliteFile::fresh());
    assert_ne!(one.url(), other.url());
    let path = one.url().strip_prefix("sqlite://").unwrap().to_owned();
    std::fs::write(&path, "").unwrap();
    drop(one);
    assert!(!std::fs::exists(path).unwrap());
}
