//! Which cars carry a part, or serial numbers of it that begin alike: today or as at a past time,
//! and as the register knew it at one. Asked when a defect found on one car may be on all.

use crate::address;
use crate::as_at::{AsAtQuery, Past};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::limits::{EXPORT_PAGE, EXPORTS_AT_ONCE, SEARCH_CHARS_MAX};
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::IntoResponse;
use domain::configuration::component::PositionRef;
use domain::identity::PartNumber;
use domain::time::Zone;
use exchange::output::{Cell, write_csv};
use serde::Deserialize;
use store::read::View;
use store::read::carrying::{CARRYING_PAGE, Carrying, CarryingFilter};
use tokio::sync::Semaphore;

/// Files are made in memory; more requests than these wait.
static TURNS: Semaphore = Semaphore::const_new(EXPORTS_AT_ONCE);

const HEADER: [&str; 9] = [
    "car", "unit", "fleet", "depot", "position", "part", "serial", "since", "entry",
];

/// `?part=…&serial=…&at=…&known=…`, and where a page begins.
#[derive(Debug, Default, Clone, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    part: String,
    #[serde(default)]
    serial: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
    #[serde(default)]
    after_car: String,
    #[serde(default)]
    after_position: String,
}

#[derive(Template)]
#[template(path = "cars/carrying.html")]
struct CarryingPage {
    frame: Frame,
    asked: Asked,
    parts: Vec<String>,
    past: Option<Past>,
    /// None where nothing was asked yet.
    found: Option<Found>,
    zone: Zone,
}

struct Found {
    cars: i64,
    components: i64,
    rows: Vec<Carrying>,
    next: Option<String>,
    csv: String,
}

impl Asked {
    fn filter(&self, state: &WebState) -> Result<Option<(CarryingFilter, Option<Past>)>, Failure> {
        if self.part.trim().is_empty() {
            return Ok(None);
        }
        let part: PartNumber = self.part.trim().parse()?;
        let times = AsAtQuery {
            at: self.at.clone(),
            known: self.known.clone(),
        };
        let speaks = times.read(state)?;
        let after = match self.after_car.as_str() {
            "" => None,
            car => Some(PositionRef {
                car: car.parse()?,
                position: self.after_position.parse()?,
            }),
        };
        let serial = self.serial.trim().chars().take(SEARCH_CHARS_MAX);
        let filter = CarryingFilter {
            part,
            serial: serial.collect(),
            as_at: speaks.times,
            after,
            rows: CARRYING_PAGE,
        };
        Ok(Some((filter, speaks.past)))
    }

    fn address(&self, path: &str, after: Option<&PositionRef>) -> String {
        let fields = [
            ("part", self.part.as_str()),
            ("serial", self.serial.as_str()),
            ("at", self.at.as_str()),
            ("known", self.known.as_str()),
            ("after_car", after.map_or("", |at| at.car.as_str())),
            (
                "after_position",
                after.map_or("", |at| at.position.as_str()),
            ),
        ];
        address::with_query(path, fields)
    }
}

/// `GET /carrying`. Three statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(asked): Query<Asked>,
) -> PageResult {
    let mut view = state.store.view().await?;
    let parts = view.documents.parts.keys();
    let parts = parts.map(ToString::to_string).collect();
    let (found, past) = match asked.filter(&state)? {
        None => (None, None),
        Some((filter, past)) => (Some(found(&mut view, &asked, &filter).await?), past),
    };
    page(&CarryingPage {
        frame: Frame::new(&state, &signed_in),
        asked,
        parts,
        past,
        found,
        zone: state.zone.clone(),
    })
}

async fn found(view: &mut View, asked: &Asked, filter: &CarryingFilter) -> Result<Found, Failure> {
    let (cars, components) = view.carrying_count(filter).await?;
    let mut rows = view.carrying(filter).await?;
    let more = CARRYING_PAGE < rows.len();
    rows.truncate(CARRYING_PAGE);
    let last = rows.last().filter(|_| more);
    Ok(Found {
        cars,
        components,
        next: last.map(|row| asked.address("/carrying", Some(&row.fitment.at))),
        csv: asked.address("/carrying.csv", None),
        rows,
    })
}

/// `GET /carrying.csv`: all rows, page by page from one view of the register.
pub(crate) async fn csv(State(state): State<WebState>, Query(asked): Query<Asked>) -> PageResult {
    let mut lines = Vec::new();
    if let Some((mut filter, _)) = asked.filter(&state)? {
        // It is never closed.
        let _turn = TURNS.acquire().await;
        let mut view = state.store.view().await?;
        filter.rows = EXPORT_PAGE;
        loop {
            let mut rows = view.carrying(&filter).await?;
            let more = EXPORT_PAGE < rows.len();
            rows.truncate(EXPORT_PAGE);
            lines.extend(rows.iter().map(|row| cells(row, &state.zone)));
            filter.after = rows.last().map(|row| row.fitment.at.clone());
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
    let fitment = &row.fitment;
    let unit = row.unit.as_ref();
    vec![
        text(fitment.at.car.to_string()),
        unit.map_or(Cell::Empty, |unit| Cell::Text(unit.to_string())),
        text(row.fleet.to_string()),
        text(row.depot.to_string()),
        text(fitment.at.position.to_string()),
        text(fitment.component.part.to_string()),
        text(fitment.component.serial.to_string()),
        text(zone.show(fitment.from)),
        text(fitment.fitted_by.0.to_string()),
    ]
}
