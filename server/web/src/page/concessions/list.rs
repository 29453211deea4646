//! All concessions, those first that end next.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::configuration::concession::{ConcessionRecord, ConcessionStanding};
use domain::people::APPROVES;
use domain::time::Day;
use store::read::departures::DepartureFilter;

#[derive(Template)]
#[template(path = "concessions/list.html")]
struct ConcessionsPage {
    frame: Frame,
    speaks: PageSpeaks,
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
    /// How many positions it is for now, and their list; of a past time that is not counted.
    pub(crate) positions: (Option<i64>, String),
}

impl Row {
    pub(crate) fn new(record: &ConcessionRecord, positions: Option<i64>, today: Day) -> Self {
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

/// What the page tells of a past time, and what on it is of now all the same.
pub(super) const WHAT: (&str, &str) = (
    "how concessions stood",
    "What departed from the baseline under one of them is told in the list of departures as at that \
     time. One that was prolonged since is told with the day to which it was.",
);

/// `GET /concessions?at=…&known=…`. One statement beyond those of the design data.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let speaks = query.read(&state)?;
    let at = speaks.times.effective;
    let today = state.zone.day_of(at);
    let mut view = speaks.view(&state).await?;
    let counts = match speaks.then() {
        None => Some(view.under_concessions(&DepartureFilter::all(today)).await?),
        Some(_) => None,
    };
    let speaks = PageSpeaks::new((&query, &speaks), "/concessions".to_owned(), WHAT);
    let concessions = view.documents.concessions.values();
    let mut known: Vec<ConcessionRecord> =
        concessions.filter_map(|record| record.as_at(at)).collect();
    known.sort_by_key(|record| {
        let over = record.standing(today) == ConcessionStanding::Withdrawn;
        (over, record.until(), record.by)
    });
    let row = |record: &ConcessionRecord| {
        let number = &record.granted.number;
        let counts = counts.as_ref();
        let under = counts.map(|counts| counts.get(number).copied().unwrap_or(0));
        let row = Row::new(record, under, today);
        Row {
            address: speaks.at_same(&row.address),
            ..row
        }
    };
    let frame = Frame::new(&state, &signed_in);
    page(&ConcessionsPage {
        today,
        rows: known.iter().map(row).collect(),
        may_propose: frame.holds(APPROVES) && speaks.past.is_none(),
        speaks,
        frame,
    })
}
