//! One test body for both databases.

/// Makes two tests, `sqlite` and `postgres`, of each function named. Such a function is given the
/// address of a register of its own in which nothing was ever recorded:
///
/// ```ignore
/// async fn what_was_recorded_is_read_back(url: &str) {
///     let store = Store::open(url).await.unwrap();
///     …
/// }
///
/// each_database!(what_was_recorded_is_read_back);
/// ```
///
/// The tests are then called `…::what_was_recorded_is_read_back::sqlite` and `…::postgres`. A
/// function that is not named is dead code, which the compiler reports.
#[macro_export]
macro_rules! each_database {
    ($($fact:ident),+ $(,)?) => {$(
        mod $fact {
            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn sqlite() {
                let database = $crate::sqlite::SqliteFile::fresh();
                super::$fact(database.url()).await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn postgres() {
                let database = $crate::postgres::PostgresDatabase::fresh().await;
                super::$fact(database.url()).await;
            }
        }
    )+};
}

/// The same of functions that are given the address of an empty database.
#[macro_export]
macro_rules! each_empty_database {
    ($($fact:ident),+ $(,)?) => {$(
        mod $fact {
            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn sqlite() {
                let database = $crate::sqlite::SqliteFile::absent();
                super::$fact(database.url()).await;
            }

            #[tokio::test(flavor = "multi_thread", worker_threads = 2)]
            async fn postgres() {
                let database = $crate::postgres::PostgresDatabase::empty().await;
                super::$fact(database.url()).await;
            }
        }
    )+};
}
