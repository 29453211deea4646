//! What is away: in transit or with a contractor, and what of it should have come back.

use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::configuration::component::{ComponentRef, Condition};
use domain::configuration::location::{Kept, LocationKind};
use domain::identity::LocationName;
use domain::ledger::dossier::{ComponentRecord, Documents};
use domain::time::{Day, Instant, Zone};
use store::StoreError;
use store::read::View;
use store::read::stock::AWAY_MAX;

/// One component that is away.
pub(crate) struct Away {
    pub(crate) component: ComponentRef,
    pub(crate) condition: Condition,
    pub(crate) kept: Kept,
    pub(crate) kind: LocationKind,
    /// The days by which it is overdue, if it is.
    pub(crate) overdue: Option<i64>,
    pub(crate) since: Instant,
}

/// What is away of some components, and how long it has been expected.
fn away(
    documents: &Documents,
    records: Vec<ComponentRecord>,
    (now, today): (Instant, Day),
) -> Vec<Away> {
    let row = |record: ComponentRecord| {
        let kept = record.kept?;
        let (kind, _) = documents.location_kind(&kept.location, now)?;
        Some(Away {
            overdue: kept.overdue(today),
            component: record.component,
            condition: record.condition,
            kept,
            kind,
            since: record.since,
        })
    };
    records.into_iter().filter_map(row).collect()
}

/// The locations from which what is there is expected back.
fn away_locations(documents: &Documents, now: Instant) -> Vec<LocationName> {
    let all = documents.locations(now);
    let away = all.filter(|(_, kind)| kind.is_away());
    away.map(|(name, _)| name.clone()).collect()
}

#[derive(Template)]
#[template(path = "components/away.html")]
struct AwayPage {
    frame: Frame,
    speaks: PageSpeaks,
    rows: Vec<Away>,
    more: bool,
    zone: Zone,
}

impl AwayPage {
    fn overdue(&self) -> usize {
        self.rows.iter().filter(|row| row.overdue.is_some()).count()
    }

    fn without_a_day(&self) -> usize {
        let sent = self.rows.iter().map(|row| &row.kept.sent);
        sent.filter(|sent| sent.expected_on.is_none()).count()
    }
}

/// What is away as at a time, and whether there is more than is listed. One statement beyond those
/// of the design data; of a past time at least three.
pub(crate) async fn read(
    view: &mut View,
    (speaks, zone): (&Speaks, &Zone),
) -> Result<(Vec<Away>, bool), StoreError> {
    let at = speaks.times.effective;
    let locations = away_locations(&view.documents, at);
    let mut records = match speaks.then() {
        None => view.away(&locations).await?,
        Some(as_at) => view.away_told(&locations, as_at).await?,
    };
    let more = AWAY_MAX < records.len();
    records.truncate(AWAY_MAX);
    let rows = away(&view.documents, records, (at, zone.day_of(at)));
    Ok((rows, more))
}

/// `GET /away?at=…&known=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let speaks = query.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let (rows, more) = read(&mut view, (&speaks, &state.zone)).await?;
    page(&AwayPage {
        speaks: PageSpeaks::new((&query, &speaks), "/away".to_owned(), ("what was away", "")),
        rows,
        frame: Frame::new(&state, &signed_in),
        more,
        zone: state.zone.clone(),
    })
}
