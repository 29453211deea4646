//! A train as it was at a past time: how it was formed, what was cut out on it, and what is found about it
//! as at then. Of the past nothing is decided, supposed or printed as a sheet.

use super::answered::{Answered, rule_sets, train_cars};
use super::delivers_nothing;
use super::link::QuestionLink;
use super::question::Asking;
use super::verdicts::{self, VerdictBlock};
use super::{Pairs, of_train};
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
use axum::http::StatusCode;
use axum::response::IntoResponse;
use domain::configuration::car::Train;
use domain::decision::answer::answer;
use domain::decision::warning::Warning;
use domain::decision::{Decision, TrainCar};
use domain::identity::TrainId;
use domain::ledger::dossier::{Formed, IsolationRecord};
use domain::ledger::entry::Seq;
use domain::time::{Day, Zone};
use domain::unreadable::Unreadable;
use domain::worked::MissingFact;
use futures_util::FutureExt;
use store::read::formations::CarInTrain;
use store::read::{AsAt, View};

#[derive(Template)]
#[template(path = "decision/then.html")]
struct TrainThenPage {
    frame: Frame,
    speaks: PageSpeaks,
    id: TrainId,
    /// When it was formed so, and by which entry.
    formed: (String, Seq),
    asking: Asking,
    verdicts: Vec<VerdictBlock>,
    warnings: Vec<Warning>,
    /// Where there is no answer at all: what is lacking.
    missing: Vec<MissingFact>,
    cut_outs: Vec<IsolationRecord>,
    /// The positions that held no component, and those that held an incomplete one.
    vacant: Vec<String>,
    incomplete: Vec<String>,
    cars: Vec<CarRow>,
    holds: Vec<HoldNote>,
    zone: Zone,
    day: String,
}

/// A car of the formation.
struct CarRow {
    number: String,
    href: String,
    car_type: String,
    orientation: String,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "how the train was formed, what was fitted and cut out on it, and what the rules of then say of that",
    "It is worked out anew and is no decision. What was decided then, and by whom, stands among the entries about it.",
);

/// `GET /trains/{train}`: as it stands, or with `?at=…&known=…` as it was.
pub(crate) async fn of_train_at_any_time(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(train): Path<String>,
    Query(mut query): Pairs,
) -> PageResult {
    let times = take_times(&mut query);
    let speaks = times.read(&state)?;
    let Some(as_at) = speaks.then() else {
        let now = of_train(State(state), signed_in, Path(train), Query(query));
        return now.boxed().await;
    };
    let id: TrainId = train.parse()?;
    let of = (&times, &speaks, as_at);
    let shown = show((&state, &signed_in), (&id, &query), of).boxed().await;
    shown.map_err(|failure| failure.of_train(&id))
}

/// Takes the two times out of an address.
fn take_times(query: &mut Vec<(String, String)>) -> AsAtQuery {
    let mut times = AsAtQuery::default();
    query.retain(|(name, value)| {
        let time = match name.as_str() {
            "at" => &mut times.at,
            "known" => &mut times.known,
            _ => return true,
        };
        time.clone_from(value);
        false
    });
    times
}

/// Answers a question about a train as it was, by the design data of the view: at most ten statements.
pub(crate) async fn answered_then(
    view: &mut View,
    (train, link): (&Formed<Train>, &QuestionLink),
    (as_at, day): (AsAt, Day),
) -> Result<Answered, Failure> {
    let vehicles = &train.formation.vehicles;
    let mut cars = view.formation_told(vehicles, as_at).await??;
    let documents = &view.documents;
    for car in &mut cars {
        documents.as_on(&mut car.record.car, day);
    }
    let answer = answer(
        link.given.clone(),
        train_cars(&cars, documents, day),
        Vec::new(),
        (&rule_sets(documents, day), (as_at.effective, day)),
    )?;
    Ok(Answered { cars, answer })
}

/// What an address asks of then; nothing is supposed of it.
fn asked_of_then(id: &TrainId, query: &[(String, String)]) -> Result<QuestionLink, Failure> {
    let link = QuestionLink::read(address::train(id), query)?;
    let expected = "nothing: of a past time it is told as it was, with nothing supposed and in its own \
                    formation";
    let supposed = link.supposed.first().map(ToString::to_string);
    let supposed = supposed.map(|supposed| Unreadable::new("supposition", &supposed, expected));
    let formation = link.formation();
    let formation = formation.map(|text| Unreadable::new("formation", text, expected));
    match supposed.or(formation) {
        Some(why) => Err(why.into()),
        None => Ok(link),
    }
}

async fn show(
    (state, signed_in): (&WebState, &SignedIn),
    (id, query): (&TrainId, &[(String, String)]),
    (times, speaks, as_at): (&AsAtQuery, &Speaks, AsAt),
) -> PageResult {
    let link = asked_of_then(id, query)?;
    let mut view = speaks.view(state).await?;
    let train = view.train_told(id, as_at).await?;
    let train = train.ok_or_else(|| Failure::NotFound {
        what: "train",
        name: id.to_string(),
    })?;
    let day = state.zone.day_of(as_at.effective);
    let answered = answered_then(&mut view, (&train, &link), (as_at, day)).await?;
    let cars: Vec<Seq> = answered.cars.iter().map(|car| car.record.id).collect();
    let holds = view.holds_on_cars_at(&cars, as_at).await?;
    let answer = &answered.answer;
    let decision = answer.decision.as_ref().ok();
    let missing = answer.decision.as_ref().err();
    let speaks = PageSpeaks::new((times, speaks), address::train(id), WHAT);
    let shown = TrainThenPage {
        frame: Frame::new(state, signed_in),
        id: id.clone(),
        formed: (state.zone.show(train.formed_at), train.by),
        asking: Asking::new(answer, &link),
        verdicts: decision.map_or(Vec::new(), verdicts::blocks),
        warnings: decision.map_or(Vec::new(), Decision::warnings),
        missing: missing.map_or(Vec::new(), |missing| missing.0.clone()),
        vacant: delivers_nothing(&answered, |car, code| !car.is_incomplete(code)),
        incomplete: delivers_nothing(&answered, TrainCar::is_incomplete),
        cars: answered.cars.iter().map(|car| row(car, &speaks)).collect(),
        cut_outs: cut_outs(&answered.cars),
        holds: HoldNote::all(&holds, &state.zone),
        zone: state.zone.clone(),
        day: day.to_string(),
        speaks,
    };
    let response = page(&shown)?;
    if answer.faults.is_empty() {
        Ok(response)
    } else {
        Ok((StatusCode::UNPROCESSABLE_ENTITY, response).into_response())
    }
}

fn cut_outs(cars: &[CarInTrain]) -> Vec<IsolationRecord> {
    let all = cars.iter().flat_map(|car| &car.isolations);
    all.cloned().collect()
}

fn row(car: &CarInTrain, speaks: &PageSpeaks) -> CarRow {
    let known = &car.record.car;
    CarRow {
        number: known.number.to_string(),
        href: speaks.at_same(&address::car(&known.number)),
        car_type: format!("{} revision {}", known.car_type, known.revision),
        orientation: car.place.orientation.to_string(),
    }
}
