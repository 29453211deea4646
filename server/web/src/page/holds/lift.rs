//! One evidence hold, and lifting it by whoever set it.

use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, ShownRefusal, Tried, left_over, record};
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
use domain::people::HOLDS_EVIDENCE;

#[derive(Template)]
#[template(path = "holds/hold.html")]
struct HoldPage {
    frame: Frame,
    hold: HoldNote,
    /// The form, for whoever set it.
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

/// The page: two statements.
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
    let own = frame.person.as_deref() == Some(hold.by.as_str());
    let may = own && hold.in_force() && frame.holds(HOLDS_EVIDENCE);
    let form = may.then(|| lift_form(id).finish(tried));
    Ok(HoldPage {
        frame,
        hold: HoldNote::new(&hold, &state.zone),
        left_over: left_over(tried, form.as_slice()),
        form,
    })
}

fn lift_form(id: Seq) -> EntryForm {
    EntryForm::new("lift", &address::hold(id), "Lift the hold")
        .button("Lift the hold")
        .ask(
            Field::text("evidence", "On whose word")
                .hint("The investigator’s release: who, when, and its reference.")
                .required(),
        )
}

fn asked(fields: &Fields, hold: Seq, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let at = fields.moment("at", now, &mut errors).ok_or(errors)?;
    let evidence = fields.text("evidence").to_owned();
    Ok((Fact::HoldLifted { hold, evidence }, at))
}

/// `POST /holds/{entry}/lift`
pub(crate) async fn send(
    State(state): State<WebState>,
    Path(entry): Path<i64>,
    submitted: Submitted,
) -> PageResult {
    let id = Seq(entry);
    let asks = |now: Now<'_>| asked(&submitted.fields, id, now);
    match record(&state, &submitted, "lift", &asks).await? {
        None => Ok(Redirect::to(&address::hold(id)).into_response()),
        Some(tried) => {
            let shown = hold_page(&state, &submitted.signed_in, id, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
