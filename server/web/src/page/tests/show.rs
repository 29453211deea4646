//! A test record: who measured what, when, with which instrument, and what it comes to.

use super::judged::{Outcome, outcome};
use crate::address;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use domain::identity::TestRecordId;
use domain::ledger::dossier::TestedRecord;
use domain::test_record::procedure::Procedure;
use domain::time::Zone;
use std::sync::Arc;

#[derive(Template)]
#[template(path = "tests/test.html")]
struct TestPage {
    frame: Frame,
    test: TestedRecord,
    procedure: Option<Arc<Procedure>>,
    /// What it comes to by the limits of its revision of the procedure.
    outcome: Option<Outcome>,
    holds: Vec<HoldNote>,
    zone: Zone,
}

/// `GET /test-records/{id}`. Three statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(id): Path<String>,
) -> PageResult {
    let id: TestRecordId = id.parse()?;
    let mut view = state.store.view().await?;
    let test = view.test(&id).await?.ok_or_else(|| Failure::NotFound {
        what: "test record",
        name: id.to_string(),
    })?;
    let key = (test.record.procedure.clone(), test.record.revision.clone());
    let known = view.documents.procedures.get(&key);
    let procedure = known.map(|known| Arc::clone(&known.document));
    let judge = |procedure: &Arc<Procedure>| outcome(procedure, &test.record, &state.zone).ok();
    page(&TestPage {
        frame: Frame::new(&state, &signed_in),
        outcome: procedure.as_ref().and_then(judge),
        procedure,
        holds: HoldNote::all(view.holds.of_entry(test.by), &state.zone),
        zone: state.zone.clone(),
        test,
    })
}

impl TestPage {
    fn subject(&self) -> String {
        address::subject(&self.test.record.subject)
    }
}
