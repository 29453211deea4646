//! A test record: who measured what, when, with which instrument, and what it comes to.

use super::judged::{Outcome, outcome};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::identity::TestRecordId;
use domain::ledger::dossier::TestedRecord;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::obligations::Touch;
use domain::test_record::procedure::Procedure;
use domain::time::Zone;
use std::sync::Arc;
use store::read::View;

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "what the record said",
    "Evidence holds on it are those in force now.",
);

#[derive(Template)]
#[template(path = "tests/test.html")]
struct TestPage {
    frame: Frame,
    speaks: PageSpeaks,
    test: TestedRecord,
    /// The entry by which it does not count any more.
    withdrawn: Option<Entry>,
    /// What was touched on the car since, so that it proves nothing any more; told of now.
    void: Option<Touch>,
    procedure: Option<Arc<Procedure>>,
    /// What it comes to by the limits of its revision of the procedure.
    outcome: Option<Outcome>,
    holds: Vec<HoldNote>,
    zone: Zone,
}

/// `GET /test-records/{id}?at=…&known=…`. Three statements, and three where the record was
/// withdrawn; of a past time three more, and two where it was corrected or withdrawn since. Three more
/// where what is touched on a car makes the task of the test due at once.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(id): Path<String>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let id: TestRecordId = id.parse()?;
    let speaks = query.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let (test, withdrawn) = found(&mut view, &id, &speaks).await?;
    let void = void_now(&mut view, (&test, withdrawn), &speaks).await?;
    let withdrawn = match withdrawn {
        Some(by) => view.entry(by).await?.map(|kept| kept.entry),
        None => None,
    };
    let key = (test.record.procedure.clone(), test.record.revision.clone());
    let known = view.documents.procedures.get(&key);
    let procedure = known.map(|known| Arc::clone(&known.document));
    let judge = |procedure: &Arc<Procedure>| outcome(procedure, &test.record, &state.zone).ok();
    page(&TestPage {
        frame: Frame::new(&state, &signed_in),
        speaks: PageSpeaks::new((&query, &speaks), address::test(&id), WHAT),
        outcome: procedure.as_ref().and_then(judge),
        procedure,
        holds: HoldNote::all(view.holds.of_entry(test.by), &state.zone),
        zone: state.zone.clone(),
        withdrawn,
        void,
        test,
    })
}

/// What was touched on the car since a test that still counts; told of now alone.
pub(crate) async fn void_now(
    view: &mut View,
    (test, withdrawn): (&TestedRecord, Option<Seq>),
    speaks: &Speaks,
) -> Result<Option<Touch>, Failure> {
    if withdrawn.is_some() || speaks.past.is_some() {
        return Ok(None);
    }
    Ok(view.void_since(test).await?)
}

/// A test record as it is told, and where it did not count any more the entry by which.
pub(crate) async fn found(
    view: &mut View,
    id: &TestRecordId,
    speaks: &Speaks,
) -> Result<(TestedRecord, Option<Seq>), Failure> {
    let then = speaks.then();
    let test = match then {
        None => view.test(id).await?,
        Some(as_at) => view.test_known(id, as_at.known).await?,
    };
    let found = if let Some(test) = test {
        Some((test, None))
    } else {
        let known = then.map(|as_at| as_at.known);
        let withdrawn = view.test_withdrawn(id, known).await?;
        withdrawn.map(|(test, by)| (test, Some(by)))
    };
    let made = |test: &TestedRecord| then.is_none_or(|as_at| test.record.at <= as_at.effective);
    found
        .filter(|(test, _)| made(test))
        .ok_or_else(|| Failure::NotFound {
            what: "test record",
            name: id.to_string(),
        })
}

impl TestPage {
    fn subject(&self) -> String {
        let subject = address::subject(&self.test.record.subject);
        self.speaks.at_same(&subject)
    }
}
