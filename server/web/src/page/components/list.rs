//! Components by serial number and by location.

use super::locations::with_kinds;
use crate::address;
use crate::frame::Frame;
use crate::limits::SEARCH_CHARS_MAX;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::configuration::component::ComponentRef;
use domain::configuration::location::LocationKind;
use domain::identity::{LocationName, fold};
use domain::ledger::dossier::ComponentRecord;
use domain::time::Zone;
use serde::Deserialize;
use store::read::stock::COMPONENTS_PAGE;

/// `?serial=…` or `?location=…&after_part=…&after_serial=…`
#[derive(Debug, Default, Deserialize)]
pub(crate) struct ComponentsQuery {
    #[serde(default)]
    serial: String,
    #[serde(default)]
    location: String,
    #[serde(default)]
    after_part: String,
    #[serde(default)]
    after_serial: String,
}

#[derive(Template)]
#[template(path = "components/list.html")]
struct ComponentsPage {
    frame: Frame,
    query: ComponentsQuery,
    /// Each with its kind where that was told.
    locations: Vec<(LocationName, Option<LocationKind>)>,
    components: Vec<ComponentRecord>,
    /// Whether there are more than are shown.
    more: bool,
    /// Where the next page begins, in a list that has pages.
    next: Option<String>,
    zone: Zone,
}

impl ComponentsPage {
    /// Of which kind the location is that was asked for, where that was told.
    fn asked_kind(&self) -> Option<LocationKind> {
        let mut locations = self.locations.iter();
        let asked = |(name, _): &&(LocationName, _)| name.as_str() == self.query.location;
        locations.find(asked)?.1
    }

    fn asked(&self) -> bool {
        !(self.query.serial.is_empty() && self.query.location.is_empty())
    }
}

/// `GET /components`. Four statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(mut query): Query<ComponentsQuery>,
) -> PageResult {
    query.serial = query.serial.trim().chars().take(SEARCH_CHARS_MAX).collect();
    let mut view = state.store.view().await?;
    let locations = view.locations().await?;
    let locations = with_kinds(&view.documents, locations, state.now());
    let mut components = if !fold(&query.serial).is_empty() {
        view.components_beginning(&query.serial).await?
    } else if query.location.is_empty() {
        Vec::new()
    } else {
        let location: LocationName = query.location.parse()?;
        view.components_at(&location, after(&query)?.as_ref())
            .await?
    };
    let more = COMPONENTS_PAGE < components.len();
    components.truncate(COMPONENTS_PAGE);
    let next = components
        .last()
        .filter(|_| more && query.serial.is_empty())
        .map(|last| next_page(&query.location, &last.component));
    page(&ComponentsPage {
        frame: Frame::new(&state, &signed_in),
        query,
        locations,
        components,
        more,
        next,
        zone: state.zone.clone(),
    })
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

fn next_page(location: &str, last: &ComponentRef) -> String {
    format!(
        "/components?location={}&after_part={}&after_serial={}",
        address::encoded(location),
        address::encoded(last.part.as_str()),
        address::encoded(last.serial.as_str())
    )
}
