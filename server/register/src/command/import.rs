//! `register import`: a folder or workbook, all of it or nothing.

use crate::clock;
use crate::command::Scratch;
use crate::options;
use crate::progress::{self, Progress};
use anyhow::{Context, Result};
use domain::configuration::component::ComponentRef;
use domain::ledger::command::Command;
use domain::ledger::entry::Seq;
use domain::ledger::record::founder;
use domain::people::Actor;
use domain::refusal::Refusal;
use exchange::input::{Input, Location, Names, Options, Refers};
use exchange::report::Report;
use std::cell::RefCell;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use store::read::cars::CarFilter;
use store::{Go, ImportProgress, ImportWatch, Imported, NewFile, Store, StoreError};

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
    let zone = || database.zone.clone();
    // A check makes no database: where there is none, it is made against an empty one that goes.
    let scratch = Scratch::make()?;
    let new = NewFile::of(&database.database).filter(|_| !options.dry_run);
    let store = match (&new, options.dry_run) {
        (Some(new), _) => Store::open(&new.address, zone()).await?,
        (None, false) => Store::open_to_import(&database.database, zone()).await?,
        (None, true) => match Store::open_existing(&database.database, zone()).await {
            Err(StoreError::NotThere { .. }) => Store::open(&scratch.address, zone()).await?,
            opened => opened?,
        },
    };
    let actor = founder(options.person.parse()?);
    let keep = if options.dry_run {
        Keep::Never
    } else {
        Keep::IfFaultless
    };
    let reading = Options {
        zone: store.zone().clone(),
        shift_days: 0,
    };
    let stop = progress::stop_on_interrupt();
    let outcome = import(&store, &actor, (&options.input, reading), (keep, &stop)).await;
    store.close().await;
    let outcome = outcome?;
    if let (Some(new), Imported::Kept(_)) = (new, &outcome.imported) {
        new.put()
            .context("what was brought in could not be kept, and nothing was changed")?;
    }
    Ok(say(&outcome, keep))
}

/// What an import came to.
pub(crate) struct Outcome {
    /// How it ended.
    pub(crate) imported: Imported,
    /// All errors of the input.
    pub(crate) report: Report,
    /// Components whose serial numbers differ too little to be told apart, side by side.
    pub(crate) alike: Vec<ComponentRef>,
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
        Ok(input) => input.beside(names(store).await?),
        Err(error) => {
            report.borrow_mut().add(error);
            let imported = Imported::LeftAsItWas(ImportProgress::default());
            return Ok(Outcome {
                imported,
                report: report.into_inner(),
                alike: Vec::new(),
            });
        }
    };
    let commands = input.flat_map(|item| {
        let (read, stand_ins) = match item {
            Ok(located) => (Some(located), Vec::new()),
            Err(unread) => (None, report.borrow_mut().unread(unread)),
        };
        let read = read.map(|located| (Refers::of(&located), located.value));
        let stand_ins = stand_ins.into_iter();
        let stand_ins =
            stand_ins.map(|located| (Refers::of(&located).standing_in(), located.value));
        read.into_iter().chain(stand_ins)
    });
    let commands = commands.filter_map(|(refers, command)| {
        let looked_at = report.borrow_mut().looked_at(refers)?;
        Some((looked_at, command))
    });
    let mut watch = Watch {
        report: &report,
        rows: Rows::default(),
        alike: Vec::new(),
        keep,
        stop,
        progress: Progress::of(if keep == Keep::Never {
            "Checked"
        } else {
            "Recorded"
        }),
    };
    let commands: &mut dyn Iterator<Item = (Refers, Command)> = &mut { commands };
    let imported = store
        .import(actor, clock::now(), commands, &mut watch)
        .await
        .with_context(|| {
            format!(
                "{} was not brought in, and nothing was changed",
                path.display()
            )
        })?;
    let alike = watch.alike;
    Ok(Outcome {
        imported,
        alike,
        report: report.into_inner(),
    })
}

/// The cars of the register and their types, by which an input may name positions.
async fn names(store: &Store) -> Result<Names> {
    let mut view = store.view().await?;
    let mut filter = CarFilter::default();
    let mut cars = Vec::new();
    loop {
        let page = view.cars(&filter).await?;
        let Some(last) = page.last() else { break };
        filter.after = Some(last.car.number.clone());
        cars.extend(page.into_iter().map(|record| {
            let unit = record.unit.map(|membership| membership.unit);
            (record.car, unit)
        }));
    }
    Ok(Names::of((*view.documents).clone(), cars))
}

/// The rows that the entries of an import come from, in a few bytes each.
#[derive(Default)]
struct Rows {
    files: Vec<String>,
    /// The number of the first entry.
    first: Option<Seq>,
    /// Of each entry the place of its file and the row.
    places: Vec<(u16, u32)>,
}

impl Rows {
    fn add(&mut self, location: &Location, seq: Seq) {
        self.first.get_or_insert(seq);
        let known = self.files.iter().rposition(|file| *file == location.file);
        let file = known.unwrap_or_else(|| {
            self.files.push(location.file.clone());
            self.files.len() - 1
        });
        let file = u16::try_from(file).unwrap_or(u16::MAX);
        self.places
            .push((file, u32::try_from(location.row).unwrap_or(u32::MAX)));
    }

    /// The row of an entry, if it is one of this import.
    fn of(&self, seq: Seq) -> Option<Location> {
        let place = usize::try_from(seq.0 - self.first?.0).ok()?;
        let (file, row) = self.places.get(place)?;
        let file = self.files.get(usize::from(*file))?.clone();
        let row = u64::from(*row);
        Some(Location { file, row })
    }
}

struct Watch<'a> {
    report: &'a RefCell<Report>,
    rows: Rows,
    alike: Vec<ComponentRef>,
    keep: Keep,
    stop: &'a Arc<AtomicBool>,
    progress: Progress,
}

impl ImportWatch<Refers> for Watch<'_> {
    fn is_only_named(&self, tag: &Refers) -> bool {
        tag.is_only_named()
    }

    fn recorded(&mut self, tag: &Refers, seq: Seq) {
        self.rows.add(&tag.location, seq);
    }

    fn refused(&mut self, tag: Refers, refusal: Refusal) {
        let other = refusal.conflicting_entry();
        let other = other.and_then(|seq| self.rows.of(seq));
        let mut report = self.report.borrow_mut();
        report.refused(tag, &refusal, other.as_ref());
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

    fn alike(&mut self, alike: Vec<ComponentRef>) {
        self.alike = alike;
    }

    fn keep(&mut self) -> bool {
        self.keep == Keep::IfFaultless && self.report.borrow().is_empty()
    }
}

fn say(outcome: &Outcome, keep: Keep) -> ExitCode {
    let Outcome {
        imported,
        report,
        alike,
    } = outcome;
    if !report.is_empty() {
        eprint!("{report}");
        let total = report.total();
        let errors = if total == 1 { "error" } else { "errors" };
        eprintln!("{total} {errors}. Nothing was changed.");
        return ExitCode::FAILURE;
    }
    say_alike(alike);
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

/// Says which components may be one that came in twice.
fn say_alike(alike: &[ComponentRef]) {
    if alike.is_empty() {
        return;
    }
    println!(
        "To be looked at: these components of one part have serial numbers that differ only in \
         case, blanks or hyphens. If two are one, correct the entries of the wrong one."
    );
    for component in alike {
        println!("  {component}");
    }
}
