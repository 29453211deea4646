//! Registers with the trains of [`crate::tarrenmoor`] in them, made once and copied for each test:
//! to record them takes longer than most tests.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::sync::LazyLock;

use domain::time::Zone;
use store::Store;

use crate::postgres::PostgresDatabase;
use crate::sqlite::SqliteFile;
use crate::{tarrenmoor, with_schema};

/// The bytes of a SQLite file with them.
static SQLITE: LazyLock<Vec<u8>> = LazyLock::new(|| {
    let file = SqliteFile::fresh();
    with_schema::wait_for(record_at(file.url().to_owned()));
    std::fs::read(file.path()).expect("the file that was just filled")
});

/// Puts the trains in the fresh register at an address, before anybody opens it.
pub async fn put_at(url: &str) {
    match url.strip_prefix("sqlite://") {
        Some(path) => std::fs::write(path, &*SQLITE).expect("the file of a fresh register"),
        None => PostgresDatabase::put_trains(url).await,
    }
}

pub(crate) async fn record_at(url: String) -> Result<(), sqlx::Error> {
    let store = Store::open(&url, Zone::UTC)
        .await
        .expect("a fresh register");
    tarrenmoor::record(&store).await;
    store.close().await;
    Ok(())
}

/// A number that is another when this program is: the trains are as it records them.
pub(crate) fn of_this_program() -> u64 {
    let program = std::env::current_exe().and_then(std::fs::metadata);
    let program = program.expect("the program that runs");
    let mut hasher = DefaultHasher::new();
    program.len().hash(&mut hasher);
    program
        .modified()
        .expect("when it was built")
        .hash(&mut hasher);
    hasher.finish()
}
