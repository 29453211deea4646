//! A new revision of a rule set, proposed: its head in fields, its rules as text that begins as
//! those of the revision it follows. A second brake engineer approves it.

use super::named;
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::identity::RuleSetName;
use domain::json;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use domain::rule_set::usual::Usual;
use domain::rule_set::{Rule, RuleSet, Scope};
use serde::{Deserialize, Serialize};

/// What is written as text.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Body {
    #[serde(default)]
    scope: Scope,
    #[serde(default)]
    usual: Usual,
    rules: Vec<Rule>,
}

/// `GET /rule-sets/{name}/{revision}/revise`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((name, revision)): Path<(String, String)>,
) -> PageResult {
    page(&revise_page(&state, &signed_in, (&name, &revision), None).await?)
}

async fn revise_page(
    state: &WebState,
    signed_in: &SignedIn,
    (name, revision): (&str, &str),
    tried: Option<&Tried>,
) -> Result<FormPage, Failure> {
    let view = state.store.view().await?;
    let (set, _) = named(&view.documents, name, revision)?;
    let frame = Frame::new(state, signed_in);
    let back = address::rule_set(&set.name, &set.revision);
    let form = EntryForm::new("revise", &back, format!("Revise {}", set.name));
    let form = frame.holds(APPROVES).then(|| ask(form, &set.into()));
    Ok(FormPage {
        frame,
        title: format!("A new revision of {name}"),
        back: (back, format!("{name} revision {revision}")),
        notes: vec![NOTE.to_owned()],
        holds: Vec::new(),
        form: form.map(|form| form.finish(tried)),
        further: vec![(
            "/rule-sets/kinds".to_owned(),
            "Fields of a rule set, and kinds of rule with examples".to_owned(),
        )],
    })
}

/// What is said above both forms.
pub(super) const NOTE: &str = "It is in force only once another brake engineer has approved it, and \
     from the day given here. Rules are written as the register keeps them: each with a title, a \
     source and one requirement. What cannot be read is shown with its line.";

/// What the form knows before anybody fills it in.
#[derive(Debug, Default)]
pub(super) struct Beginning {
    pub(super) issuer: String,
    pub(super) note: String,
    pub(super) until: String,
    pub(super) body: String,
}

impl From<RuleSet> for Beginning {
    fn from(set: RuleSet) -> Self {
        let body = Body {
            scope: set.scope,
            usual: set.usual,
            rules: set.rules,
        };
        Self {
            issuer: set.issuer,
            note: set.note,
            until: set.valid_until.map_or(String::new(), |day| day.to_string()),
            // It was read from such text.
            body: serde_json::to_string_pretty(&body).unwrap_or_default(),
        }
    }
}

/// Asks for everything but the name.
pub(super) fn ask(form: EntryForm, beginning: &Beginning) -> EntryForm {
    form.button("Propose it")
        .ask(
            Field::text("revision", "Revision")
                .hint("A new one.")
                .required(),
        )
        .ask(
            Field::text("issuer", "Issuer")
                .required()
                .with_value(&beginning.issuer),
        )
        .ask(
            Field::text("note", "Note")
                .hint("Shown with every verdict.")
                .required()
                .with_value(&beginning.note),
        )
        .ask(
            Field::text("valid_from", "Valid from")
                .hint("As 2026-03-31.")
                .required(),
        )
        .ask(
            Field::text("valid_until", "Valid until")
                .hint("Its last day; empty for no end.")
                .with_value(&beginning.until),
        )
        .ask(
            Field::long_text("body", "Rules")
                .required()
                .with_value(&beginning.body),
        )
}

fn unreadable(why: &json::Wrong) -> String {
    format!("{why}; the whole is rules in JSON, as those of the revision that the form began with")
}

/// Reads it; the name is that of the page, or else of a field.
pub(super) fn asked(fields: &Fields, name: Option<RuleSetName>, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let name = name.or_else(|| fields.required("name", &mut errors));
    let revision = fields.required("revision", &mut errors);
    let valid_from = fields.required("valid_from", &mut errors);
    let valid_until = fields.day("valid_until", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    let body: Option<Body> = json::read(fields.text("body").as_bytes())
        .map_err(|why| errors.add("body", unreadable(&why)))
        .ok();
    match (name, revision, valid_from, at, body) {
        (Some(name), Some(revision), Some(valid_from), Some(at), Some(body))
            if errors.is_empty() =>
        {
            let rules = RuleSet {
                name,
                revision,
                issuer: fields.text("issuer").to_owned(),
                note: fields.text("note").to_owned(),
                valid_from,
                valid_until,
                scope: body.scope,
                usual: body.usual,
                rules: body.rules,
                agreed: None,
            };
            Ok((Fact::Proposed(Proposal::RuleSet(Box::new(rules))), at))
        }
        _ => Err(errors),
    }
}

/// `POST /rule-sets/{name}/{revision}/revise`
pub(crate) async fn send(
    State(state): State<WebState>,
    Path((name, revision)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let (old, _) = named(&state.store.view().await?.documents, &name, &revision)?;
    let asks = |now: Now<'_>| asked(&submitted.fields, Some(old.name.clone()), now);
    match record(&state, &submitted, "revise", &asks).await? {
        None => Ok(Redirect::to("/approvals").into_response()),
        Some(tried) => {
            let of = (name.as_str(), revision.as_str());
            let shown = revise_page(&state, &submitted.signed_in, of, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
