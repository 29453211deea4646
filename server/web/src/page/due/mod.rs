//! The due list: what is due, when, by which limit, where; with the work of the coming weeks.

mod file;
mod weeks;

pub(crate) use file::{csv, xlsx};

use crate::address;
use crate::campaigns::CampaignNote;
use crate::due::campaigns::campaigns;
use crate::due::doubted::doubted;
use crate::due::ending::{Ending, ending};
use crate::due::query::DueQuery;
use crate::due::source::Source;
use crate::due::words::{self, LimitWords};
use crate::failure::Failure;
use crate::form::Fields;
use crate::frame::Frame;
use crate::page::components::JudgeAgain;
use crate::page::concessions::list::Row as ConcessionRow;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use domain::configuration::component::{PositionRef, Subject};
use domain::due::place::WorkPlace;
use domain::due::state::State as DueState;
use domain::ledger::dossier::Documents;
use domain::time::Day;
use store::read::View;
use store::read::due::{DUE_PAGE, DueItem};
use weeks::Weeks;

/// The fields of an address, as often as they stand there.
pub(crate) type Asked = Query<Vec<(String, String)>>;

#[derive(Template)]
#[template(path = "due/due.html")]
struct DuePage {
    frame: Frame,
    query: DueQuery,
    question: String,
    choices: Choices,
    rows: Vec<Row>,
    next: Option<String>,
    links: Links,
    weeks: Option<Weeks>,
    /// Concessions that end soon, or have ended with something still under them.
    concessions: Vec<ConcessionRow>,
    /// Modifications whose last day comes soon or is over, and that are not embodied everywhere.
    campaigns: Vec<CampaignNote>,
    /// Components that are to be judged again.
    again: Vec<JudgeAgain>,
}

impl DuePage {
    /// Whether a row is marked as an estimate, so that it must be told what that means.
    fn tells_estimates(&self) -> bool {
        self.rows.iter().any(|row| row.estimated)
    }
}

/// What the form offers.
struct Choices {
    fleets: Vec<String>,
    depots: Vec<String>,
    parts: Vec<String>,
    states: &'static [DueState],
}

/// The usual questions at the same place, and the list as files.
struct Links {
    /// The same question on cars, on what is on none, and on both, in words; whether it is asked.
    places: [(String, &'static str, bool); 3],
    everywhere: String,
    first: String,
    all: String,
    overdue: String,
    soon: String,
    later: String,
    unknown: String,
    no_date: String,
    csv: String,
    xlsx: String,
}

/// A row as shown.
pub(crate) struct Row {
    pub(crate) on: Option<String>,
    pub(crate) spread: Option<(String, String)>,
    pub(crate) state: DueState,
    pub(crate) task: String,
    pub(crate) title: String,
    pub(crate) limit: Option<LimitWords>,
    /// Whether that limit rests on use of which no reading tells.
    pub(crate) estimated: bool,
    /// Why it is due at once, with the entry that says so and its address.
    pub(crate) at_once: Option<(String, String)>,
    pub(crate) lacking: Option<String>,
    pub(crate) subject: String,
    pub(crate) serial: Option<String>,
    pub(crate) subject_link: String,
    pub(crate) place: Place,
    /// The hold under which the work cannot be done.
    pub(crate) held: Option<String>,
}

/// Where the work is.
#[derive(Default)]
pub(crate) struct Place {
    pub(crate) car: Option<(String, String)>,
    pub(crate) unit: Option<(String, String)>,
    pub(crate) position: Option<(String, String)>,
    pub(crate) location: Option<String>,
    pub(crate) depot: Option<String>,
}

/// `GET /due`. Of a past time at most twenty statements, however many cars.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(fields): Asked,
) -> PageResult {
    let mut query = DueQuery::asked(Fields(fields.into_iter().collect()), &state);
    let mut view = state.store.view().await?;
    let source = Source::of(&mut view, &mut query, &state).await?;
    let mut items = if query.errors.is_empty() {
        source.page(&mut view, &query.filter).await?
    } else {
        Vec::new()
    };
    query.name_missing(&mut view, &items).await?;
    let more = DUE_PAGE < items.len();
    items.truncate(DUE_PAGE);
    let last = items.last().filter(|_| more).map(|item| &item.cursor);
    let next = last.map(|cursor| query.page("/due", Some(cursor)));
    let weeks = weeks(&mut view, &query).await?;
    let concessions = ending(&mut view, &query).await?;
    let campaigns = campaigns(&mut view, &query).await?;
    let doubted = doubted(&mut view, &query).await?;
    let today = query.filter.today;
    let readable = query.errors.is_empty();
    let answer = page(&DuePage {
        frame: Frame::new(&state, &signed_in),
        question: question(&query),
        choices: choices(&mut view).await?,
        rows: items
            .iter()
            .map(|item| row(item, (&view, &source.documents(&view)), &state))
            .collect(),
        next,
        links: links(&query),
        weeks,
        concessions: concessions
            .iter()
            .map(|one| ending_row(one, today))
            .collect(),
        campaigns: CampaignNote::all(&campaigns, today),
        again: JudgeAgain::all(&doubted),
        query,
    })?;
    let status = if readable {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    Ok((status, answer).into_response())
}

fn ending_row(one: &Ending, today: Day) -> ConcessionRow {
    ConcessionRow::new(&one.record, Some(one.under), today)
}

/// The picture stands on the first page of a list with dates.
async fn weeks(view: &mut View, query: &DueQuery) -> Result<Option<Weeks>, Failure> {
    let filter = &query.filter;
    let then = query.speaks.then().is_some();
    if then || !query.errors.is_empty() || filter.after.is_some() || !filter.has_dates() {
        return Ok(None);
    }
    let due = view
        .due_by_period(filter, &weeks::ends(filter.today))
        .await?;
    Ok(Weeks::new(filter.today, &due))
}

async fn choices(view: &mut View) -> Result<Choices, Failure> {
    let places = view.due_places().await?;
    let parts = view.documents.parts.keys();
    Ok(Choices {
        parts: parts.map(ToString::to_string).collect(),
        depots: places.depots.iter().map(ToString::to_string).collect(),
        fleets: places.fleets.iter().map(ToString::to_string).collect(),
        states: DueState::ALL,
    })
}

fn links(query: &DueQuery) -> Links {
    let in_days = |days| query.filter.today.plus_days(days).to_string();
    let until = |day: &str| query.ask("/due", &[("until", day)]);
    let place = |place: Option<WorkPlace>| {
        let words = place.map_or("all", WorkPlace::words);
        let asked = query.filter.place == place;
        (query.placed("/due", place), words, asked)
    };
    let everywhere = query.filter.place.map_or("", WorkPlace::name);
    Links {
        places: [
            place(Some(WorkPlace::OnCars)),
            place(Some(WorkPlace::OffCars)),
            place(None),
        ],
        everywhere: address::with_query("/due", [("place", everywhere)]),
        first: query.page("/due", None),
        all: query.ask("/due", &[]),
        overdue: query.ask("/due", &[("state", DueState::Overdue.name())]),
        soon: until(&in_days(30)),
        later: until(&in_days(90)),
        unknown: query.ask("/due", &[("state", DueState::Unknown.name())]),
        no_date: query.ask("/due", &[("state", DueState::NoDate.name())]),
        csv: query.page("/due.csv", None),
        xlsx: query.page("/due.xlsx", None),
    }
}

/// The list in words, for paper and for people who are sent its address.
fn question(query: &DueQuery) -> String {
    let filter = &query.filter;
    let mut words = vec![match filter.state {
        None if filter.ends_undated() => "all work".to_owned(),
        None => "all work with a date".to_owned(),
        Some(DueState::Unknown) => "work of which it cannot be told for certain".to_owned(),
        Some(DueState::NoDate) => "work without a date, of which nothing is lacking".to_owned(),
        Some(state) => format!("work in the state “{state}”"),
    }];
    if let Some(until) = filter.until.filter(|_| filter.has_dates()) {
        words.push(format!("due on or before {until}"));
    }
    words.extend(filter.place.map(|place| place.words().to_owned()));
    let mut place = |what: &str, name: Option<String>| {
        words.extend(name.map(|name| format!("{what} {name}")));
    };
    place("fleet", filter.fleet.as_ref().map(ToString::to_string));
    place("depot", filter.depot.as_ref().map(ToString::to_string));
    place("unit", filter.unit.as_ref().map(ToString::to_string));
    place("car", filter.car.as_ref().map(ToString::to_string));
    place("part", filter.part.as_ref().map(ToString::to_string));
    words.join(", ")
}

/// A row in words, of now or of the times by which `documents` are those.
pub(crate) fn row(item: &DueItem, (view, documents): (&View, &Documents), state: &WebState) -> Row {
    let forecast = &item.forecast;
    let spread = match (forecast.early, forecast.late) {
        (Some(early), Some(late)) if early == late => None,
        (Some(early), Some(late)) => Some((early.to_string(), format!("to {late}"))),
        (Some(early), None) => Some((early.to_string(), "or later".to_owned())),
        (None, _) => None,
    };
    let (subject, serial) = match &item.subject {
        Subject::Component(one) => (one.part.to_string(), Some(one.serial.to_string())),
        Subject::Car(car) => (format!("car {car} as a whole"), None),
    };
    Row {
        on: forecast.on.map(|on| on.to_string()),
        spread,
        state: item.state,
        task: item.task.to_string(),
        title: words::title(item, documents).to_owned(),
        limit: words::limit(item, documents, &state.zone),
        estimated: item.estimated,
        at_once: forecast.at_once.as_ref().map(|found| {
            let entry = address::entry(found.by);
            (words::at_once(found), entry)
        }),
        lacking: forecast.lacking.in_words(),
        subject,
        serial,
        subject_link: address::subject(&item.subject),
        place: place(item),
        held: held(item, view),
    }
}

/// The hold that forbids the work: on the component, or on the car or anything on it where the
/// work is on the car as a whole.
fn held(item: &DueItem, view: &View) -> Option<String> {
    let hold = match &item.subject {
        Subject::Component(one) => view.holds.of_component(one, item.car.as_ref()).next(),
        Subject::Car(car) => view.holds.on_car(car).next(),
    };
    hold.map(|hold| address::hold(hold.id))
}

fn place(item: &DueItem) -> Place {
    let car = item.car.as_ref();
    let at = car.zip(item.position.clone()).map(|(car, position)| {
        let car = car.clone();
        PositionRef { car, position }
    });
    Place {
        car: car.map(|car| (car.to_string(), address::car(car))),
        unit: item
            .unit
            .as_ref()
            .map(|unit| (unit.to_string(), address::unit(unit))),
        position: at.map(|at| (at.position.to_string(), address::position(&at))),
        location: item.location.as_ref().map(ToString::to_string),
        depot: item.depot.as_ref().map(ToString::to_string),
    }
}
