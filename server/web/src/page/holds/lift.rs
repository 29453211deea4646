//! One evidence hold, and lifting it by whoever set it, or else by two people.

use crate::address;
use crate::entry_form::{Asked, Asks, EntryForm, Field, ShownRefusal, Tried, left_over, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::HOLDS_EVIDENCE;

#[derive(Template)]
#[template(path = "holds/hold.html")]
struct HoldPage {
    frame: Frame,
    hold: HoldNote,
    /// The form that lifts it or proposes to.
    form: Option<EntryForm>,
    left_over: Option<ShownRefusal>,
}

/// `GET /holds/{entry}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(entry): Path<i64>,
) -> PageResult {
    page(&hold_page(&state, &signed_in, Seq(entry), None).await?)
}

/// The page: two statements, and one more for who is not the setter.
async fn hold_page(
    state: &WebState,
    signed_in: &SignedIn,
    id: Seq,
    tried: Option<&Tried>,
) -> Result<HoldPage, Failure> {
    let mut view = state.store.view().await?;
    let hold = view.hold(id).await?.ok_or_else(|| Failure::NotFound {
        what: "hold",
        name: id.0.to_string(),
    })?;
    let frame = Frame::new(state, signed_in);
    let lifts = if frame.person.as_deref() == Some(hold.by.as_str()) {
        Some(Lifts::Alone)
    } else if view.signs_in(&hold.by).await? {
        None
    } else {
        Some(Lifts::ByTwo)
    };
    let may = hold.in_force() && frame.holds(HOLDS_EVIDENCE);
    let form = lifts.filter(|_| may);
    let form = form.map(|lifts| lift_form(id, lifts).finish(tried));
    Ok(HoldPage {
        frame,
        hold: HoldNote::new(&hold, &state.zone),
        left_over: left_over(tried, form.as_slice()),
        form,
    })
}

/// How a hold is lifted.
#[derive(Debug, Clone, Copy)]
enum Lifts {
    /// By whoever set it.
    Alone,
    /// By two people, where whoever set it is not there.
    ByTwo,
}

/// A form that lifts one's own hold, or proposes to lift that of somebody else.
fn lift_form(id: Seq, lifts: Lifts) -> EntryForm {
    let (form, title, button) = match lifts {
        Lifts::Alone => ("lift", "Lift the hold", "Lift the hold"),
        Lifts::ByTwo => (
            "propose",
            "Propose to lift it, where whoever set it cannot",
            "Propose it",
        ),
    };
    EntryForm::new(form, &address::hold(id), title)
        .button(button)
        .ask(
            Field::text("evidence", "On whose word")
                .hint("The investigator’s release: who, when, and its reference.")
                .required(),
        )
}

fn asked(fields: &Fields, (hold, lifts): (Seq, Lifts), now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let at = fields.moment("at", now, &mut errors).ok_or(errors)?;
    let evidence = fields.text("evidence").to_owned();
    let fact = match lifts {
        Lifts::Alone => Fact::HoldLifted { hold, evidence },
        Lifts::ByTwo => Fact::Proposed(Proposal::Lifting { hold, evidence }),
    };
    Ok((fact, at))
}

/// `POST /holds/{entry}/lift`
pub(crate) async fn send(
    State(state): State<WebState>,
    Path(entry): Path<i64>,
    submitted: Submitted,
) -> PageResult {
    let id = Seq(entry);
    let asks = |now: Now<'_>| asked(&submitted.fields, (id, Lifts::Alone), now);
    sent(&state, &submitted, ("lift", id, address::hold(id)), &asks).await
}

/// `POST /holds/{entry}/propose`
pub(crate) async fn propose(
    State(state): State<WebState>,
    Path(entry): Path<i64>,
    submitted: Submitted,
) -> PageResult {
    let id = Seq(entry);
    let asks = |now: Now<'_>| asked(&submitted.fields, (id, Lifts::ByTwo), now);
    let after = ("propose", id, "/approvals".to_owned());
    sent(&state, &submitted, after, &asks).await
}

async fn sent(
    state: &WebState,
    submitted: &Submitted,
    (form, id, after): (&'static str, Seq, String),
    asks: Asks<'_>,
) -> PageResult {
    match record(state, submitted, form, asks).await? {
        None => Ok(Redirect::to(&after).into_response()),
        Some(tried) => {
            let shown = hold_page(state, &submitted.signed_in, id, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
