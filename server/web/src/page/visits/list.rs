//! The list of visits by the day on which they end.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::due::visit::VisitRecord;
use domain::identity::{UnitNumber, VisitNumber};
use domain::people::PLANS_VISITS;
use domain::time::Day;
use serde::Deserialize;
use store::read::visits::VISITS_PAGE;

#[derive(Template)]
#[template(path = "visits/list.html")]
struct VisitsPage {
    frame: Frame,
    visits: Vec<VisitRecord>,
    unit: String,
    from: String,
    next: Option<String>,
    plan: Option<String>,
    today: Day,
    speaks: PageSpeaks,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = ("what visits were planned", "");

/// `?unit=…&from=…&after=…&at=…&known=…`: of which unit; from which day on, else those that are not
/// over; after which visit that ends on that day the page begins; and as planned at which time.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Asked {
    #[serde(default)]
    unit: String,
    #[serde(default)]
    from: String,
    #[serde(default)]
    after: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
}

impl Asked {
    fn read(&self, today: Day) -> Result<Read, Failure> {
        let unit = (!self.unit.is_empty()).then(|| self.unit.parse());
        let from = (!self.from.is_empty()).then(|| self.from.parse());
        let after = (!self.after.is_empty()).then(|| self.after.parse());
        Ok(Read {
            unit: unit.transpose()?,
            from: from.transpose()?.unwrap_or(today),
            after: after.transpose()?,
        })
    }
}

struct Read {
    unit: Option<UnitNumber>,
    from: Day,
    after: Option<VisitNumber>,
}

/// `GET /visits`. Two statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(asked): Query<Asked>,
) -> PageResult {
    let query = AsAtQuery {
        at: asked.at.clone(),
        known: asked.known.clone(),
    };
    let speaks = query.read(&state)?;
    let today = state.zone.day_of(speaks.times.effective);
    let Read { unit, from, after } = asked.read(today)?;
    let mut view = speaks.view(&state).await?;
    let of = (from, after.as_ref());
    let mut visits = match speaks.then() {
        None => view.visits(unit.as_ref(), of).await?,
        Some(as_at) => view.visits_then(unit.as_ref(), of, as_at).await?,
    };
    let more = VISITS_PAGE < visits.len();
    visits.truncate(VISITS_PAGE);
    let last = visits.last().filter(|_| more);
    let next = last.map(|record| {
        let visit = &record.visit;
        let (ends, number) = (visit.until.to_string(), visit.number.as_str());
        let query = [
            ("unit", asked.unit.as_str()),
            ("from", &ends),
            ("after", number),
            ("at", asked.at.as_str()),
            ("known", asked.known.as_str()),
        ];
        address::with_query("/visits", query)
    });
    let frame = Frame::new(&state, &signed_in);
    page(&VisitsPage {
        plan: (frame.holds(PLANS_VISITS) && speaks.past.is_none())
            .then(|| address::with_query("/visits/new", [("unit", asked.unit.as_str())])),
        frame,
        speaks: PageSpeaks::new((&query, &speaks), "/visits".to_owned(), WHAT),
        visits,
        unit: asked.unit,
        from: asked.from,
        next,
        today,
    })
}
