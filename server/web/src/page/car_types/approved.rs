//! Other parts approved at positions: a new revision of a car type, proposed as text; and from
//! when a revision is in force for which cars. A second brake engineer approves both.

use super::named;
use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::approved_text::{to_text, with_text};
use domain::configuration::car_type::CarType;
use domain::configuration::effectivity::Effectivity;
use domain::ledger::fact::Fact;
use domain::ledger::proposal::Proposal;
use domain::people::APPROVES;
use std::sync::Arc;

/// What of a revision is proposed.
#[derive(Debug, Clone, Copy)]
enum Proposed {
    /// Other approved parts, as a new revision.
    Parts,
    /// From when it is in force for which cars.
    Force,
}

type Named = Path<(String, String)>;

/// `GET /car-types/{name}/{revision}/approved`
pub(crate) async fn show_parts(
    State(state): State<WebState>,
    signed_in: SignedIn,
    named: Named,
) -> PageResult {
    show(&state, &signed_in, named, Proposed::Parts).await
}

/// `GET /car-types/{name}/{revision}/effectivity`
pub(crate) async fn show_force(
    State(state): State<WebState>,
    signed_in: SignedIn,
    named: Named,
) -> PageResult {
    show(&state, &signed_in, named, Proposed::Force).await
}

/// `POST /car-types/{name}/{revision}/approved`
pub(crate) async fn send_parts(
    State(state): State<WebState>,
    named: Named,
    submitted: Submitted,
) -> PageResult {
    send(&state, submitted, named, Proposed::Parts).await
}

/// `POST /car-types/{name}/{revision}/effectivity`
pub(crate) async fn send_force(
    State(state): State<WebState>,
    named: Named,
    submitted: Submitted,
) -> PageResult {
    send(&state, submitted, named, Proposed::Force).await
}

async fn show(
    state: &WebState,
    signed_in: &SignedIn,
    Path((name, revision)): Named,
    proposed: Proposed,
) -> PageResult {
    let view = state.store.view().await?;
    let design = &named(&view.documents, &name, &revision)?.document;
    page(&form_page(state, signed_in, design, (proposed, None)))
}

async fn send(
    state: &WebState,
    submitted: Submitted,
    Path((name, revision)): Named,
    proposed: Proposed,
) -> PageResult {
    let view = state.store.view().await?;
    let design = Arc::clone(&named(&view.documents, &name, &revision)?.document);
    drop(view);
    let asks = |now: Now<'_>| asked(&submitted.fields, (&design, proposed), now);
    match record(state, &submitted, proposed.id(), &asks).await? {
        None => Ok(Redirect::to("/approvals").into_response()),
        Some(tried) => {
            let tried = (proposed, Some(&tried));
            let shown = form_page(state, &submitted.signed_in, &design, tried);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}

impl Proposed {
    fn id(self) -> &'static str {
        match self {
            Self::Parts => "approved",
            Self::Force => "effectivity",
        }
    }

    fn title(self, design: &CarType) -> String {
        let CarType { name, revision, .. } = design;
        match self {
            Self::Parts => format!("Other parts approved for {name}"),
            Self::Force => format!("Put {name} revision {revision} in force"),
        }
    }

    fn notes(self, design: &CarType) -> Vec<String> {
        let second = "It is so only once another brake engineer has approved it.".to_owned();
        match self {
            Self::Parts => vec![
                format!(
                    "One line a position: its code, a colon, and the parts approved there, each with the modification states asked for in brackets, as =BS1-K1: DV/210 [B C], DV/220; behind a bar each setting with the value wanted and what is allowed, as | opening pressure@8.5 bar@8.3 to 8.7 | orientation@upright@inverted | software@revision 2.4@revision 2.3 or revision 2.2. Of a revision without others only the one wanted is allowed. Positions without a line, the circuit and all else stay those of revision {}.",
                    design.revision
                ),
                second,
            ],
            Self::Force => vec![
                "From the beginning of that day it is the baseline of these cars, whatever they were registered with. Until then, and for all other cars, nothing changes. What is fitted and departs from it is listed under Departures.".to_owned(),
                "A revision with another circuit, other masses or other brakes is approved on the day itself or later: decisions taken before are void from then on.".to_owned(),
                second,
            ],
        }
    }

    fn form(self, design: &CarType) -> EntryForm {
        let page = address::car_type(&design.name, &design.revision);
        let form = EntryForm::new(self.id(), &page, self.title(design)).button("Propose it");
        match self {
            Self::Parts => form
                .ask(
                    Field::text("revision", "Revision")
                        .hint("A new one; cars keep theirs until it is in force for them.")
                        .required(),
                )
                .ask(
                    Field::long_text("approved", "Approved parts and settings")
                        .required()
                        .with_value(to_text(design)),
                ),
            Self::Force => form
                .ask(
                    Field::text("cars", "Cars")
                        .hint("As 4101 to 4120, 4131.")
                        .required(),
                )
                .ask(
                    Field::text("from", "From")
                        .hint("A day, as 2026-03-31.")
                        .required(),
                ),
        }
    }
}

fn form_page(
    state: &WebState,
    signed_in: &SignedIn,
    design: &CarType,
    (proposed, tried): (Proposed, Option<&Tried>),
) -> FormPage {
    let frame = Frame::new(state, signed_in);
    let form = frame
        .holds(APPROVES)
        .then(|| proposed.form(design).finish(tried));
    FormPage {
        frame,
        title: proposed.title(design),
        back: (
            address::car_type(&design.name, &design.revision),
            format!("{} revision {}", design.name, design.revision),
        ),
        notes: proposed.notes(design),
        holds: Vec::new(),
        form,
        further: Vec::new(),
    }
}

fn asked(fields: &Fields, (design, proposed): (&CarType, Proposed), now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let at = fields.moment("at", now, &mut errors);
    let proposal = match proposed {
        Proposed::Parts => parts(fields, design, &mut errors),
        Proposed::Force => force(fields, design, &mut errors),
    };
    match (proposal, at) {
        (Some(proposal), Some(at)) if errors.is_empty() => Ok((Fact::Proposed(proposal), at)),
        _ => Err(errors),
    }
}

fn parts(fields: &Fields, design: &CarType, errors: &mut FieldErrors) -> Option<Proposal> {
    let revision = fields.required("revision", errors);
    let approved = with_text(design, fields.exact("approved"))
        .map_err(|wrong| {
            let wrong: Vec<String> = wrong.iter().map(ToString::to_string).collect();
            errors.add("approved", wrong.join("; "));
        })
        .ok()?;
    let revised = CarType {
        revision: revision?,
        ..approved
    };
    Some(Proposal::CarType(Box::new(revised)))
}

fn force(fields: &Fields, design: &CarType, errors: &mut FieldErrors) -> Option<Proposal> {
    let cars = fields.required("cars", errors);
    let from = fields.required("from", errors);
    Some(Proposal::Effectivity(Effectivity {
        car_type: design.name.clone(),
        revision: design.revision.clone(),
        cars: cars?,
        from: from?,
    }))
}
