//! Recording a cut-out: which position of the car, in which state, why, since when.

use crate::address;
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::page::form_page::FormPage;
use crate::page::named_place;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::car_type::CarType;
use domain::configuration::component::PositionRef;
use domain::identity::CarNumber;
use domain::isolation::CutOutState;
use domain::isolation::isolable::Isolable;
use domain::ledger::fact::{CutOut, Fact};
use domain::people::ISOLATES;
use serde::Deserialize;

/// Which car, and what is to be chosen already.
#[derive(Debug, Deserialize)]
pub(crate) struct OfCar {
    #[serde(default)]
    car: String,
    #[serde(default)]
    position: String,
    #[serde(default)]
    state: String,
}

/// `GET /isolations/new?car=…&position=…&state=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(of): Query<OfCar>,
) -> PageResult {
    let car: CarNumber = of.car.trim().parse()?;
    page(&record_page(&state, &signed_in, (&car, &of.position, &of.state), None).await?)
}

async fn record_page(
    state: &WebState,
    signed_in: &SignedIn,
    (car, position, held): (&CarNumber, &str, &str),
    tried: Option<&Tried>,
) -> Result<FormPage, Failure> {
    let mut view = state.store.view().await?;
    let record = view.car(car).await?.ok_or_else(|| Failure::NotFound {
        what: "car",
        name: car.to_string(),
    })?;
    let frame = Frame::new(state, signed_in);
    let car_type = view.documents.car_type(&record.car, state.today());
    let known = car_type.and_then(|car_type| known(car_type, position));
    let form = car_type
        .filter(|_| frame.holds(ISOLATES))
        .map(|car_type| form(car, car_type, (known, held)).finish(tried));
    let elsewhere = known.filter(|_| form.is_some()).map(|_| {
        (
            address::record_isolation(car),
            format!("Another position of car {car}"),
        )
    });
    let mut notes = Vec::new();
    if car_type.is_none() {
        notes.push("No positions are known for the type of this car.".to_owned());
    }
    Ok(FormPage {
        frame,
        title: format!("Record a cut-out on car {car}"),
        back: (address::car(car), format!("Car {car}")),
        notes,
        holds: HoldNote::all(view.holds.of_car(car), &state.zone),
        form,
        further: elsewhere.into_iter().collect(),
    })
}

/// The position that is chosen already, if a state may be told of it.
fn known<'t>(car_type: &'t CarType, position: &str) -> Option<Isolable<'t>> {
    let mut isolable = Isolable::all_of(car_type).into_iter();
    isolable.find(|one| one.position.code.as_str() == position.trim())
}

/// The form; of a position that is known it offers no other, and only the states that it can be in.
fn form(
    car: &CarNumber,
    car_type: &CarType,
    (known, state): (Option<Isolable<'_>>, &str),
) -> EntryForm {
    let choose = (String::new(), "choose".to_owned());
    let (isolable, states) = match known {
        Some(one) => (vec![one], one.states_once_cut_out()),
        None => (Isolable::all_of(car_type), CutOutState::ALL),
    };
    let position = known.map_or("", |one| one.position.code.as_str());
    let states = states
        .iter()
        .map(|state| (state.name().to_owned(), words(*state).to_owned()));
    EntryForm::new("new", "/isolations", format!("Cut-out on car {car}"))
        .button("Record the cut-out")
        .bring("car", car.as_str())
        .ask(
            Field::one_of(
                "position",
                "Position",
                std::iter::once(choose.clone()).chain(positions(isolable)),
            )
            .with_value(position)
            .required(),
        )
        .ask(
            Field::one_of("state", "State", std::iter::once(choose).chain(states))
                .with_value(state)
                .hint(
                    "A cut-out is not one state: each takes away something else. Of what is cut out \
                     already, tell the state that it was in at the time given below, also if it was \
                     in another later: it stays cut out. No brake is \
                     counted on what is told as emptied: of a cock that does not vent say so only \
                     once the reservoirs behind it were drained, and record each of them as emptied \
                     too, since by the cock alone a brake that a reservoir feeds may count as on. \
                     What was told as emptied fills by no other state while its cock is closed: \
                     correct that entry, or tell that the cock was open again. What a position cannot \
                     be in is refused.",
                )
                .required(),
        )
        .ask(Field::text("cause", "Why it was closed, or how it was found").says_why())
        .ask(
            Field::text("not_before", "Last seen as it should be")
                .hint("Where nobody saw it change: the last time it was seen right. Else empty."),
        )
}

/// The positions whose cut-out has an effect that is known, cocks first: of nothing else could
/// anything be told.
fn positions(mut isolable: Vec<Isolable<'_>>) -> Vec<(String, String)> {
    isolable.sort_by_key(|one| !one.is_cock());
    let choice = |one: Isolable<'_>| {
        let position = one.position;
        let labels: Vec<&str> = position.aliases.iter().map(|a| a.name.as_str()).collect();
        let labels = if labels.is_empty() {
            String::new()
        } else {
            format!(" ({})", labels.join(", "))
        };
        let words = format!("{} {}{labels}", position.code, position.title);
        (position.code.to_string(), words)
    };
    isolable.into_iter().map(choice).collect()
}

fn words(state: CutOutState) -> &'static str {
    match state {
        CutOutState::ClosedVented => "closed, and what lies behind it emptied",
        CutOutState::ClosedTrapped => "closed, with air trapped behind it",
        CutOutState::SupplyCut => "supply cut, what lies behind it still charged",
        CutOutState::ReleasedByHand => {
            "released by hand; of a spring, what it does when air returns is not known"
        }
        CutOutState::ElectricallyOff => "switched off electrically",
        CutOutState::Bypassed => "bypassed",
        CutOutState::Failed => "failed: it delivers nothing",
        CutOutState::ReopenedNotProven => {
            "open again with no test since: it counts as cut out until the test"
        }
        CutOutState::ReleasedUntilAirReturns => {
            "spring released by hand, and seen to apply again by itself when air returns"
        }
        CutOutState::ReleasedUntilReset => {
            "spring released by hand, and seen to stay dead until it is reset"
        }
    }
}

/// The states that the position of a car can be in, where that is known.
fn possible(car_type: &CarType, at: &PositionRef) -> Option<&'static [CutOutState]> {
    let isolable = Isolable::at(car_type, &at.position)?;
    // The register says what is told instead of a drain cock.
    let is_told = isolable.told_instead(car_type).is_none();
    // Whether it is cut out already, the register knows.
    is_told.then(|| isolable.states_once_cut_out())
}

fn asked(
    fields: &Fields,
    place: Result<PositionRef, String>,
    possible: Option<&[CutOutState]>,
    now: Now<'_>,
) -> Asked {
    let mut errors = FieldErrors::default();
    let place = place.map_err(|expected| errors.add("position", format!("expected {expected}")));
    let state: Option<CutOutState> = fields.chosen("state", &mut errors);
    if let (Some(state), Some(possible)) = (state, possible)
        && !possible.contains(&state)
    {
        let possible: Vec<&str> = possible.iter().map(|state| words(*state)).collect();
        let possible = possible.join("; ");
        errors.add(
            "state",
            format!("expected what that position can be: {possible}"),
        );
    }
    let moment = fields.moment("at", now, &mut errors);
    let not_before = match fields.text("not_before") {
        "" => None,
        _ => fields.moment("not_before", now, &mut errors),
    };
    let cause = fields.text("cause").to_owned();
    match (place, state, moment) {
        (Ok(at), Some(state), Some(moment)) if errors.is_empty() => {
            let cut_out = CutOut {
                at,
                state,
                cause,
                not_before,
            };
            Ok((Fact::Isolated(cut_out), moment))
        }
        _ => Err(errors),
    }
}

/// `POST /isolations/new`
pub(crate) async fn send(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let car: CarNumber = submitted.fields.text("car").parse()?;
    let mut view = state.store.view().await?;
    let name = submitted.fields.text("position");
    let place = named_place::place(&mut view, &car, name, state.today()).await?;
    let record_of_car = view.car(&car).await?;
    let car_type = record_of_car.as_ref();
    let car_type = car_type.and_then(|one| view.documents.car_type(&one.car, state.today()));
    let possible = place.as_ref().ok().and_then(|at| possible(car_type?, at));
    drop(view);
    let asks = |now: Now<'_>| asked(&submitted.fields, place.clone(), possible, now);
    match record(&state, &submitted, "new", &asks).await? {
        None => Ok(Redirect::to("/isolations").into_response()),
        Some(tried) => {
            let signed_in = &submitted.signed_in;
            let shown = record_page(&state, signed_in, (&car, "", ""), Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
