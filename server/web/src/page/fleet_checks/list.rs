//! The list of checks of the fleet: all that are open, and those that are closed, page by page; now, or
//! as at a time.

use crate::after::After;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::ledger::entry::Seq;
use domain::people::OPENS_FLEET_CHECKS;
use domain::time::{Day, Instant, Zone};
use store::StoreError;
use store::read::fleet_checks::{CHECKS_PAGE, ListedCheck};
use store::read::{AsAt, View};

#[derive(Template)]
#[template(path = "fleet_checks/list.html")]
struct ChecksPage {
    frame: Frame,
    open: Vec<ListedCheck>,
    closed: Vec<ListedCheck>,
    next: Option<String>,
    /// Whether this is not the first page of those that are closed.
    goes_on: bool,
    may_open: bool,
    /// The day that is told of.
    today: Day,
    zone: Zone,
    speaks: PageSpeaks,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = ("which checks were open and which closed", "");

/// Those that were open at a time, and a page of those that were closed by then; two statements.
pub(crate) async fn told(
    view: &mut View,
    after: Option<(Instant, Seq)>,
    as_at: AsAt,
) -> Result<(Vec<ListedCheck>, Vec<ListedCheck>), StoreError> {
    let all = view.fleet_checks_told(as_at).await?;
    let all = all.into_values().map(ListedCheck::from);
    let (mut open, mut closed): (Vec<ListedCheck>, Vec<_>) =
        all.partition(|one| one.record.closed.is_none());
    open.sort_by_key(|one| (one.record.check.answer_by, one.record.id));
    let place = |one: &ListedCheck| one.record.closed.map(|(at, _)| (at, one.record.id));
    closed.retain(|one| after.is_none_or(|after| place(one) < Some(after)));
    closed.sort_by_key(|one| std::cmp::Reverse(place(one)));
    closed.truncate(CHECKS_PAGE + 1);
    Ok((open, closed))
}

/// `GET /fleet-checks?after=…&id=…&at=…&known=…`. Three statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(after): Query<After>,
    Query(asked): Query<AsAtQuery>,
) -> PageResult {
    let speaks = asked.read(&state)?;
    let after = after.read()?;
    let mut view = speaks.view(&state).await?;
    let (open, mut closed) = match speaks.then() {
        None => (
            view.fleet_checks_open().await?,
            view.fleet_checks_closed(after).await?,
        ),
        Some(as_at) => told(&mut view, after, as_at).await?,
    };
    let more = CHECKS_PAGE < closed.len();
    closed.truncate(CHECKS_PAGE);
    let last = closed.last().filter(|_| more);
    let next = last.and_then(|check| {
        let (at, _) = check.record.closed?;
        let place = (at, check.record.id);
        Some(After::address("/fleet-checks", place, &asked))
    });
    let frame = Frame::new(&state, &signed_in);
    page(&ChecksPage {
        may_open: frame.holds(OPENS_FLEET_CHECKS) && speaks.past.is_none(),
        frame,
        open,
        closed,
        next,
        goes_on: after.is_some(),
        today: state.zone.day_of(speaks.times.effective),
        zone: state.zone.clone(),
        speaks: PageSpeaks::new((&asked, &speaks), "/fleet-checks".to_owned(), WHAT),
    })
}
