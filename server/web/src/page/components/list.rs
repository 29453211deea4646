//! Components by serial number, by location, by batch, and what is in stock of a part.

use super::batch::Sought;
use super::locations::with_kinds;
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::limits::SEARCH_CHARS_MAX;
use crate::not_there::not_there;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::configuration::component::{ComponentRef, Condition};
use domain::configuration::location::LocationKind;
use domain::due::state::Standing;
use domain::identity::{LocationName, PartNumber, fold};
use domain::ledger::dossier::{ComponentRecord, Documents};
use domain::ledger::entry::Seq;
use domain::time::Zone;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;
use store::read::stock::COMPONENTS_PAGE;
use store::read::stock_then::Stocked;
use store::read::whereabouts::Whereabouts;
use store::read::{AsAt, View};

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "where components were and in which condition",
    "By serial number those alone that bear the whole of it. When their work was due stands on their own pages.",
);

/// `?serial=…`, `?location=…&after_part=…&after_serial=…`,
/// `?batch=…&part=…&after_part=…&after_serial=…`, or
/// `?part=…&after_location=…&after_condition=…&after_serial=…`, each with `&at=…&known=…`
#[derive(Debug, Default, Deserialize)]
pub(crate) struct ComponentsQuery {
    #[serde(default)]
    serial: String,
    #[serde(default)]
    location: String,
    #[serde(default)]
    part: String,
    #[serde(default)]
    batch: String,
    #[serde(default)]
    after_location: String,
    #[serde(default)]
    after_condition: String,
    #[serde(default)]
    after_part: String,
    #[serde(default)]
    after_serial: String,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
}

impl ComponentsQuery {
    /// What is asked for, without the times and where the page begins.
    fn asked(&self) -> [(&'static str, &str); 4] {
        [
            ("serial", self.serial.as_str()),
            ("location", &self.location),
            ("part", &self.part),
            ("batch", &self.batch),
        ]
    }

    /// The batch as a file; none where none is asked for.
    fn file(&self) -> Option<String> {
        let fields = [
            ("batch", self.batch.as_str()),
            ("part", &self.part),
            ("at", &self.at),
            ("known", &self.known),
        ];
        let asks = !self.batch.is_empty() && self.serial.is_empty();
        asks.then(|| address::with_query("/components.csv", fields))
    }
}

#[derive(Template)]
#[template(path = "components/list.html")]
struct ComponentsPage {
    frame: Frame,
    speaks: PageSpeaks,
    query: ComponentsQuery,
    /// Each with its kind where that was told.
    locations: Vec<(LocationName, Option<LocationKind>)>,
    components: Vec<ComponentRecord>,
    /// Where those are that are fitted; of a past time not told here.
    places: Whereabouts,
    documents: Arc<Documents>,
    /// How the work on each stands today; of a past time not told here.
    standing: BTreeMap<Seq, Standing>,
    /// Whether there are more than are shown.
    more: bool,
    /// Where the next page begins, in a list that has pages.
    next: Option<String>,
    /// The whole list as a file, where there is one.
    file: Option<String>,
    zone: Zone,
}

impl ComponentsPage {
    /// Of which kind the location is that was asked for, where that was told.
    fn asked_kind(&self) -> Option<LocationKind> {
        let mut locations = self.locations.iter();
        let asked = |(name, _): &&(LocationName, _)| name.as_str() == self.query.location;
        locations.find(asked)?.1
    }

    /// Whether all that is listed is at one place, which the heading names.
    fn at_one_place(&self) -> bool {
        let ComponentsQuery {
            serial,
            part,
            batch,
            ..
        } = &self.query;
        serial.is_empty() && part.is_empty() && batch.is_empty()
    }

    /// Whether a batch is listed.
    fn of_batch(&self) -> bool {
        self.file.is_some()
    }

    /// What a part of the list is.
    fn title(&self, part: &PartNumber) -> &str {
        let part = self.documents.part(part);
        part.map_or("", |part| &part.title)
    }

    /// What the part is whose stock is asked for.
    fn asked_title(&self) -> &str {
        let part = self.query.part.trim().parse();
        part.map_or("", |part: PartNumber| self.title(&part))
    }

    /// Where a component is bound for and when it is expected, if that was told.
    fn sent(record: &ComponentRecord) -> Option<String> {
        let told = record.kept.as_ref()?.sent.to_string();
        let told = told.trim_start_matches(", ");
        (!told.is_empty()).then(|| told.to_owned())
    }

    /// The first and the second line of the day and time since when a component is where it is.
    fn since(&self, record: &ComponentRecord) -> (String, String) {
        let shown = self.zone.show(record.since);
        match shown.split_once(' ') {
            Some((day, time)) => (day.to_owned(), time.to_owned()),
            None => (shown, String::new()),
        }
    }

    fn asked(&self) -> bool {
        let mut asked = self.query.asked().into_iter();
        asked.any(|(_, value)| !value.is_empty())
    }
}

/// `GET /components`. Six statements; of a past time at least four.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(mut query): Query<ComponentsQuery>,
) -> PageResult {
    query.serial = query.serial.trim().chars().take(SEARCH_CHARS_MAX).collect();
    query.batch = query.batch.trim().to_owned();
    let times = AsAtQuery {
        at: query.at.clone(),
        known: query.known.clone(),
    };
    let speaks = times.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let locations = view.locations().await?;
    let locations = with_kinds(&view.documents, locations, speaks.times.effective);
    let mut components = match speaks.then() {
        Some(as_at) => listed_then(&mut view, &query, as_at).await?,
        None => listed(&mut view, &query).await?,
    };
    let more = COMPONENTS_PAGE < components.len();
    components.truncate(COMPONENTS_PAGE);
    let (standing, places) = match speaks.then() {
        Some(_) => (BTreeMap::new(), Whereabouts::new()),
        None => (
            view.standing_of(&components, state.today()).await?,
            view.whereabouts(&components).await?,
        ),
    };
    let next = components
        .last()
        .filter(|_| more && query.serial.is_empty())
        .map(|last| next_page(&query, last));
    let path = address::with_query("/components", query.asked());
    page(&ComponentsPage {
        frame: Frame::new(&state, &signed_in),
        speaks: PageSpeaks::new((&times, &speaks), path, WHAT),
        file: query.file(),
        query,
        locations,
        components,
        places,
        documents: Arc::clone(&view.documents),
        standing,
        more,
        next,
        zone: state.zone.clone(),
    })
}

async fn listed(view: &mut View, query: &ComponentsQuery) -> Result<Vec<ComponentRecord>, Failure> {
    if !fold(&query.serial).is_empty() {
        return Ok(view.components_beginning(&query.serial).await?);
    }
    if !query.batch.is_empty() {
        return of_batch(view, query, None).await;
    }
    if !query.part.is_empty() {
        return stock(view, query).await;
    }
    if query.location.is_empty() {
        return Ok(Vec::new());
    }
    let location: LocationName = query.location.parse()?;
    Ok(view
        .components_at(&location, after(query)?.as_ref())
        .await?)
}

/// The same as it was told, from where the page begins.
async fn listed_then(
    view: &mut View,
    query: &ComponentsQuery,
    as_at: AsAt,
) -> Result<Vec<ComponentRecord>, Failure> {
    if !fold(&query.serial).is_empty() {
        let which = Stocked::Serial(&query.serial);
        return Ok(view.stock_told(which, as_at).await?);
    }
    if !query.batch.is_empty() {
        return of_batch(view, query, Some(as_at)).await;
    }
    if !query.part.is_empty() {
        let part = known_part(view, &query.part)?;
        let mut told = view.stock_told(Stocked::Part(&part), as_at).await?;
        if !query.after_location.is_empty() {
            let location: LocationName = query.after_location.parse()?;
            let condition: Condition = query.after_condition.parse()?;
            let last = (&location, condition.name(), query.after_serial.as_str());
            told.retain(|one| {
                let serial = one.component.serial.as_str();
                let here = one.location();
                here.is_some_and(|here| last < (here, one.condition.name(), serial))
            });
        }
        return Ok(told);
    }
    if query.location.is_empty() {
        return Ok(Vec::new());
    }
    let location: LocationName = query.location.parse()?;
    let mut told = view.stock_told(Stocked::Location(&location), as_at).await?;
    if let Some(after) = after(query)? {
        told.retain(|one| after < one.component);
    }
    Ok(told)
}

fn after(query: &ComponentsQuery) -> Result<Option<ComponentRef>, domain::unreadable::Unreadable> {
    if query.after_part.is_empty() {
        return Ok(None);
    }
    Ok(Some(ComponentRef {
        part: query.after_part.parse()?,
        serial: query.after_serial.parse()?,
    }))
}

/// The items of the batch asked for.
async fn of_batch(
    view: &mut View,
    query: &ComponentsQuery,
    then: Option<AsAt>,
) -> Result<Vec<ComponentRecord>, Failure> {
    let sought = Sought::read(view, (&query.batch, &query.part), then)?;
    let after = after(query)?;
    sought.items(view, (after.as_ref(), COMPONENTS_PAGE)).await
}

/// What is in stock of the part asked for.
async fn stock(view: &mut View, query: &ComponentsQuery) -> Result<Vec<ComponentRecord>, Failure> {
    let part = known_part(view, &query.part)?;
    if query.after_location.is_empty() {
        return Ok(view.stock_of(&part, None).await?);
    }
    let location = query.after_location.parse()?;
    let condition = query.after_condition.parse()?;
    let serial = query.after_serial.parse()?;
    let after = (&location, condition, &serial);
    Ok(view.stock_of(&part, Some(after)).await?)
}

/// The part asked for, which is in the catalogue.
fn known_part(view: &View, part: &str) -> Result<PartNumber, Failure> {
    let part: PartNumber = part.trim().parse()?;
    if !view.documents.parts.contains_key(&part) {
        return Err(not_there("part", part.as_str()).into());
    }
    Ok(part)
}

fn next_page(query: &ComponentsQuery, last: &ComponentRecord) -> String {
    let (part, serial) = (last.component.part.as_str(), last.component.serial.as_str());
    let location = last.location().map_or("", LocationName::as_str);
    if query.part.is_empty() || !query.batch.is_empty() {
        let fields = [
            ("location", query.location.as_str()),
            ("batch", &query.batch),
            ("part", &query.part),
            ("after_part", part),
            ("after_serial", serial),
            ("at", &query.at),
            ("known", &query.known),
        ];
        return address::with_query("/components", fields);
    }
    let fields = [
        ("part", query.part.as_str()),
        ("after_location", location),
        ("after_condition", last.condition.name()),
        ("after_serial", serial),
        ("at", &query.at),
        ("known", &query.known),
    ];
    address::with_query("/components", fields)
}
