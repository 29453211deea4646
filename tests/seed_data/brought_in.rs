//! The fleet before the register, on both databases.

use domain::ledger::record::founder;
use domain::refusal::Refusal;
use domain::time::{Instant, Zone};
use exchange::input::Location;
use store::{Go, ImportProgress, ImportWatch, Imported, Store};
use tests::each_database;
use tests::sqlite::SqliteFile;

use super::input;

struct Strict;

impl ImportWatch<Location> for Strict {
    fn refused(&mut self, location: Location, refusal: Refusal) {
        panic!("{location}: {refusal}");
    }

    fn progress(&mut self, _: ImportProgress) -> Go {
        Go::On
    }

    fn keep(&mut self) -> bool {
        true
    }
}

async fn import(store: &Store) -> ImportProgress {
    let items = input().map(|item| {
        let located = item.unwrap();
        (located.location, located.value)
    });
    let now: Instant = "2026-11-20T06:00Z".parse().unwrap();
    let actor = founder("A. Tester".parse().unwrap());
    let imported = store.import(&actor, now, items, &mut Strict).await.unwrap();
    match imported {
        Imported::Kept(progress) => progress,
        Imported::LeftAsItWas(_) => panic!("not kept"),
    }
}

async fn the_fleet_is_taken_as_it_is_and_everything_follows_from_its_entries(url: &str) {
    let store = Store::open(url, Zone::UTC).await.unwrap();
    let first = import(&store).await;
    let proven = store.verify(|_| ()).await.unwrap();
    assert_eq!(proven.entries.to_string(), first.recorded.to_string());
    let file = SqliteFile::fresh();
    let scratch = Store::open(file.url(), Zone::UTC).await.unwrap();
    let comparison = store.compare_with_rebuild(&scratch, |_| ()).await.unwrap();
    assert_eq!(comparison.differences, [""; 0]);
    assert!(60_000 < comparison.rows, "{comparison:?}");
    let second = import(&store).await;
    assert_eq!((second.recorded, second.unchanged), (0, first.recorded));
}

each_database!(the_fleet_is_taken_as_it_is_and_everything_follows_from_its_entries);
