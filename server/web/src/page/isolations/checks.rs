//! Confirming a check after a cut-out: by whom, and when.

use super::end::position_ref;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::state::WebState;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::PositionRef;
use domain::decision::checks::CheckKind;
use domain::ledger::entry::Seq;
use domain::ledger::fact::{Confirmation, Fact};

/// Which check of which cut-out.
struct OfCheck {
    at: PositionRef,
    isolation: Seq,
    check: CheckKind,
    /// The page that shows the checks.
    back: String,
}

impl OfCheck {
    fn read(fields: &Fields) -> Result<Self, Failure> {
        let isolation = fields.text("isolation");
        let number = isolation.parse::<i64>().map_err(|_| Failure::NotFound {
            what: "cut-out recorded by entry",
            name: isolation.to_owned(),
        })?;
        Ok(Self {
            at: position_ref(fields.text("car"), fields.text("position"))?,
            isolation: Seq(number),
            check: fields.text("check").parse()?,
            back: back(fields.text("back")),
        })
    }
}

/// The page to go back to: one that shows checks, whatever was sent.
fn back(sent: &str) -> String {
    let shows_checks = ["/trains/", "/decision?"];
    if shows_checks.iter().any(|page| sent.starts_with(page)) {
        format!("{sent}#checks")
    } else {
        "/isolations".to_owned()
    }
}

fn form(of: &OfCheck) -> EntryForm {
    EntryForm::new("checks", "/isolations", format!("Confirm: {}", of.check))
        .button("Confirm")
        .bring("car", of.at.car.as_str())
        .bring("position", of.at.position.as_str())
        .bring("isolation", of.isolation.0.to_string())
        .bring("check", of.check.name())
        .bring("back", of.back.trim_end_matches("#checks"))
        .ask(Field::text("by", "Checked by").required())
}

fn asked(fields: &Fields, of: &OfCheck, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let by = fields.required("by", &mut errors);
    let moment = fields.moment("at", now, &mut errors);
    match (by, moment) {
        (Some(by), Some(moment)) => {
            let confirmation = Confirmation {
                at: of.at.clone(),
                isolation: of.isolation,
                check: of.check,
                by,
            };
            Ok((Fact::CheckConfirmed(confirmation), moment))
        }
        _ => Err(errors),
    }
}

/// The form again, with what was wrong.
fn again(state: &WebState, submitted: &Submitted, of: &OfCheck, tried: &Tried) -> FormPage {
    FormPage {
        frame: Frame::new(state, &submitted.signed_in),
        title: format!("Check after the cut-out at {}", of.at),
        back: (of.back.clone(), "All checks".to_owned()),
        notes: Vec::new(),
        holds: Vec::new(),
        form: Some(form(of).finish(Some(tried))),
        further: Vec::new(),
    }
}

/// `POST /isolations/checks`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let of = OfCheck::read(&submitted.fields)?;
    let asks = |now: Now<'_>| asked(&submitted.fields, &of, now);
    match record(&state, &submitted, "checks", &asks).await? {
        None => Ok(Redirect::to(&of.back).into_response()),
        Some(tried) => {
            let shown = again(&state, &submitted, &of, &tried);
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_leads_back_to_pages_of_ours_only() {
        assert_eq!(back("/trains/T1"), "/trains/T1#checks");
        for elsewhere in ["", "//else.where", "https://else.where", "/sign-out"] {
            assert_eq!(back(elsewhere), "/isolations");
        }
    }
}
