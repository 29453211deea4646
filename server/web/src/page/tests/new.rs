//! Recording a test: the values of a procedure typed beside their limits. The verdict can be
//! looked at before anything is recorded.

use super::form::{TestForm, Typed, form, read};
use super::judged::outcome;
use crate::address;
use crate::entry_form::{ShownRefusal, Tried, left_over, record};
use crate::failure::Failure;
use crate::form::{Fields, Now, Submitted};
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::{ComponentRef, Subject};
use domain::due::task::AppliesTo;
use domain::ledger::dossier::Documents;
use domain::ledger::fact::Fact;
use domain::people::DOES_WORK;
use domain::test_record::procedure::Procedure;
use std::collections::BTreeMap;
use std::sync::Arc;
use store::read::View;

/// The name of the form's command in addresses.
const FORM: &str = "new";

#[derive(Template)]
#[template(path = "tests/new.html")]
struct NewTestPage {
    frame: Frame,
    subject: Subject,
    /// Procedures that apply, each with the address of its form.
    procedures: Vec<(String, String)>,
    holds: Vec<HoldNote>,
    form: Option<TestForm>,
    may_record: bool,
}

fn subject(fields: &Fields) -> Result<Subject, Failure> {
    Ok(if fields.text("car").is_empty() {
        Subject::Component(ComponentRef {
            part: fields.text("part").parse()?,
            serial: fields.text("serial").parse()?,
        })
    } else {
        Subject::Car(fields.text("car").parse()?)
    })
}

/// `GET /tests/new?car=…&procedure=…` or `?part=…&serial=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<BTreeMap<String, String>>,
) -> PageResult {
    let fields = Fields(query);
    let asked = (&subject(&fields)?, fields.text("procedure"));
    page(&new_page(&state, &signed_in, asked, Typed::default()).await?)
}

/// The page: three statements.
async fn new_page(
    state: &WebState,
    signed_in: &SignedIn,
    (subject, code): (&Subject, &str),
    typed: Typed<'_>,
) -> Result<NewTestPage, Failure> {
    let mut view = state.store.view().await?;
    let procedures = procedures(&mut view, subject).await?;
    let known = address::record_test(subject);
    let links = procedures.iter().map(|procedure| {
        let code = address::encoded(&procedure.code);
        let words = format!(
            "{} ({}, revision {})",
            procedure.title, procedure.code, procedure.revision
        );
        (format!("{known}&procedure={code}"), words)
    });
    let frame = Frame::new(state, signed_in);
    let chosen = procedures
        .iter()
        .find(|procedure| procedure.code.as_str() == code);
    let tester = frame.person.clone().unwrap_or_default();
    let holds = match subject {
        Subject::Car(car) => HoldNote::all(view.holds.on_car(car), &state.zone),
        Subject::Component(one) => {
            let on = view.car_of(one).await?;
            HoldNote::all(view.holds.of_component(one, on.as_ref()), &state.zone)
        }
    };
    Ok(NewTestPage {
        may_record: frame.holds(DOES_WORK) && holds.is_empty(),
        holds,
        frame,
        subject: subject.clone(),
        procedures: links.collect(),
        form: chosen.map(|procedure| form(procedure, subject, &tester, typed)),
    })
}

/// The newest revision of each procedure that applies.
async fn procedures(view: &mut View, subject: &Subject) -> Result<Vec<Arc<Procedure>>, Failure> {
    let applies_to = match subject {
        Subject::Component(component) => AppliesTo::Part(component.part.clone()),
        Subject::Car(number) => {
            let car = view.car(number).await?.ok_or_else(|| Failure::NotFound {
                what: "car",
                name: number.to_string(),
            })?;
            AppliesTo::CarType(car.car.car_type)
        }
    };
    Ok(in_force(&view.documents, &applies_to))
}

fn in_force(documents: &Documents, applies_to: &AppliesTo) -> Vec<Arc<Procedure>> {
    let mut procedures = documents.newest_procedures();
    procedures.retain(|procedure| procedure.applies_to == *applies_to);
    procedures
}

/// `POST /tests/new`: judges, and records if asked to.
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let fields = &submitted.fields;
    let subject = subject(fields)?;
    let code = fields.text("procedure");
    let mut view = state.store.view().await?;
    let known = procedures(&mut view, &subject).await?;
    drop(view);
    let procedure = known
        .iter()
        .find(|procedure| procedure.code.as_str() == code);
    let procedure = procedure.ok_or_else(|| Failure::NotFound {
        what: "procedure for that, with the code",
        name: code.to_owned(),
    })?;
    // The values stand in the order of the revision that the form was made for.
    if procedure.revision.as_str() != fields.text("revision") {
        return Err(Failure::FormNotOurs);
    }
    let mut typed = Typed {
        fields: Some(fields),
        ..Typed::default()
    };
    let mut status = StatusCode::OK;
    let read = |now: Now<'_>| read(fields, (procedure, &subject), now);
    match read((&state.zone, state.now())) {
        Err(errors) => {
            typed.errors = errors;
            status = StatusCode::UNPROCESSABLE_ENTITY;
        }
        Ok(test) => {
            typed.outcome = outcome(procedure, &test, &state.zone).ok();
            if fields.text("do") == "record" {
                let asks = |now: Now<'_>| {
                    let test = read(now)?;
                    let at = test.at;
                    Ok((Fact::TestRecorded(test), at))
                };
                match record(&state, &submitted, FORM, &asks).await? {
                    None => return Ok(Redirect::to(&address::test(&test.id)).into_response()),
                    Some(tried) => typed.refusal = refusal(&tried),
                }
                status = StatusCode::UNPROCESSABLE_ENTITY;
            }
        }
    }
    let shown = new_page(&state, &submitted.signed_in, (&subject, code), typed).await?;
    Ok((status, page(&shown)?).into_response())
}

fn refusal(tried: &Tried) -> Option<ShownRefusal> {
    left_over(Some(tried), &[])
}
