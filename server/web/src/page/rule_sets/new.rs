//! A rule set that the register does not have yet, proposed. A second brake engineer approves it.

use super::revise::{Beginning, NOTE, ask, asked};
use crate::entry_form::{EntryForm, Field, Tried, record};
use crate::form::{Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::people::APPROVES;

/// Two rules, so that nobody has to guess how one is written: every set has one on how much brake
/// is left.
const EXAMPLE: &str = r#"{
  "scope": {},
  "usual": {},
  "rules": [
    {
      "title": "axles that brake",
      "source": { "operator": "example figure, to be replaced" },
      "requirement": {
        "bands": {
          "measure": { "proportion": { "by": "axles" } },
          "bands": [
            { "at_least_percent": 0, "below_percent": 100, "consequence": "may_not_run" },
            { "at_least_percent": 100, "consequence": "may_run" }
          ]
        }
      }
    },
    {
      "title": "no brake drags",
      "source": "common_practice",
      "requirement": {
        "dragging": { "when": "now", "at_most": 0, "otherwise": "may_not_run" }
      }
    }
  ]
}"#;

/// `GET /rule-sets/new`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    page(&new_page(&state, &signed_in, None))
}

fn new_page(state: &WebState, signed_in: &SignedIn, tried: Option<&Tried>) -> FormPage {
    let frame = Frame::new(state, signed_in);
    let form = EntryForm::new("new", "/rule-sets", "A new rule set")
        .ask(Field::text("name", "Name").required());
    let beginning = Beginning {
        body: EXAMPLE.to_owned(),
        ..Beginning::default()
    };
    let form = frame
        .holds(APPROVES)
        .then(|| ask(form, &beginning).finish(tried));
    FormPage {
        frame,
        title: "Propose a new rule set".to_owned(),
        back: ("/rule-sets".to_owned(), "Rule sets".to_owned()),
        notes: vec![
            NOTE.to_owned(),
            "The rules in the field are examples. The rules of a set that the register has can be \
             taken from the form that revises it."
                .to_owned(),
        ],
        holds: Vec::new(),
        form,
        further: vec![(
            "/rule-sets/kinds".to_owned(),
            "Fields of a rule set, and kinds of rule with examples".to_owned(),
        )],
    }
}

/// `POST /rule-sets/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let asks = |now: Now<'_>| asked(&submitted.fields, None, now);
    match record(&state, &submitted, "new", &asks).await? {
        None => Ok(Redirect::to("/approvals").into_response()),
        Some(tried) => {
            let shown = new_page(&state, &submitted.signed_in, Some(&tried));
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
