//! `register generate`: an invented fleet of any size, the same each time for one number.

use crate::options;
use anyhow::{Context, Result, bail};
use exchange::generate::{Design, FolderSink, History, Options, generate};
use std::process::ExitCode;

/// Runs the command.
pub(crate) fn run(options: &options::Generate) -> Result<ExitCode> {
    if options.to.exists() {
        bail!(
            "{} is there already and is left as it is; name a folder that does not exist",
            options.to.display()
        );
    }
    let design = match Design::read(&options.design) {
        Ok(design) => design,
        Err(errors) => {
            for error in &errors {
                eprintln!("{error}");
            }
            bail!(
                "the design in {} has {} error{}",
                options.design.display(),
                errors.len(),
                if errors.len() == 1 { "" } else { "s" }
            );
        }
    };
    let wanted = Options {
        seed: options.seed,
        cars: options.cars,
        as_at: options.as_at,
        history: History::Years(options.years),
        positions_per_car: options.positions_per_car,
    };
    let cannot = || format!("cannot write {}", options.to.display());
    let mut sink = FolderSink::create(&options.to).with_context(cannot)?;
    let summary = generate(&design, wanted, &mut sink).with_context(cannot)?;
    sink.finish().with_context(cannot)?;
    for (table, rows) in &summary.rows {
        println!("{table}: {rows} rows");
    }
    println!(
        "{} components fitted, {} tasks.",
        summary.fitted, summary.tasks
    );
    Ok(ExitCode::SUCCESS)
}
