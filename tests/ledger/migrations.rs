//! The schema: brought up to date when the register is opened, however often and by however many
//! at once, and left alone when a newer release has made it.

use domain::time::Zone;
use store::{Store, StoreError};
use tests::each_empty_database;
use tests::fleet;
use tests::register::Register;
use tests::sqlite::SqliteFile;
use tests::tables::Tables;

async fn opening_again_changes_nothing(url: &str) {
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
    let before = register.tables.contents().await;
    register.store.close().await;
    let again = Store::open(url, Zone::UTC).await.unwrap();
    assert_eq!(register.tables.contents().await, before);
    again.verify(|_| ()).await.unwrap();
}

async fn many_who_open_a_fresh_database_at_once_all_succeed(url: &str) {
    let open = |_| {
        let url = url.to_owned();
        tokio::spawn(async move { Store::open(&url, Zone::UTC).await })
    };
    let opening: Vec<_> = (0..6).map(open).collect();
    for opened in opening {
        opened.await.unwrap().unwrap();
    }
    let mut tables = Tables::open(url).await;
    let count = tables.number("select count(*) from schema_migration").await;
    let newest = tables
        .number("select max(number) from schema_migration")
        .await;
    let written = written_migrations();
    assert_eq!(
        (count, newest),
        (
            i64::try_from(written.len()).unwrap(),
            written[written.len() - 1]
        )
    );
    let mut register = Register::open(url).await;
    fleet::found(&mut register, "2029-01-01T00:00Z").await;
}

/// The numbers of the migrations, in order.
fn written_migrations() -> Vec<i64> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../migrations");
    let names = std::fs::read_dir(folder).unwrap();
    let names = names.map(|file| file.unwrap().file_name().into_string().unwrap());
    let sql = names.filter(|name| name.split('.').nth(1) == Some("sql"));
    let mut numbers: Vec<i64> = sql.map(|name| name[..4].parse().unwrap()).collect();
    numbers.sort_unstable();
    numbers
}

async fn a_newer_schema_is_refused_and_left_alone(url: &str) {
    let store = Store::open(url, Zone::UTC).await.unwrap();
    store.close().await;
    let mut tables = Tables::open(url).await;
    let newest = tables
        .number("select max(number) from schema_migration")
        .await;
    let newer = newest + 1;
    let newer_schema = format!("insert into schema_migration values ({newer}, 'later')");
    tables.execute(&newer_schema).await;
    match Store::open(url, Zone::UTC).await {
        Err(StoreError::NewerSchema { found, known }) => {
            assert_eq!((found, known), (newer, newest));
        }
        other => panic!("{other:?}"),
    }
    assert_eq!(
        tables
            .number("select max(number) from schema_migration")
            .await,
        newer
    );
}

async fn the_time_zone_is_kept_with_the_register(url: &str) {
    let cet: Zone = "CET".parse().unwrap();
    let begun = Store::open(url, cet.clone()).await.unwrap();
    assert_eq!(*begun.zone(), cet);
    let again = Store::open_existing(url, None).await.unwrap();
    assert_eq!(*again.zone(), cet, "where none is named, its own is taken");
    let other = Store::open(url, Zone::UTC).await.unwrap_err();
    let told = "begin and end in CET, not in UTC";
    assert!(other.to_string().contains(told), "{other}");
}

each_empty_database!(
    the_time_zone_is_kept_with_the_register,
    opening_again_changes_nothing,
    many_who_open_a_fresh_database_at_once_all_succeed,
    a_newer_schema_is_refused_and_left_alone,
);

#[tokio::test]
async fn an_address_of_no_known_kind_is_refused() {
    for address in [
        "",
        "register.sqlite",
        "file://register.sqlite",
        "http://host",
    ] {
        let refused = Store::open(address, Zone::UTC).await.unwrap_err();
        assert!(
            matches!(refused, StoreError::Address(_)),
            "{address}: {refused}"
        );
    }
}

#[tokio::test]
async fn a_file_that_is_no_database_is_left_as_it_is() {
    let file = SqliteFile::absent();
    let path = file.url().strip_prefix("sqlite://").unwrap();
    let text = "somebody's notes, by no means a database ".repeat(100);
    std::fs::write(path, &text).unwrap();
    assert!(Store::open(file.url(), Zone::UTC).await.is_err());
    assert_eq!(std::fs::read_to_string(path).unwrap(), text);
}
