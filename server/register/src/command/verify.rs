//! `register verify`: proves the chain of the ledger, or of an exported file.

use crate::options;
use crate::progress::Progress;
use anyhow::{Context, Result, bail};
use domain::ledger::chain::shown;
use exchange::ledger_file::{self, Unproven};
use std::fs::File;
use std::io::BufReader;
use std::path::Path;
use std::process::ExitCode;
use store::{Store, StoreError};

/// Runs the command.
pub(crate) async fn run(options: options::Verify) -> Result<ExitCode> {
    match (options.file, options.database) {
        (Some(file), _) => of_file(&file),
        (None, Some(database)) => of_register(&database).await,
        (None, None) => bail!("name a file or a database"),
    }
}

fn of_file(path: &Path) -> Result<ExitCode> {
    let file = File::open(path).with_context(|| format!("{} cannot be read", path.display()))?;
    let mut progress = Progress::of("Proven");
    let proven = ledger_file::verify(BufReader::new(file), |number| {
        if number % 2_000 == 0 {
            progress.at(format!("{number} entries"));
        }
    });
    drop(progress);
    match proven {
        Ok(head) => {
            println!(
                "The file is whole: entries {} to {}, last hash {}. By its first line the register ended with entry {} then, hash {}.",
                head.first, head.last, head.last_hash, head.register_last, head.register_hash
            );
            Ok(ExitCode::SUCCESS)
        }
        Err(Unproven::Io(why)) => Err(why.into()),
        Err(why) => {
            eprintln!("The file proves nothing: {why}.");
            Ok(ExitCode::FAILURE)
        }
    }
}

async fn of_register(database: &str) -> Result<ExitCode> {
    let store = Store::open_existing(database, None).await?;
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
        Err(StoreError::Broken(how)) => {
            eprintln!("The chain is broken: {how}.");
            Ok(ExitCode::FAILURE)
        }
        Err(other) => Err(other.into()),
    }
}
