//! Recording a test: the values of a procedure typed beside their limits. The verdict can be
//! looked at before anything is recorded.

use super::form::{TestForm, Typed, form, read, said};
use super::judged::outcome;
use crate::address;
use crate::entry_form::{corrected, record_in_place};
use crate::failure::Failure;
use crate::form::{Fields, Submitted};
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
use domain::identity::Revision;
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::people::DOES_WORK;
use domain::test_record::procedure::Procedure;
use domain::test_record::record::TestRecord;
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
    /// The entry in whose place the record is put.
    corrects: Option<Seq>,
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

/// What a form of a test is about.
struct Asked {
    subject: Subject,
    /// The code of the procedure, empty where none is chosen.
    code: String,
    /// The entry of a record that was wrong, and its revision of the procedure.
    wrong: Option<(Seq, Revision)>,
}

impl Asked {
    fn new(fields: &Fields) -> Result<Self, Failure> {
        Ok(Self {
            subject: subject(fields)?,
            code: fields.text("procedure").to_owned(),
            wrong: None,
        })
    }

    /// Another record in the place of that of an entry, and what that one says.
    async fn of_wrong(view: &mut View, seq: Seq) -> Result<(Self, TestRecord), Failure> {
        let not_found = || Failure::NotFound {
            what: "test record that entry",
            name: seq.0.to_string(),
        };
        let kept = view.entry(seq).await?.ok_or_else(not_found)?;
        let Fact::TestRecorded(record) = kept.entry.fact else {
            return Err(not_found());
        };
        let asked = Self {
            subject: record.subject.clone(),
            code: record.procedure.to_string(),
            wrong: Some((seq, record.revision.clone())),
        };
        Ok((asked, record))
    }

    fn corrects(&self) -> Option<Seq> {
        self.wrong.as_ref().map(|(seq, _)| *seq)
    }

    /// The procedures to choose from: those in force, or that of the record that was wrong.
    async fn procedures(&self, view: &mut View) -> Result<Vec<Arc<Procedure>>, Failure> {
        let Some((_, revision)) = &self.wrong else {
            return procedures(view, &self.subject).await;
        };
        let known = view.documents.procedures.values();
        let known = known.map(|known| &known.document);
        let of_record = known.filter(|procedure| {
            procedure.code.as_str() == self.code && procedure.revision == *revision
        });
        Ok(of_record.cloned().collect())
    }
}

/// `GET /tests/new?car=…&procedure=…`, `?part=…&serial=…`, or `?corrects=…` to put another record in
/// the place of one
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<BTreeMap<String, String>>,
) -> PageResult {
    let fields = Fields(query);
    let Some(wrong) = corrected(fields.text("corrects"))? else {
        let asked = Asked::new(&fields)?;
        return page(&new_page(&state, &signed_in, &asked, Typed::default()).await?);
    };
    let mut view = state.store.view().await?;
    let (asked, record) = Asked::of_wrong(&mut view, wrong).await?;
    let procedures = asked.procedures(&mut view).await?;
    drop(view);
    let said = procedures.first().map(|procedure| said(&record, procedure));
    let typed = Typed {
        fields: said.as_ref(),
        ..Typed::default()
    };
    page(&new_page(&state, &signed_in, &asked, typed).await?)
}

/// The page: three statements.
async fn new_page(
    state: &WebState,
    signed_in: &SignedIn,
    asked: &Asked,
    typed: Typed<'_>,
) -> Result<NewTestPage, Failure> {
    let subject = &asked.subject;
    let mut view = state.store.view().await?;
    let procedures = asked.procedures(&mut view).await?;
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
        .find(|procedure| procedure.code.as_str() == asked.code);
    let tester = frame.person.clone().unwrap_or_default();
    let mut holds = match subject {
        Subject::Car(car) => HoldNote::all(view.holds.on_car(car), &state.zone),
        Subject::Component(one) => {
            let on = view.car_of(one).await?;
            HoldNote::all(view.holds.of_component(one, on.as_ref()), &state.zone)
        }
    };
    if let Some(wrong) = asked.corrects() {
        holds.extend(HoldNote::all(view.holds.of_entry(wrong), &state.zone));
    }
    let about = (subject, asked.corrects());
    Ok(NewTestPage {
        may_record: frame.holds(DOES_WORK) && holds.is_empty(),
        holds,
        frame,
        subject: subject.clone(),
        corrects: asked.corrects(),
        procedures: links.collect(),
        form: chosen.map(|procedure| form(procedure, about, &tester, typed)),
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
    let mut view = state.store.view().await?;
    let asked = match corrected(fields.text("corrects"))? {
        Some(wrong) => Asked::of_wrong(&mut view, wrong).await?.0,
        None => Asked::new(fields)?,
    };
    let known = asked.procedures(&mut view).await?;
    drop(view);
    let mut of_code = known.iter();
    let procedure = of_code.find(|procedure| procedure.code.as_str() == asked.code);
    let procedure = procedure.ok_or_else(|| Failure::NotFound {
        what: "procedure for that, with the code",
        name: asked.code.clone(),
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
    match read(fields, (procedure, &asked.subject), &state) {
        Err(errors) => {
            typed.errors = errors;
            status = StatusCode::UNPROCESSABLE_ENTITY;
        }
        Ok(test) => {
            typed.outcome = outcome(procedure, &test, &state.zone).ok();
            if fields.text("do") == "record" {
                let (id, at) = (test.id.clone(), test.at);
                let form = (FORM, asked.corrects());
                let fact = Ok((Fact::TestRecorded(test), at));
                match record_in_place(&state, &submitted, form, fact).await? {
                    Ok(_) => return Ok(Redirect::to(&address::test(&id)).into_response()),
                    Err(tried) => {
                        typed.refusal = tried.refusal();
                        typed.consequences = tried.consequences();
                    }
                }
                status = StatusCode::UNPROCESSABLE_ENTITY;
            }
        }
    }
    let shown = new_page(&state, &submitted.signed_in, &asked, typed).await?;
    Ok((status, page(&shown)?).into_response())
}
