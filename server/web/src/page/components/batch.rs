//! Every item of a batch, wherever it is or was: for the list of components and as a file.

use crate::as_at::AsAtQuery;
use crate::failure::Failure;
use crate::limits::{EXPORT_PAGE, EXPORT_PAGES_MAX, EXPORTS_AT_ONCE};
use crate::misread::{Misread, field};
use crate::not_there::not_there;
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use domain::configuration::component::ComponentRef;
use domain::identity::{Batch, PartNumber};
use domain::ledger::dossier::ComponentRecord;
use domain::time::Zone;
use exchange::output::{Cell, write_csv};
use serde::Deserialize;
use store::read::stock_then::Stocked;
use store::read::whereabouts::Whereabouts;
use store::read::{AsAt, View};
use tokio::sync::Semaphore;

/// Files are made in memory; more requests than these wait.
static TURNS: Semaphore = Semaphore::const_new(EXPORTS_AT_ONCE);

const HEADER: [&str; 10] = [
    "part",
    "serial",
    "plate",
    "batch",
    "condition",
    "location",
    "fitted_at",
    "since",
    "entry",
    "received_at",
];

/// `?batch=…&part=…&at=…&known=…`
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub(crate) struct BatchQuery {
    batch: String,
    part: String,
    at: String,
    known: String,
}

/// A batch, of one part or of any, as at a time where that is not now.
pub(crate) struct Sought {
    batch: Batch,
    part: Option<PartNumber>,
    then: Option<AsAt>,
}

impl Sought {
    /// Reads what is asked for. A part that is named is in the catalogue.
    pub(crate) fn read(
        view: &View,
        (batch, part): (&str, &str),
        then: Option<AsAt>,
    ) -> Result<Self, Misread> {
        let batch = field("batch", batch)?;
        let part: Option<PartNumber> = match part.trim() {
            "" => None,
            part => Some(field("part", part)?),
        };
        if let Some(part) = &part
            && !view.documents.parts.contains_key(part)
        {
            return Err(Misread("part", not_there("part", part.as_str())));
        }
        Ok(Self { batch, part, then })
    }

    /// Its items by part and serial number, after one; more than asked for where there are more.
    pub(crate) async fn items(
        &self,
        view: &mut View,
        (after, rows): (Option<&ComponentRef>, usize),
    ) -> Result<Vec<ComponentRecord>, Failure> {
        let part = self.part.as_ref();
        let Some(as_at) = self.then else {
            let of = (&self.batch, part);
            return Ok(view.components_of_batch(of, (after, rows)).await?);
        };
        let which = Stocked::Batch(&self.batch, part);
        let mut told = view.stock_told(which, as_at).await?;
        told.retain(|one| after.is_none_or(|after| *after < one.component));
        Ok(told)
    }
}

/// `GET /components.csv`: all items of a batch, page by page from one view of the register.
pub(crate) async fn csv(
    State(state): State<WebState>,
    Query(query): Query<BatchQuery>,
) -> PageResult {
    let times = AsAtQuery {
        at: query.at,
        known: query.known,
    };
    let speaks = times.read(&state)?;
    // It is never closed.
    let _turn = TURNS.acquire().await;
    let mut view = speaks.view(&state).await?;
    let sought = Sought::read(&view, (&query.batch, &query.part), speaks.then())?;
    let mut lines: Vec<Vec<Cell>> = Vec::new();
    let mut after: Option<ComponentRef> = None;
    let mut goes_on = true;
    for _ in 0..EXPORT_PAGES_MAX {
        let asked = (after.as_ref(), EXPORT_PAGE);
        let mut items = sought.items(&mut view, asked).await?;
        goes_on = EXPORT_PAGE < items.len();
        items.truncate(EXPORT_PAGE);
        let places = match sought.then {
            Some(_) => Whereabouts::new(),
            None => view.whereabouts(&items).await?,
        };
        lines.extend(items.iter().map(|item| cells(item, &places, &state.zone)));
        after = items.pop().map(|last| last.component);
        if !goes_on {
            break;
        }
    }
    if goes_on {
        let says = format!(
            "THE LIST GOES ON: only its first {} rows are here.",
            lines.len()
        );
        let mut line = vec![Cell::Text(says)];
        line.resize(HEADER.len(), Cell::Empty);
        lines.push(line);
    }
    let mut bytes = Vec::new();
    write_csv(&mut bytes, &HEADER, lines)?;
    let name = format!("attachment; filename=\"batch-{}.csv\"", state.today());
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

/// Of a past time it is not told where something was fitted, only that it was.
fn cells(item: &ComponentRecord, places: &Whereabouts, zone: &Zone) -> Vec<Cell> {
    let text = |text: String| Cell::Text(text);
    let maybe = |text: Option<String>| text.map_or(Cell::Empty, Cell::Text);
    let fitted = item.kept.is_none().then(|| {
        let place = places.get(&item.id);
        place.map_or_else(|| "fitted".to_owned(), ToString::to_string)
    });
    vec![
        text(item.component.part.to_string()),
        text(item.component.serial.to_string()),
        text(item.plate().to_string()),
        maybe(item.batch.as_ref().map(ToString::to_string)),
        text(item.condition.to_string()),
        maybe(item.location().map(ToString::to_string)),
        maybe(fitted),
        text(zone.show(item.since)),
        text(item.since_by.0.to_string()),
        text(zone.show(item.received_at)),
    ]
}
