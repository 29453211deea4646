//! Changes as they happen: a stream that tells of the last entry that can change what is said
//! about trains, so that nobody acts on a verdict that is out of date.

use super::problem::Problem;
use crate::limits::{STILL_EVERY, WAITING_AT_ONCE, WAITING_TIME_MAX};
use crate::state::WebState;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::sse::{Event, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use serde::Serialize;
use std::convert::Infallible;
use std::time::Duration;
use store::Changes;
use tokio::sync::{Semaphore, SemaphorePermit};
use tokio::time::{Instant, timeout_at};
use utoipa::ToSchema;

static WAITING: Semaphore = Semaphore::const_new(WAITING_AT_ONCE);

/// How soon a browser asks again when its stream has ended.
const RETRY: Duration = Duration::from_secs(1);

/// What each event tells.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub(crate) struct ChangeBody {
    /// The last entry that can change what is said about trains; 0 before the first.
    last_change: i64,
    /// The day by which rule sets are in force, in the time zone of the register.
    #[schema(format = Date)]
    today: String,
    /// The time of the server.
    #[schema(format = DateTime)]
    now: String,
}

/// One who waits.
struct Waiting {
    state: WebState,
    changes: Changes,
    told: Option<i64>,
    until: Instant,
    _place: SemaphorePermit<'static>,
}

impl Waiting {
    /// The next event: at once when something changes, else now and then the last one again.
    /// None when the time is up, or when changes would no longer be heard of.
    async fn event(&mut self) -> Option<Event> {
        let still = (Instant::now() + STILL_EVERY).min(self.until);
        let told = match timeout_at(still, self.changes.next()).await {
            Ok(change) => Some(change?.0),
            Err(_) if still < self.until => self.told,
            Err(_) => return None,
        };
        self.told = told;
        let Some(last_change) = told else {
            return Some(Event::default().comment("not known yet"));
        };
        let (now, today) = self.state.when();
        let body = ChangeBody {
            last_change,
            today: today.to_string(),
            now: now.to_string(),
        };
        let text = serde_json::to_string(&body).ok()?;
        let event = Event::default().id(last_change.to_string());
        Some(event.retry(RETRY).data(text))
    }
}

/// A stream of server-sent events: the last entry that can change what is said about trains, at
/// once and whenever there is a later one, and the same again every five seconds. What was read
/// before holds for the day that came with it, since rule sets come into force at midnight, and until
/// the time that the answer about a train says for stored air.
///
/// Silence of more than ten seconds means that the connection is lost. The stream ends after ten
/// minutes, and when the server can no longer know of changes; ask again, and take what was read
/// before as out of date until then.
#[utoipa::path(
    get,
    path = "/api/v1/changes",
    operation_id = "watchChanges",
    tag = "trains",
    responses(
        (status = 200, body = ChangeBody, content_type = "text/event-stream", description = "Events whose data are of this shape"),
        (status = 503, body = Problem, content_type = "application/problem+json", description = "Too many wait already, or changes cannot be known"),
    )
)]
pub(crate) async fn stream(State(state): State<WebState>) -> Result<Response, Problem> {
    let place = WAITING.try_acquire().map_err(|_| {
        Problem::unavailable("too many wait for changes already; ask again in a minute")
    })?;
    let mut waiting = Waiting {
        changes: state.store.changes(),
        state,
        told: None,
        until: Instant::now() + WAITING_TIME_MAX,
        _place: place,
    };
    let first = waiting.event().await.ok_or_else(|| {
        Problem::unavailable("the database does not answer, so changes cannot be known")
    })?;
    let events = stream::unfold((waiting, Some(first)), async |(mut waiting, first)| {
        let event = match first {
            Some(event) => event,
            None => waiting.event().await?,
        };
        Some((Ok::<_, Infallible>(event), (waiting, None)))
    });
    Ok((StatusCode::OK, Sse::new(events)).into_response())
}
