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
use domain::identity::{CarNumber, PartNumber};
use domain::people::OPENS_FLEET_CHECKS;
use domain::time::Zone;
use exchange::output::{Cell, write_csv};
use serde::Deserialize;
use std::collections::BTreeSet;
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
    /// Opens a check of the cars found, for whoever may.
    check: Option<String>,
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

    /// The cars that carry what is asked, by their numbers, at most one more than so many; none
    /// where nothing is asked.
    pub(crate) async fn named_cars(
        &self,
        state: &WebState,
        most: usize,
    ) -> Result<Option<BTreeSet<CarNumber>>, Failure> {
        let Some((mut filter, _)) = self.filter(state)? else {
            return Ok(None);
        };
        filter.rows = EXPORT_PAGE;
        let mut cars = BTreeSet::new();
        let mut view = state.store.view().await?;
        loop {
            let mut rows = view.carrying(&filter).await?;
            let more = EXPORT_PAGE < rows.len();
            rows.truncate(EXPORT_PAGE);
            filter.after = rows.last().map(|row| row.fitment.at.clone());
            cars.extend(rows.into_iter().map(|row| row.fitment.at.car));
            if !more || most < cars.len() {
                return Ok(Some(cars));
            }
        }
    }

    /// What is asked, in words.
    pub(crate) fn in_words(&self) -> String {
        let further = [
            ("serial numbers that begin with", &self.serial),
            ("fitted at", &self.at),
            ("as known at", &self.known),
        ];
        let further = further
            .into_iter()
            .filter(|(_, value)| !value.trim().is_empty());
        let further = further.map(|(what, value)| format!("{what} {}", value.trim()));
        let words = std::iter::once(format!("part {}", self.part.trim())).chain(further);
        words.collect::<Vec<_>>().join(", ")
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
    let frame = Frame::new(&state, &signed_in);
    let some = found.as_ref().is_some_and(|found| 0 < found.cars);
    let check =
        (some && frame.holds(OPENS_FLEET_CHECKS)).then(|| asked.address("/fleet-checks/new", None));
    page(&CarryingPage {
        frame,
        check,
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
