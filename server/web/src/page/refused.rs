//! What was refused: for auditors and administrators.

use crate::address::with_query;
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use domain::people::account::READS_REFUSALS;
use domain::people::refused::{AttemptKind, RefusedAttempt};
use domain::time::{Day, Instant};
use domain::unreadable::Unreadable;
use store::refused::{REFUSED_PAGE, RefusedFilter};
use uuid::Uuid;

#[derive(Template)]
#[template(path = "refused/refused.html")]
struct RefusedPage {
    frame: Frame,
    person: String,
    kind: String,
    from: String,
    until: String,
    errors: FieldErrors,
    lines: Vec<Line>,
    /// Where the older ones are.
    older: Option<String>,
    newest: String,
    is_first: bool,
}

/// A refused attempt in the list.
struct Line {
    at: String,
    person: Option<String>,
    client: String,
    kind: AttemptKind,
    attempted: String,
    details: Option<String>,
    why: String,
}

/// `GET /refused`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(fields): Query<Vec<(String, String)>>,
) -> PageResult {
    if !signed_in.actor()?.holds(READS_REFUSALS) {
        return Err(Failure::for_roles(READS_REFUSALS));
    }
    let fields = Fields(fields.into_iter().collect());
    let mut errors = FieldErrors::default();
    let filter = asked(&state, &fields, &mut errors)?;
    let mut attempts = if errors.is_empty() {
        state.store.refused_attempts(&filter).await?
    } else {
        Vec::new()
    };
    let more = REFUSED_PAGE < attempts.len();
    attempts.truncate(REFUSED_PAGE);
    let last = attempts.last().filter(|_| more);
    let kept = ["person", "kind", "from", "until"].map(|name| (name, fields.text(name)));
    let older = last.map(|(id, attempt)| {
        let after = format!("{}-{id}", attempt.at.microseconds());
        with_query(
            "/refused",
            kept.into_iter().chain([("after", after.as_str())]),
        )
    });
    page(&RefusedPage {
        frame: Frame::new(&state, &signed_in),
        person: fields.text("person").to_owned(),
        kind: fields.text("kind").to_owned(),
        from: fields.text("from").to_owned(),
        until: fields.text("until").to_owned(),
        errors,
        lines: attempts
            .into_iter()
            .map(|(_, attempt)| line(&state, attempt))
            .collect(),
        older,
        newest: with_query("/refused", kept),
        is_first: filter.after.is_none(),
    })
}

fn asked(
    state: &WebState,
    fields: &Fields,
    errors: &mut FieldErrors,
) -> Result<RefusedFilter, Unreadable> {
    let person = Some(fields.text("person").to_owned()).filter(|person| !person.is_empty());
    let start_of = |day: Day| state.zone.start_of(day);
    Ok(RefusedFilter {
        person,
        kind: fields.optional("kind", errors),
        from: fields.day("from", errors).map(start_of),
        until: fields
            .day("until", errors)
            .map(|day| start_of(day.plus_days(1))),
        after: match fields.text("after") {
            "" => None,
            text => Some(place(text)?),
        },
    })
}

/// A place in the list, as the address of the next page names it.
fn place(text: &str) -> Result<(Instant, Uuid), Unreadable> {
    let refuse = || Unreadable::new("after", text, "what the link to older ones says");
    let (at, id) = text.split_once('-').ok_or_else(refuse)?;
    let at = at.parse().ok().and_then(Instant::from_microseconds);
    Ok((at.ok_or_else(refuse)?, id.parse().map_err(|_| refuse())?))
}

fn line(state: &WebState, attempt: RefusedAttempt) -> Line {
    Line {
        at: state.zone.show(attempt.at),
        person: attempt.person,
        client: attempt.client.unwrap_or_default(),
        kind: attempt.kind,
        attempted: attempt.attempted,
        details: attempt.details,
        why: attempt.why,
    }
}
