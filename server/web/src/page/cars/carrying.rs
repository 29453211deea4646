//! Which cars carry a part, serial numbers that begin alike, a batch, a modification state or a setting:
//! today or as at a past time, and as the register knew it at one. Asked when a defect found on one
//! car may be on all.

use crate::as_at::Past;
use crate::carrying::{Ask, CarryingQuery, Standing, is_known};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::limits::{EXPORT_PAGE, EXPORTS_AT_ONCE};
use crate::page::positions::SettingRow;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use domain::configuration::looked_for::LookedFor;
use domain::identity::CarNumber;
use domain::ledger::dossier::Documents;
use domain::people::OPENS_FLEET_CHECKS;
use domain::time::Zone;
use exchange::output::{Cell, write_csv};
use std::collections::BTreeSet;
use store::read::View;
use store::read::carrying::{CARRYING_PAGE, Carried, Carrying, CarryingCount, CarryingFilter};
use tokio::sync::Semaphore;

/// Files are made in memory; more requests than these wait.
static TURNS: Semaphore = Semaphore::const_new(EXPORTS_AT_ONCE);

const HEADER: [&str; 11] = [
    "car", "unit", "fleet", "depot", "position", "part", "serial", "setting", "set_to", "since",
    "entry",
];

#[derive(Template)]
#[template(path = "cars/carrying.html")]
struct CarryingPage {
    frame: Frame,
    asked: CarryingQuery,
    /// What else can be asked, with its address.
    others: Vec<(&'static str, String)>,
    /// Names offered while typing: parts, modification states, settings.
    parts: Vec<String>,
    states: BTreeSet<String>,
    settings: BTreeSet<String>,
    past: Option<Past>,
    /// Opens a check of the cars found, for whoever may.
    check: Option<String>,
    /// None where nothing was asked yet.
    found: Option<Found>,
    zone: Zone,
}

struct Found {
    looked_for: LookedFor,
    count: CarryingCount,
    /// What cannot be told, and where it is listed.
    untold: Option<(CarryingCount, String)>,
    rows: Vec<Carrying>,
    next: Option<String>,
    csv: String,
}

/// The cars that a check would ask.
pub(crate) struct NamedCars {
    /// What is looked for, and of which times, in words.
    pub(crate) words: String,
    pub(crate) looked_for: LookedFor,
    /// All of them: those that carry it, and those of which that cannot be told.
    pub(crate) cars: BTreeSet<CarNumber>,
    /// Those of which it cannot be told.
    pub(crate) untold: BTreeSet<CarNumber>,
}

/// The cars that carry what is asked or may, by their numbers, at most one more than so many of
/// either; none where nothing is asked.
pub(crate) async fn named_cars(
    asked: &CarryingQuery,
    state: &WebState,
    most: usize,
) -> Result<Option<NamedCars>, Failure> {
    let Some((filter, speaks)) = asked.filter(state)? else {
        return Ok(None);
    };
    let mut view = speaks.view(state).await?;
    is_known(&mut view, (asked, &filter)).await?;
    let mut cars = cars_of(&mut view, filter.clone(), most).await?;
    let untold = match filter.looked_for.untold() {
        None => BTreeSet::new(),
        Some(looked_for) => {
            let filter = CarryingFilter {
                looked_for,
                ..filter.clone()
            };
            cars_of(&mut view, filter, most).await?
        }
    };
    let untold: BTreeSet<CarNumber> = untold.difference(&cars).cloned().collect();
    cars.extend(untold.iter().cloned());
    let and_untold = if untold.is_empty() {
        ""
    } else {
        ", and cars of which that cannot be told"
    };
    Ok(Some(NamedCars {
        words: format!(
            "{}{}{and_untold}",
            filter.looked_for,
            asked.times_in_words()
        ),
        looked_for: filter.looked_for,
        cars,
        untold,
    }))
}

async fn cars_of(
    view: &mut View,
    mut filter: CarryingFilter,
    most: usize,
) -> Result<BTreeSet<CarNumber>, Failure> {
    filter.rows = EXPORT_PAGE;
    let mut cars = BTreeSet::new();
    loop {
        let mut rows = view.carrying(&filter).await?;
        let more = EXPORT_PAGE < rows.len();
        rows.truncate(EXPORT_PAGE);
        filter.after = rows.last().map(|row| row.at.clone());
        cars.extend(rows.into_iter().map(|row| row.at.car));
        if !more || most < cars.len() {
            return Ok(cars);
        }
    }
}

/// `GET /carrying`. At most five statements, and four more of a past time.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(asked): Query<CarryingQuery>,
) -> PageResult {
    let (view, found, past) = match asked.filter(&state)? {
        None => (state.store.view().await?, None, None),
        Some((filter, speaks)) => {
            let mut view = speaks.view(&state).await?;
            is_known(&mut view, (&asked, &filter)).await?;
            let found = found(&mut view, &asked, filter).await?;
            (view, Some(found), speaks.past)
        }
    };
    let frame = Frame::new(&state, &signed_in);
    let some = |found: &Found| 0 < found.count.cars || found.untold.is_some();
    let some = found.as_ref().is_some_and(some);
    let check =
        (some && frame.holds(OPENS_FLEET_CHECKS)).then(|| asked.address("/fleet-checks/new", None));
    page(&CarryingPage {
        frame,
        check,
        others: others(&asked),
        parts: view
            .documents
            .parts
            .keys()
            .map(ToString::to_string)
            .collect(),
        states: states(&view.documents),
        settings: settings(&view.documents),
        asked,
        past,
        found,
        zone: state.zone.clone(),
    })
}

/// What else can be asked, of the same times.
fn others(asked: &CarryingQuery) -> Vec<(&'static str, String)> {
    let others = Ask::ALL.into_iter().filter(|ask| *ask != asked.ask);
    let other = |ask: Ask| {
        let times = CarryingQuery {
            ask,
            at: asked.at.clone(),
            known: asked.known.clone(),
            ..CarryingQuery::default()
        };
        (ask.title(), times.address("/carrying", None))
    };
    others.map(other).collect()
}

fn states(documents: &Documents) -> BTreeSet<String> {
    let parts = documents.parts.values();
    let states = parts.flat_map(|part| &part.document.modification_states);
    states.map(ToString::to_string).collect()
}

fn settings(documents: &Documents) -> BTreeSet<String> {
    let asked = documents.settings_asked().into_iter();
    asked.map(ToString::to_string).collect()
}

async fn found(
    view: &mut View,
    asked: &CarryingQuery,
    filter: CarryingFilter,
) -> Result<Found, Failure> {
    let mut found = view.carrying_found(&filter).await?;
    let more = CARRYING_PAGE < found.rows.len();
    found.rows.truncate(CARRYING_PAGE);
    let last = found.rows.last().filter(|_| more);
    let untold = (0 < found.untold.places)
        .then(|| (found.untold, asked.untold().address("/carrying", None)));
    Ok(Found {
        looked_for: filter.looked_for,
        count: found.count,
        untold,
        next: last.map(|row| asked.address("/carrying", Some(&row.at))),
        csv: asked.address("/carrying.csv", None),
        rows: found.rows,
    })
}

/// `GET /carrying.csv`: all rows, page by page from one view of the register.
pub(crate) async fn csv(
    State(state): State<WebState>,
    Query(asked): Query<CarryingQuery>,
) -> PageResult {
    let mut lines = Vec::new();
    if let Some((mut filter, speaks)) = asked.filter(&state)? {
        // It is never closed.
        let _turn = TURNS.acquire().await;
        let mut view = speaks.view(&state).await?;
        is_known(&mut view, (&asked, &filter)).await?;
        filter.rows = EXPORT_PAGE;
        loop {
            let mut rows = view.carrying(&filter).await?;
            let more = EXPORT_PAGE < rows.len();
            rows.truncate(EXPORT_PAGE);
            lines.extend(rows.iter().map(|row| cells(row, &state.zone)));
            filter.after = rows.last().map(|row| row.at.clone());
            if !more {
                break;
            }
        }
    }
    let mut bytes = Vec::new();
    write_csv(&mut bytes, &HEADER, lines)?;
    let name = format!("attachment; filename=\"carrying-{}.csv\"", state.today());
    let headers = [
        (header::CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
        (header::CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

fn cells(row: &Carrying, zone: &Zone) -> Vec<Cell> {
    let text = |text: String| Cell::Text(text);
    let maybe = |text: Option<String>| text.map_or(Cell::Empty, Cell::Text);
    let mut cells = vec![
        text(row.at.car.to_string()),
        maybe(row.unit.as_ref().map(ToString::to_string)),
        text(row.fleet.to_string()),
        text(row.depot.to_string()),
        text(row.at.position.to_string()),
    ];
    cells.extend(match &row.carried {
        Carried::Component(fitment) => [
            text(fitment.component.part.to_string()),
            text(fitment.component.serial.to_string()),
            Cell::Empty,
            Cell::Empty,
            text(zone.show(fitment.from)),
            text(fitment.fitted_by.0.to_string()),
        ],
        Carried::Setting(one) => {
            let told = one.told.as_ref();
            [
                Cell::Empty,
                Cell::Empty,
                text(one.setting.name().to_string()),
                maybe(told.map(|told| told.made.value.to_string())),
                maybe(told.map(|told| zone.show(told.since))),
                maybe(told.map(|told| told.by.0.to_string())),
            ]
        }
    });
    cells
}
