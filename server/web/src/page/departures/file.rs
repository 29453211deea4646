//! The departures as a file for a spreadsheet, read page by page from one view of the register.

use super::Asked;
use crate::departure::{Baseline, DepartureQuery, Source, allowed, words};
use crate::form::Fields;
use crate::limits::{EXPORT_PAGE, EXPORT_PAGES_MAX};
use crate::not_there::refuse_not_there;
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use domain::ledger::dossier::Documents;
use domain::time::Day;
use domain::unreadable::Unreadable;
use exchange::output::{Cell, write_csv};
use store::read::departures::{DepartureFilter, DepartureItem};

const HEADER: [&str; 14] = [
    "car",
    "unit",
    "fleet",
    "depot",
    "position",
    "title",
    "departure",
    "in words",
    "since",
    "part",
    "serial",
    "modification state",
    "approved",
    "concession",
];

/// `GET /departures.csv`
pub(crate) async fn csv(State(state): State<WebState>, Query(fields): Asked) -> PageResult {
    let mut query = DepartureQuery::read(Fields(fields.into_iter().collect()), &state);
    let mut view = query.speaks.view(&state).await?;
    let source = Source::of(&mut view, &mut query).await?;
    if let Some((field, what)) = query.errors.first() {
        let given = query.fields.text(field);
        return Err(Unreadable::new("field of the list of departures", given, what).into());
    }
    refuse_not_there(&mut view, query.filter.named()).await?;
    let mut filter = DepartureFilter {
        rows: EXPORT_PAGE,
        ..query.filter
    };
    let mut lines = Vec::new();
    let mut goes_on = true;
    for _ in 0..EXPORT_PAGES_MAX {
        let mut items = source.page(&mut view, &filter).await?;
        goes_on = filter.rows < items.len();
        items.truncate(filter.rows);
        let documents = &view.documents;
        lines.extend(items.iter().map(|item| cells(item, documents, filter.on)));
        filter.after = items.last().map(|item| item.cursor.clone());
        if !goes_on {
            break;
        }
    }
    if goes_on {
        let mut line = vec![Cell::Empty; HEADER.len()];
        line[7] = Cell::Text(format!(
            "THE LIST GOES ON: only its first {} rows are here. Narrow it by fleet or depot.",
            lines.len()
        ));
        lines.push(line);
    }
    let mut bytes = Vec::new();
    write_csv(&mut bytes, &HEADER, lines)?;
    let name = format!("attachment; filename=\"departures-{}.csv\"", state.today());
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

fn cells(item: &DepartureItem, documents: &Documents, on: Day) -> Vec<Cell> {
    let text = |value: Option<String>| value.map_or(Cell::Empty, Cell::Text);
    let car = &item.car.car;
    let component = item.component.as_ref();
    let baseline = Baseline::of(item, documents, on);
    vec![
        Cell::Text(car.number.to_string()),
        text(item.car.unit.as_ref().map(|unit| unit.unit.to_string())),
        Cell::Text(car.fleet.to_string()),
        Cell::Text(car.depot.to_string()),
        Cell::Text(item.position.to_string()),
        Cell::Text(baseline.title),
        Cell::Text(item.kind.to_string()),
        Cell::Text(words(item)),
        item.from.map_or(Cell::Empty, Cell::Day),
        text(component.map(|there| there.component.part.to_string())),
        text(component.map(|there| there.component.serial.to_string())),
        text(component.and_then(|there| Some(there.modification.as_ref()?.to_string()))),
        Cell::Text(baseline.approved.join("; ")),
        text(allowed(item, on)),
    ]
}
