//! `register verify`: proves the chain of the ledger.

use crate::options;
use crate::progress::Progress;
use anyhow::Result;
use domain::ledger::chain::shown;
use std::process::ExitCode;
use store::{Store, StoreError};

/// Runs the command.
pub(crate) async fn run(options: options::Database) -> Result<ExitCode> {
    let store = Store::open(&options.database, options.zone).await?;
    let mut progress = Progress::of("Proven");
    let proven = store
        .verify(|seq| progress.at(format!("{seq} entries")))
        .await;
    drop(progress);
    store.close().await;
    match proven {
        Ok(proven) => {
            let hash = shown(&proven.hash);
            println!(
                "The chain holds: {} entries, last hash {hash}.",
                proven.entries
            );
            Ok(ExitCode::SUCCESS)
        }
        Err(damaged @ StoreError::Damaged { .. }) => {
            eprintln!("The chain is broken: {damaged}.");
            Ok(ExitCode::FAILURE)
        }
        Err(other) => Err(other.into()),
    }
}
