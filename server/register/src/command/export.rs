//! `register export`: the ledger, or a stretch of it, as a file that proves itself.

use crate::options;
use crate::progress::Progress;
use anyhow::{Context, Result, bail};
use exchange::ledger_file::{Head, Link, write_entry, write_head};
use std::fs::File;
use std::io::{BufWriter, Write};
use std::process::ExitCode;
use store::Store;
use store::read::stretch::STRETCH_PAGE;

/// Runs the command.
pub(crate) async fn run(options: options::Export) -> Result<ExitCode> {
    let database = &options.database;
    let store = Store::open_existing(&database.database, database.zone.clone()).await?;
    let mut view = store.view().await?;
    let register = Link {
        number: view.last_entry,
        hash: view.last_hash,
    };
    let after = options.from.unwrap_or(1) - 1;
    let until = options.to.unwrap_or(register.number);
    if after < 0 || until < after || register.number < until {
        bail!("the register has entries 1 to {}", register.number);
    }
    let hashes = view.hashes_of([after, until]).await?;
    let [Some(before), Some(last)] = hashes else {
        bail!("an entry is missing; prove the ledger with `register verify`");
    };
    let link = |number, hash| Link { number, hash };
    let head = Head::new(link(after, before), link(until, last), register);
    let file = File::create_new(&options.file)
        .with_context(|| format!("{} cannot be made", options.file.display()))?;
    let mut out = BufWriter::new(file);
    write_head(&mut out, &head)?;
    let mut progress = Progress::of("Written");
    let mut at = after;
    while at < until {
        let kept = view.stretch(at, STRETCH_PAGE.min(until - at)).await?;
        let Some(end) = kept.last() else { break };
        at = end.entry.seq.0;
        for kept in &kept {
            write_entry(&mut out, &kept.entry, (kept.letters(), &kept.hash))?;
        }
        progress.at(format!("{at} entries"));
    }
    drop(progress);
    out.flush()?;
    drop(view);
    store.close().await;
    println!(
        "Entries {} to {} written, last hash {}. Note it elsewhere.",
        head.first, head.last, head.last_hash
    );
    Ok(ExitCode::SUCCESS)
}
