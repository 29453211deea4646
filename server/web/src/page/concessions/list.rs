//! All concessions, those first that end next.

use crate::address;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use domain::configuration::concession::{ConcessionRecord, ConcessionStanding};
use domain::people::APPROVES;
use domain::time::Day;
use store::read::departures::DepartureFilter;

#[derive(Template)]
#[template(path = "concessions/list.html")]
struct ConcessionsPage {
    frame: Frame,
    today: Day,
    rows: Vec<Row>,
    may_propose: bool,
}

/// A concession as shown in a list.
pub(crate) struct Row {
    pub(crate) number: String,
    pub(crate) address: String,
    pub(crate) standing: ConcessionStanding,
    pub(crate) allows: String,
    /// Whether it names no values though it is for a setting outside its range.
    pub(crate) names_no_values: bool,
    pub(crate) position: String,
    pub(crate) cars: String,
    pub(crate) reason: String,
    pub(crate) until: String,
    pub(crate) prolonged: usize,
    /// How many positions it is for now, and their list.
    pub(crate) positions: (i64, String),
}

impl Row {
    pub(crate) fn new(record: &ConcessionRecord, positions: i64, today: Day) -> Self {
        let granted = &record.granted;
        let number = granted.number.to_string();
        let list = address::with_query("/departures", [("concession", &*number)]);
        Self {
            address: address::concession(&granted.number),
            standing: record.standing(today),
            allows: match &granted.values {
                Some(values) => format!("{}, {values}", granted.allows),
                None if granted.names_no_values() => {
                    format!("{}, but names no values", granted.allows)
                }
                None => granted.allows.to_string(),
            },
            names_no_values: granted.names_no_values(),
            position: granted.position.to_string(),
            cars: granted.cars.to_string(),
            reason: granted.reason.clone(),
            until: record.until().to_string(),
            prolonged: record.prolonged.len(),
            positions: (positions, list),
            number,
        }
    }
}

/// `GET /concessions`. One statement beyond those of the design data.
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let today = state.today();
    let mut view = state.store.view().await?;
    let counts = view.under_concessions(&DepartureFilter::all(today)).await?;
    let mut known: Vec<&ConcessionRecord> = view.documents.concessions.values().collect();
    known.sort_by_key(|record| {
        let over = record.standing(today) == ConcessionStanding::Withdrawn;
        (over, record.until(), record.by)
    });
    let row = |record: &ConcessionRecord| {
        let positions = counts.get(&record.granted.number).copied().unwrap_or(0);
        Row::new(record, positions, today)
    };
    let frame = Frame::new(&state, &signed_in);
    page(&ConcessionsPage {
        today,
        rows: known.into_iter().map(row).collect(),
        may_propose: frame.holds(APPROVES),
        frame,
    })
}
