//! A new circuit for a car type, written as text: looked at first, then proposed. A second brake
//! engineer approves it; cars take it over when their baseline revision is changed.

use super::named;
use super::trial::look_at;
use crate::address;
use crate::entry_form::{EntryForm, Field, Tried, dated, record};
use crate::form::{FieldErrors, Fields, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::circuit::compiled::CompiledCircuit;
use domain::circuit::text::CircuitText;
use domain::configuration::car_type::CarType;
use domain::isolation::takes::LookedAt;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "car_types/revise.html")]
struct RevisePage {
    frame: Frame,
    name: String,
    revision: String,
    back: String,
    form: Option<EntryForm>,
    /// What was looked at, where the form was sent for that.
    looked_at: Option<LookedAt>,
}

/// What the form is sent for.
const LOOK: &str = "look";
const PROPOSE: &str = "propose";

/// `GET /car-types/{name}/{revision}/circuit`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((name, revision)): Path<(String, String)>,
) -> PageResult {
    let view = state.store.view().await?;
    let old = named(&view.documents, &name, &revision)?;
    page(&revise_page(
        &state,
        &signed_in,
        &old.document,
        (None, None),
    ))
}

fn revise_page(
    state: &WebState,
    signed_in: &SignedIn,
    old: &CarType,
    (tried, looked_at): (Option<&Tried>, Option<LookedAt>),
) -> RevisePage {
    let frame = Frame::new(state, signed_in);
    let back = address::car_type(&old.name, &old.revision);
    let form = frame
        .holds(APPROVES)
        .then(|| form(&back, old).finish(tried));
    RevisePage {
        frame,
        name: old.name.to_string(),
        revision: old.revision.to_string(),
        back,
        form,
        looked_at,
    }
}

fn form(page: &str, old: &CarType) -> EntryForm {
    let what = [
        (LOOK, "Look at it: nothing is recorded"),
        (PROPOSE, "Propose it"),
    ];
    EntryForm::new("circuit", page, format!("A new circuit for {}", old.name))
        .button("Go on")
        .ask(
            Field::text("revision", "Revision")
                .hint("A new one; cars keep theirs until it is changed.")
                .required(),
        )
        .ask(
            Field::long_text("circuit", "Circuit")
                .required()
                .with_value(old.circuit.to_text()),
        )
        .ask(
            Field::text("formation", "Try it in").hint(
                "Units and cars, as TM3-001, TM3-002 reversed; empty for a unit of that type.",
            ),
        )
        .ask(Field::one_of(
            "what",
            "What to do",
            what.map(|(value, words)| (value.to_owned(), words.to_owned())),
        ))
}

/// The design with the circuit of the form, or what is wrong, line by line.
fn design(fields: &Fields, old: &CarType, errors: &mut FieldErrors) -> Option<CarType> {
    let revision = fields.required("revision", errors);
    if fields.text("circuit").trim().is_empty() {
        errors.add("circuit", "expected a circuit, line by line");
        return None;
    }
    let text = CircuitText::read(fields.text("circuit"))
        .map_err(|faults| {
            let faults: Vec<String> = faults.iter().map(ToString::to_string).collect();
            errors.add("circuit", faults.join("\n"));
        })
        .ok()?;
    let design = CarType {
        revision: revision?,
        circuit: text.circuit.clone(),
        ..old.clone()
    };
    if let Err(faults) = CompiledCircuit::new(&design) {
        let faults: Vec<String> = faults.iter().map(|fault| text.told(fault)).collect();
        errors.add("circuit", faults.join("\n"));
        return None;
    }
    if old.circuit.differences(&design.circuit) == (Vec::new(), Vec::new()) {
        let same = format!(
            "it says what that of revision {} says; change something",
            old.revision
        );
        errors.add("circuit", same);
        return None;
    }
    Some(design)
}

/// `POST /car-types/{name}/{revision}/circuit`
pub(crate) async fn send(
    State(state): State<WebState>,
    Path((name, revision)): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    let mut view = state.store.view().await?;
    let old = Arc::clone(&named(&view.documents, &name, &revision)?.document);
    let fields = &submitted.fields;
    let mut errors = FieldErrors::default();
    let design = design(fields, &old, &mut errors);
    let what = fields.text("what");
    if ![LOOK, PROPOSE].contains(&what) {
        errors.add("what", "expected one of those to choose from");
    }
    let signed_in = &submitted.signed_in;
    if let (LOOK, Some(design), true) = (what, &design, errors.is_empty()) {
        let formation = fields.text("formation").trim();
        let design = Arc::new(design.clone());
        let asked = (formation, state.today());
        let looked_at = look_at(&mut view, &design, Some(&old), asked).await?;
        let tried = Tried::looked_at(&submitted, "circuit");
        let shown = (Some(&tried), Some(looked_at));
        return page(&revise_page(&state, signed_in, &old, shown));
    }
    drop(view);
    let proposed = design.map(|design| Fact::Proposed(Proposal::CarType(Box::new(design))));
    let asks = dated(fields, (proposed, errors));
    match record(&state, &submitted, "circuit", &asks).await? {
        None => Ok(Redirect::to("/approvals").into_response()),
        Some(tried) => {
            let shown = revise_page(&state, signed_in, &old, (Some(&tried), None));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
