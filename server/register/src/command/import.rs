//! `register import`: a folder or workbook, all of it or nothing.

use crate::clock;
use crate::options;
use crate::progress::{self, Progress};
use anyhow::{Context, Result};
use domain::ledger::command::Command;
use domain::ledger::record::founder;
use domain::people::Actor;
use domain::refusal::Refusal;
use exchange::input::{Input, InputError, Location, Options};
use exchange::report::Report;
use std::cell::RefCell;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use store::{Go, ImportProgress, ImportWatch, Imported, Store};

/// Whether what was read is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Keep {
    /// If there is no error in it.
    IfFaultless,
    /// Never: it is only checked.
    Never,
}

/// Runs the command.
pub(crate) async fn run(options: options::Import) -> Result<ExitCode> {
    let database = &options.database;
    let store = Store::open(&database.database, database.zone.clone()).await?;
    let actor = founder(options.person.parse()?);
    let keep = if options.dry_run {
        Keep::Never
    } else {
        Keep::IfFaultless
    };
    let reading = Options {
        zone: database.zone.clone(),
        shift_days: 0,
    };
    let stop = progress::stop_on_interrupt();
    let outcome = import(&store, &actor, (&options.input, reading), (keep, &stop)).await?;
    store.close().await;
    Ok(say(&outcome, keep))
}

/// What an import came to.
pub(crate) struct Outcome {
    /// How it ended.
    pub(crate) imported: Imported,
    /// All errors of the input.
    pub(crate) report: Report,
}

/// Reads an input and records it.
pub(crate) async fn import(
    store: &Store,
    actor: &Actor,
    (path, options): (&Path, Options),
    (keep, stop): (Keep, &Arc<AtomicBool>),
) -> Result<Outcome> {
    let report = RefCell::new(Report::default());
    let input = match Input::open(path, options) {
        Ok(input) => input,
        Err(error) => {
            report.borrow_mut().add(error);
            let imported = Imported::LeftAsItWas(ImportProgress::default());
            return Ok(Outcome {
                imported,
                report: report.into_inner(),
            });
        }
    };
    let commands = input.filter_map(|item| match item {
        Ok(located) => Some((located.location, located.value)),
        Err(errors) => {
            report.borrow_mut().extend(errors);
            None
        }
    });
    let mut watch = Watch {
        report: &report,
        keep,
        stop,
        progress: Progress::of("Recorded"),
    };
    let commands: &mut dyn Iterator<Item = (Location, Command)> = &mut { commands };
    let imported = store
        .import(actor, clock::now(), commands, &mut watch)
        .await
        .with_context(|| {
            format!(
                "{} was not brought in, and nothing was changed",
                path.display()
            )
        })?;
    drop(watch);
    Ok(Outcome {
        imported,
        report: report.into_inner(),
    })
}

struct Watch<'a> {
    report: &'a RefCell<Report>,
    keep: Keep,
    stop: &'a Arc<AtomicBool>,
    progress: Progress,
}

impl ImportWatch<Location> for Watch<'_> {
    fn refused(&mut self, location: Location, refusal: Refusal) {
        self.report
            .borrow_mut()
            .add(InputError::refused(location, &refusal));
    }

    fn progress(&mut self, progress: ImportProgress) -> Go {
        let ImportProgress {
            recorded,
            unchanged,
            settled,
            refused: _,
        } = progress;
        self.progress.at(format!(
            "{recorded} entries, {unchanged} unchanged, due dates of {settled} components"
        ));
        if self.stop.load(Ordering::Relaxed) {
            Go::Stop
        } else {
            Go::On
        }
    }

    fn keep(&mut self) -> bool {
        self.keep == Keep::IfFaultless && self.report.borrow().is_empty()
    }
}

fn say(outcome: &Outcome, keep: Keep) -> ExitCode {
    let Outcome { imported, report } = outcome;
    if !report.is_empty() {
        eprint!("{report}");
        let total = report.total();
        let errors = if total == 1 { "error" } else { "errors" };
        eprintln!("{total} {errors}. Nothing was changed.");
        return ExitCode::FAILURE;
    }
    match imported {
        Imported::Kept(ImportProgress {
            recorded,
            unchanged,
            ..
        }) => {
            println!("{recorded} entries recorded, {unchanged} were there before.");
            ExitCode::SUCCESS
        }
        Imported::LeftAsItWas(ImportProgress {
            recorded,
            unchanged,
            ..
        }) if keep == Keep::Never => {
            println!(
                "No errors. {recorded} entries would be recorded, {unchanged} are there. Nothing was changed."
            );
            ExitCode::SUCCESS
        }
        Imported::LeftAsItWas(_) => {
            eprintln!("Stopped. Nothing was changed.");
            ExitCode::FAILURE
        }
    }
}
