//! The depot's time zone is kept with what is brought in first, and not before.

use domain::configuration::car_type::PositionKind;
use domain::ledger::command::Command;
use domain::ledger::record::founder;
use domain::refusal::Refusal;
use domain::time::Zone;
use store::{Go, ImportProgress, ImportWatch, Imported, Store, StoreError};
use tests::each_empty_database;
use tests::facts::{at, car_of_fleet};
use tests::fleet::{RELAY_VALVE, part};
use tests::register::command;

/// Keeps whatever is not refused.
struct Keeping;

impl ImportWatch<()> for Keeping {
    fn refused(&mut self, (): (), _: Refusal) {}

    fn progress(&mut self, _: ImportProgress) -> Go {
        Go::On
    }

    fn keep(&mut self) -> bool {
        true
    }
}

/// Brings something in by a zone, or says why not.
async fn bring(url: &str, zone: &str, what: Command) -> Result<Imported, StoreError> {
    let zone: Zone = zone.parse().unwrap();
    let store = Store::open_to_import(url, zone).await?;
    let machine = founder("machine".parse().unwrap());
    let commands = [((), what)].into_iter();
    let now = at("2030-01-01T06:00Z");
    let ended = store.import(&machine, now, commands, &mut Keeping).await;
    store.close().await;
    ended
}

async fn a_first_import_that_fails_does_not_settle_the_zone(url: &str) {
    let at = at("2029-01-01T00:00Z");
    // A car of a type that is not there.
    let wrong = command(at, car_of_fleet("4101"));
    let failed = bring(url, "CET", wrong).await.unwrap();
    assert!(matches!(failed, Imported::LeftAsItWas(_)), "{failed:?}");
    // Nor does whoever only asks.
    let asking = Store::open_existing(url, None).await.unwrap();
    assert_eq!(*asking.zone(), Zone::UTC);
    asking.close().await;
    let kind = PositionKind::RelayValve;
    let right = || command(at, part(RELAY_VALVE, kind));
    let kept = bring(url, "EET", right()).await.unwrap();
    assert!(matches!(kept, Imported::Kept(_)), "{kept:?}");
    let other = bring(url, "CET", right()).await;
    assert!(
        matches!(other, Err(StoreError::OtherZone { .. })),
        "{other:?}"
    );
    let opened = Store::open(url, None).await.unwrap();
    assert_eq!(opened.zone().to_string(), "EET");
    opened.close().await;
}

each_empty_database!(a_first_import_that_fails_does_not_settle_the_zone);
