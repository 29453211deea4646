//! `register rebuild`: folds the ledger again and compares, or replaces, the projections.

use crate::command::Scratch;
use crate::options;
use crate::progress::Progress;
use anyhow::Result;
use std::process::ExitCode;
use store::{DIFFERENCES_MAX, Store};

/// Runs the command.
pub(crate) async fn run(options: options::Rebuild) -> Result<ExitCode> {
    let database = options.database;
    let store = Store::open_existing(&database.database, database.zone).await?;
    let mut progress = Progress::of("Folded");
    if options.replace {
        store
            .rebuild(|seq| progress.at(format!("{seq} entries")))
            .await?;
        drop(progress);
        println!("Everything was folded again from the ledger.");
        return Ok(ExitCode::SUCCESS);
    }
    let place = Scratch::make()?;
    let scratch = Store::open(&place.address, store.zone().clone()).await?;
    let comparison = store
        .compare_with_rebuild(&scratch, |seq| progress.at(format!("{seq} entries")))
        .await?;
    drop(progress);
    scratch.close().await;
    if comparison.different == 0 {
        println!("All {} rows follow from the ledger.", comparison.rows);
        return Ok(ExitCode::SUCCESS);
    }
    for difference in &comparison.differences {
        eprintln!("{difference}");
    }
    eprintln!(
        "{} of {} rows do not follow from the ledger; the first {} are above. Nothing was changed; `--replace` folds everything again.",
        comparison.different,
        comparison.rows,
        comparison.differences.len().min(DIFFERENCES_MAX),
    );
    Ok(ExitCode::FAILURE)
}
