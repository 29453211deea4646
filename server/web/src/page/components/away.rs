//! What is away: in transit or with a contractor, and what of it should have come back.

use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::State;
use domain::configuration::component::{ComponentRef, Condition};
use domain::configuration::location::{Kept, LocationKind};
use domain::identity::LocationName;
use domain::ledger::dossier::{ComponentRecord, Documents};
use domain::time::{Day, Instant};
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
pub(crate) fn away(
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
pub(crate) fn away_locations(documents: &Documents, now: Instant) -> Vec<LocationName> {
    let all = documents.locations(now);
    let away = all.filter(|(_, kind)| kind.is_away());
    away.map(|(name, _)| name.clone()).collect()
}

#[derive(Template)]
#[template(path = "components/away.html")]
struct AwayPage {
    frame: Frame,
    rows: Vec<Away>,
    more: bool,
    zone: domain::time::Zone,
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

/// `GET /away`. One statement beyond those of the design data.
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    let mut view = state.store.view().await?;
    let locations = away_locations(&view.documents, state.now());
    let mut records = view.away(&locations).await?;
    let more = AWAY_MAX < records.len();
    records.truncate(AWAY_MAX);
    page(&AwayPage {
        rows: away(&view.documents, records, (state.now(), state.today())),
        frame: Frame::new(&state, &signed_in),
        more,
        zone: state.zone.clone(),
    })
}
