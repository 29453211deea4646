//! A modification issued.

use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::page::form_page::FormPage;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::modification::{Modification, ModificationScope};
use domain::identity::PositionCode;
use domain::ledger::fact::Fact;
use domain::people::APPROVES;

/// `GET /modifications/new`
pub(crate) async fn show(State(state): State<WebState>, signed_in: SignedIn) -> PageResult {
    page(&form_page(&state, &signed_in, None))
}

fn form_page(state: &WebState, signed_in: &SignedIn, tried: Option<&Tried>) -> FormPage {
    let frame = Frame::new(state, signed_in);
    let form = frame.holds(APPROVES).then(|| form().finish(tried));
    FormPage {
        frame,
        title: "Issue a modification".to_owned(),
        back: ("/modifications".to_owned(), "Modifications".to_owned()),
        notes: vec![
            "Of components: name the part and the modification state they are brought to, and perhaps positions and cars. Of cars as a whole: name the car type and the cars.".to_owned(),
            "Whatever is in its scope stays in the list of what is left until its embodiment is recorded, also in stores and at contractors.".to_owned(),
        ],
        holds: Vec::new(),
        form,
        further: Vec::new(),
    }
}

fn form() -> EntryForm {
    EntryForm::new("new", "/modifications", "Modification")
        .button("Issue it")
        .ask(Field::text("number", "Number").required())
        .ask(Field::text("title", "What is done").required())
        .ask(Field::text("part", "Part number").hint("Of components; else empty."))
        .ask(
            Field::text("state", "Modification state")
                .hint("In which they are then, one of the part's states."),
        )
        .ask(
            Field::text("positions", "Positions")
                .hint("Only those at these, with commas between them; empty for everywhere."),
        )
        .ask(Field::text("car_type", "Car type").hint("Of cars as a whole; else empty."))
        .ask(
            Field::text("cars", "Cars")
                .hint("As 4101 to 4120, 4131; of components, empty for everywhere."),
        )
        .ask(
            Field::text("by", "By when")
                .hint("A day, as 2026-03-31.")
                .required(),
        )
        .ask(
            Field::text("source", "Source")
                .hint("The instruction that tells how it is done.")
                .required(),
        )
}

fn asked(fields: &Fields, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let number = fields.required("number", &mut errors);
    let scope = scope(fields, &mut errors);
    let by = fields.required("by", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    let mut words = |name: &str| {
        let text = fields.text(name).to_owned();
        if text.is_empty() {
            errors.add(name, "expected a few words");
        }
        text
    };
    let (title, source) = (words("title"), words("source"));
    match (number, scope, by, at) {
        (Some(number), Some(scope), Some(by), Some(at)) if errors.is_empty() => {
            let modification = Modification {
                number,
                title,
                scope,
                by,
                source,
            };
            Ok((Fact::ModificationIssued(modification), at))
        }
        _ => Err(errors),
    }
}

fn scope(fields: &Fields, errors: &mut FieldErrors) -> Option<ModificationScope> {
    match (fields.text("part"), fields.text("car_type")) {
        ("", "") => {
            errors.add("part", "expected a part, or a car type below");
            None
        }
        (_, "") => {
            let positions = positions(fields, errors);
            Some(ModificationScope::Components {
                part: fields.required("part", errors)?,
                state: fields.required("state", errors)?,
                positions: positions?,
                cars: fields.optional("cars", errors),
            })
        }
        ("", _) => Some(ModificationScope::Cars {
            car_type: fields.required("car_type", errors)?,
            cars: fields.required("cars", errors)?,
        }),
        _ => {
            errors.add("car_type", "expected nothing where a part is named");
            None
        }
    }
}

fn positions(fields: &Fields, errors: &mut FieldErrors) -> Option<Vec<PositionCode>> {
    let codes = fields.text("positions").split([',', ';']).map(str::trim);
    let codes = codes.filter(|code| !code.is_empty()).map(str::parse);
    let codes: Result<Vec<_>, _> = codes.collect();
    codes
        .map_err(|why: domain::unreadable::Unreadable| {
            errors.add("positions", format!("expected {}", why.expected));
        })
        .ok()
}

/// `POST /modifications/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let asks = |now: Now<'_>| asked(&submitted.fields, now);
    let issued = match &asks((&state.zone, state.now())) {
        Ok((Fact::ModificationIssued(it), _)) => Some(it.number.clone()),
        _ => None,
    };
    match (record(&state, &submitted, "new", &asks).await?, issued) {
        (None, Some(number)) => Ok(Redirect::to(&address::modification(&number)).into_response()),
        (tried, _) => {
            let shown = form_page(&state, &submitted.signed_in, tried.as_ref());
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
