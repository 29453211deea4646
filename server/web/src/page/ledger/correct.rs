//! Correcting an entry by a form of its own: when it was, why, in which condition or on what evidence.
//! What is true takes its place; what was recorded since goes on where that can be.

use super::entry::kept;
use super::number;
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record_in_place};
use crate::fact;
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::page::form_page::FormPage;
use crate::page::positions::{asked_removal, moving_reasons, removal_fields, swapping_reasons};
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::Condition;
use domain::configuration::setting::SettingHow;
use domain::identity::LocationName;
use domain::isolation::CutOutState;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::{Fact, Removal};
use domain::people::roles_for;

/// The name of the form.
const FORM: &str = "correct";

/// Whether an entry is corrected by this form.
pub(super) fn has_form(fact: &Fact) -> bool {
    match fact {
        Fact::Fitted(fitting) => fitting.ended.is_none(),
        Fact::Removed { .. }
        | Fact::Moved { .. }
        | Fact::Swapped { .. }
        | Fact::ConditionJudged { .. }
        | Fact::TaskDone { .. }
        | Fact::Embodied { .. }
        | Fact::SettingMade(_)
        | Fact::Isolated(_)
        | Fact::IsolationEnded { .. } => true,
        _ => false,
    }
}

/// The address of the form of an entry.
pub(super) fn of_entry(seq: Seq) -> String {
    format!("{}/{FORM}", address::entry(seq))
}

/// `GET /ledger/{n}/correct`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(text): Path<String>,
) -> PageResult {
    page(&correct_page(&state, &signed_in, number(&text)?, None).await?)
}

fn not_there(seq: Seq) -> Failure {
    Failure::NotFound {
        what: "form that corrects entry",
        name: seq.0.to_string(),
    }
}

async fn correct_page(
    state: &WebState,
    signed_in: &SignedIn,
    seq: Seq,
    tried: Option<&Tried>,
) -> Result<FormPage, Failure> {
    let (kept, mut view) = kept(state, seq).await?;
    let wrong = kept.entry;
    if !has_form(&wrong.fact) || kept.corrected_by.is_some() {
        return Err(not_there(seq));
    }
    let locations = match &wrong.fact {
        Fact::Removed { .. } => view.locations().await?,
        _ => Vec::new(),
    };
    let frame = Frame::new(state, signed_in);
    let holds = HoldNote::all(view.holds.of_entry(seq), &state.zone);
    let may = holds.is_empty() && frame.holds(roles_for(&wrong.fact));
    Ok(FormPage {
        title: format!("Correct entry {}", seq.0),
        back: (address::entry(seq), seq.to_string()),
        notes: vec![
            format!("It says: {}.", fact::sentence(&wrong.fact, &state.zone)),
            "What you record takes its place; it stays in the ledger as corrected. What was \
             recorded since goes on, where that can be: else the entry is named that then conflicts. \
             What follows is worked out anew and shown before it is recorded."
                .to_owned(),
        ],
        form: may.then(|| form(&wrong, &locations).finish(tried)),
        holds,
        further: Vec::new(),
        frame,
    })
}

fn form(wrong: &Entry, locations: &[LocationName]) -> EntryForm {
    EntryForm::new(FORM, &address::entry(wrong.seq), "What is true")
        .button("Correct it")
        .unfolded()
        .ask_all(questions(&wrong.fact, locations))
        .correcting(wrong, &said(&wrong.fact))
}

/// What is asked beside when it was, and why it was wrong.
fn questions(fact: &Fact, locations: &[LocationName]) -> Vec<Field> {
    match fact {
        Fact::Removed { .. } => removal_fields(locations).into(),
        Fact::Moved { .. } => vec![Field::one_of("why", "Why", moving_reasons()).required()],
        Fact::Swapped { .. } => vec![Field::one_of("why", "Why", swapping_reasons()).required()],
        Fact::ConditionJudged { .. } => {
            let all = Condition::ALL.iter();
            let all = all.map(|one| (one.name().to_owned(), one.to_string()));
            vec![Field::one_of("condition", "Condition", all), evidence()]
        }
        Fact::TaskDone { .. } | Fact::Embodied { .. } => vec![evidence()],
        Fact::SettingMade(_) => {
            let all = [
                (SettingHow::Made, "somebody set it so"),
                (SettingHow::Found, "it was found so"),
            ];
            let all = all.map(|(how, words)| (how.name().to_owned(), words.to_owned()));
            vec![
                Field::one_of("how", "How it is known", all),
                Field::text("value", "Set to").required(),
            ]
        }
        Fact::Isolated(_) => {
            let all = CutOutState::ALL.iter();
            let all = all.map(|one| (one.name().to_owned(), one.to_string()));
            vec![
                Field::one_of("state", "State", all),
                Field::text("cause", "Why it was closed, or how it was found").required(),
                Field::text("not_before", "Last seen as it should be").hint(
                    "Where nobody saw it change: the last time it was seen right. Else empty.",
                ),
            ]
        }
        Fact::IsolationEnded { .. } => {
            vec![Field::text("proved_by", "Proved by test record").required()]
        }
        _ => Vec::new(),
    }
}

fn evidence() -> Field {
    Field::text("evidence", "Evidence").required()
}

/// What the entry says, by the names of the questions.
fn said(fact: &Fact) -> Vec<(&'static str, String)> {
    match fact {
        Fact::Removed { removal, .. } => said_of_removal(removal),
        Fact::Moved { reason, .. } | Fact::Swapped { reason, .. } => {
            vec![("why", reason.name().to_owned())]
        }
        Fact::ConditionJudged {
            condition,
            evidence,
            ..
        } => vec![
            ("condition", condition.name().to_owned()),
            ("evidence", evidence.clone()),
        ],
        Fact::TaskDone { evidence, .. } | Fact::Embodied { evidence, .. } => {
            vec![("evidence", evidence.clone())]
        }
        Fact::SettingMade(made) => vec![
            ("how", made.how.name().to_owned()),
            ("value", made.value.to_string()),
        ],
        Fact::Isolated(cut_out) => {
            let not_before = cut_out.not_before;
            vec![
                ("state", cut_out.state.name().to_owned()),
                ("cause", cut_out.cause.clone()),
                (
                    "not_before",
                    not_before.map_or_else(String::new, |at| at.to_string()),
                ),
            ]
        }
        Fact::IsolationEnded { proved_by, .. } => vec![("proved_by", proved_by.to_string())],
        _ => Vec::new(),
    }
}

fn said_of_removal(removal: &Removal) -> Vec<(&'static str, String)> {
    let bound_for = removal.sent.bound_for.as_ref();
    let expected_on = removal.sent.expected_on;
    vec![
        ("why", removal.reason.name().to_owned()),
        ("to", removal.to.to_string()),
        ("condition", removal.condition.name().to_owned()),
        ("evidence", removal.evidence.clone().unwrap_or_default()),
        (
            "bound_for",
            bound_for.map_or_else(String::new, ToString::to_string),
        ),
        (
            "expected_on",
            expected_on.map_or_else(String::new, |day| day.to_string()),
        ),
    ]
}

/// What the form asks to record. Where it gives no time, that is as it was.
fn asked(fields: &Fields, wrong: &Entry, (zone, _): Now<'_>) -> Asked {
    let now: Now<'_> = (zone, wrong.effective_at);
    if let Fact::Removed {
        component, from, ..
    } = &wrong.fact
    {
        let (mut right, at) = asked_removal(fields, component.clone(), now)?;
        if let Fact::Removed { from: place, .. } = &mut right {
            place.clone_from(from);
        }
        return Ok((right, at));
    }
    let mut errors = FieldErrors::default();
    let at = fields.moment("at", now, &mut errors);
    let right = amended(fields, (&wrong.fact, now), &mut errors);
    match (right, at) {
        (Some(right), Some(at)) if errors.is_empty() => Ok((right, at)),
        _ => Err(errors),
    }
}

/// The fact with what the fields say of it.
fn amended(
    fields: &Fields,
    (wrong, now): (&Fact, Now<'_>),
    errors: &mut FieldErrors,
) -> Option<Fact> {
    let mut right = wrong.clone();
    match &mut right {
        Fact::Moved { reason, .. } | Fact::Swapped { reason, .. } => {
            *reason = fields.chosen("why", errors)?;
        }
        Fact::ConditionJudged {
            condition,
            evidence,
            ..
        } => {
            *condition = fields.required("condition", errors)?;
            fields.text("evidence").clone_into(evidence);
        }
        Fact::TaskDone { evidence, .. } | Fact::Embodied { evidence, .. } => {
            fields.text("evidence").clone_into(evidence);
        }
        Fact::SettingMade(made) => {
            made.value = fields.required("value", errors)?;
            made.how = fields.required("how", errors)?;
        }
        Fact::Isolated(cut_out) => {
            cut_out.state = fields.required("state", errors)?;
            fields.text("cause").clone_into(&mut cut_out.cause);
            cut_out.not_before = match fields.text("not_before") {
                "" => None,
                _ => Some(fields.moment("not_before", now, errors)?),
            };
        }
        Fact::IsolationEnded { proved_by, .. } => {
            *proved_by = fields.required("proved_by", errors)?;
        }
        _ => {}
    }
    Some(right)
}

/// `POST /ledger/{n}/correct`
pub(crate) async fn send(
    State(state): State<WebState>,
    Path(text): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let seq = number(&text)?;
    let (wrong, _) = kept(&state, seq).await?;
    let wrong = wrong.entry;
    let asks = |now: Now<'_>| asked(&submitted.fields, &wrong, now);
    match record_in_place(&state, &submitted, (FORM, Some(seq)), &asks).await? {
        Ok(recorded) => Ok(Redirect::to(&address::entry(recorded)).into_response()),
        Err(tried) => {
            let signed_in = &submitted.signed_in;
            let shown = correct_page(&state, signed_in, seq, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
