//! Another plate on a component: replaced, or read wrongly before.

use super::forms::simple;
use crate::entry_form::{Asked, EntryForm, Field};
use crate::form::{FieldErrors, Fields, Submitted};
use crate::respond::PageResult;
use crate::state::WebState;
use axum::extract::{Path, State};
use domain::configuration::component::ComponentRef;
use domain::configuration::plate::{PlateCause, PlateChange};
use domain::ledger::fact::Fact;
use domain::time::{Instant, Zone};

pub(super) fn plate_form(page: &str) -> EntryForm {
    let causes = [
        (PlateCause::Replaced, "the plate was replaced"),
        (PlateCause::Misread, "the plate was read wrongly before"),
    ];
    let causes = causes.map(|(cause, words)| (cause.name().to_owned(), words.to_owned()));
    EntryForm::new("plate", page, "Its plate says another serial number")
        .button("Record the plate")
        .ask(
            Field::text("plate", "Serial number on the plate")
                .hint("It keeps the number under which it came in and is found by both. Say why below.")
                .required(),
        )
        .ask(Field::one_of("cause", "Cause", causes))
}

fn asked(fields: &Fields, component: ComponentRef, now: (&Zone, Instant)) -> Asked {
    let mut errors = FieldErrors::default();
    let plate = fields.required("plate", &mut errors);
    let cause = fields.required("cause", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    match (plate, cause, at) {
        (Some(plate), Some(cause), Some(at)) => {
            let change = PlateChange {
                component,
                plate,
                cause,
            };
            Ok((Fact::PlateChanged(change), at))
        }
        _ => Err(errors),
    }
}

/// `POST /components/{part}/{serial}/plate`
pub(crate) async fn change(
    State(state): State<WebState>,
    Path(plate): Path<(String, String)>,
    submitted: Submitted,
) -> PageResult {
    simple(&state, plate, submitted, ("plate", asked)).await
}
