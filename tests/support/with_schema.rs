//! Databases with the schema and nothing in it, made once and copied for each test: to bring the
//! schema up to date takes longer than most tests.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;
use std::sync::LazyLock;
use std::thread;

use sqlx::{Connection, PgConnection, SqliteConnection};
use store::Store;

/// Whoever opens a register says in which time zone its days begin; a fresh one has none yet.
const WITHOUT_ZONE: &str = "delete from depot_zone";

/// The bytes of a SQLite file with the schema.
pub(crate) static SQLITE: LazyLock<Vec<u8>> = LazyLock::new(|| {
    let folder = tempfile::tempdir().expect("a temporary folder is needed");
    let path = folder.path().join("schema.sqlite");
    let url = format!("sqlite://{}", path.display());
    wait_for(async move {
        open_and_close(&url).await;
        let mut connection = SqliteConnection::connect(&url).await?;
        sqlx::query(WITHOUT_ZONE).execute(&mut connection).await?;
        connection.close().await
    });
    std::fs::read(&path).expect("the file that was just made")
});

/// Fills an empty PostgreSQL database at an address.
pub(crate) async fn fill_postgres(url: String) -> Result<(), sqlx::Error> {
    open_and_close(&url).await;
    let mut connection = PgConnection::connect(&url).await?;
    sqlx::query(WITHOUT_ZONE).execute(&mut connection).await?;
    connection.close().await
}

async fn open_and_close(url: &str) {
    let store = Store::open(url, None).await;
    store.expect("an empty database").close().await;
}

/// A number that is another when a migration is.
pub(crate) fn of_migrations() -> u64 {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../migrations");
    let files = std::fs::read_dir(folder).expect("the migrations");
    let mut paths: Vec<_> = files.map(|file| file.expect("a file").path()).collect();
    paths.sort();
    let mut hasher = DefaultHasher::new();
    for path in paths {
        path.hash(&mut hasher);
        std::fs::read(path).expect("a migration").hash(&mut hasher);
    }
    hasher.finish()
}

/// Runs something to its end in a runtime of its own, whatever runtime the caller is in.
pub(crate) fn wait_for<E: std::fmt::Debug + Send + 'static>(
    future: impl Future<Output = Result<(), E>> + Send + 'static,
) {
    let done = thread::spawn(move || {
        tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .expect("a runtime of one thread needs nothing that can be missing")
            .block_on(future)
    });
    done.join()
        .expect("it does not panic")
        .expect("it succeeds");
}
