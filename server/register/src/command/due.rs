//! `register due`: the due list as text, or as CSV for a spreadsheet, with what ends beside it.

use crate::clock;
use crate::options::{self, Format};
use anyhow::{Result, bail};
use domain::due::state::State;
use domain::unreadable::Unreadable;
use exchange::output::write_csv;
use std::io::Write;
use std::process::ExitCode;
use std::str::FromStr;
use store::Store;
use store::read::View;
use store::read::due::{DueFilter, DueItem};
use web::due_ends::{End, ends};
use web::due_lines::{ESTIMATED, HEADER, at_once, cells};

/// Rows read at once.
const PAGE: usize = 2_000;

/// Runs the command. The list is held in memory: about 500 bytes a row.
pub(crate) async fn run(options: options::Due) -> Result<ExitCode> {
    let database = &options.database;
    let store = Store::open_existing(&database.database, database.zone.clone()).await?;
    let now = clock::now();
    let today = store.zone().day_of(now);
    let filter = DueFilter {
        place: given(options.place)?,
        fleet: given(options.fleet)?,
        depot: given(options.depot)?,
        unit: given(options.unit)?,
        car: given(options.car)?,
        part: given(options.part)?,
        state: given(options.state)?,
        until: given(options.until)?,
        rows: PAGE,
        ..DueFilter::all(today)
    };
    let mut view = store.view().await?;
    let items = everything(&mut view, &filter).await?;
    let ends = ends(&mut view, &filter, now).await?;
    match options.format {
        Format::Csv => {
            let lines = items.iter();
            let lines = lines.map(|item| cells(item, &view.documents, store.zone()));
            let lines = ends.iter().map(End::cells).chain(lines);
            write_csv(std::io::stdout().lock(), &HEADER, lines)?;
        }
        Format::Text => text(std::io::stdout().lock(), (&ends, &items))?,
    }
    let undated = undated(&mut view, &filter).await?;
    if 0 < undated {
        eprintln!(
            "{undated} more without a date: `--state no_date` and `--state unknown` tell of them."
        );
    }
    drop(view);
    store.close().await;
    Ok(ExitCode::SUCCESS)
}

fn given<T: FromStr<Err = Unreadable>>(text: Option<String>) -> Result<Option<T>, Unreadable> {
    text.map(|text| text.parse()).transpose()
}

/// All that a filter asks for.
async fn everything(view: &mut View, filter: &DueFilter) -> Result<Vec<DueItem>> {
    let items = all(view, filter.clone()).await?;
    if items.is_empty()
        && let Some(field) = view.not_there(filter.named()).await?.first()
    {
        bail!("the {field} that is asked for is not in the register");
    }
    Ok(items)
}

/// How many rows without a date a list leaves out.
async fn undated(view: &mut View, filter: &DueFilter) -> Result<usize> {
    if filter.state.is_some() || filter.until.is_some() || filter.ends_undated() {
        return Ok(0);
    }
    let mut count = 0;
    for state in [State::Unknown, State::NoDate] {
        let state = Some(state);
        let items = all(
            view,
            DueFilter {
                state,
                ..filter.clone()
            },
        )
        .await?;
        count += items
            .iter()
            .filter(|item| item.forecast.on.is_none())
            .count();
    }
    Ok(count)
}

async fn all(view: &mut View, mut filter: DueFilter) -> Result<Vec<DueItem>> {
    let mut all = Vec::new();
    loop {
        let mut page = view.due(&filter).await?;
        let more = filter.rows < page.len();
        page.truncate(filter.rows);
        filter.after = page.last().map(|item| item.cursor.clone());
        all.extend(page);
        if !more {
            return Ok(all);
        }
    }
}

/// What sets the date, where there is one: a limit, or why it is due at once.
fn set_by(item: &DueItem) -> Option<String> {
    let limit = item.forecast.set_by.map(|metric| {
        if item.estimated {
            format!("by {metric} ({ESTIMATED})")
        } else {
            format!("by {metric}")
        }
    });
    at_once(item).or(limit)
}

fn text(mut output: impl Write, (ends, items): (&[End], &[DueItem])) -> std::io::Result<()> {
    for end in ends {
        writeln!(output, "{}", end.line())?;
    }
    for item in items {
        let on = item
            .forecast
            .on
            .map_or("no date".to_owned(), |on| on.to_string());
        let place = match (&item.car, &item.position, &item.location) {
            (Some(car), Some(position), _) => format!("car {car} {position}"),
            (Some(car), None, _) => format!("car {car}"),
            (None, _, Some(location)) => location.to_string(),
            (None, _, None) => String::new(),
        };
        let lacking = item
            .forecast
            .lacking
            .in_words()
            .map_or(String::new(), |facts| format!("; not known: {facts}"));
        let set_by = set_by(item).map_or(String::new(), |words| format!(" {words}"));
        let (state, task, subject) = (item.state.to_string(), &item.task, &item.subject);
        writeln!(
            output,
            "{on:<10}  {state:<17}  {task}{set_by}  {subject}  {place}{lacking}"
        )?;
    }
    let rows = ends.len() + items.len();
    writeln!(output, "{rows} row{}.", if rows == 1 { "" } else { "s" })
}
