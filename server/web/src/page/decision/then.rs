//! A train or a formation as it was at a past time: how a train was formed, what was fitted and cut out
//! on it, and what is found about it as at then, also with something supposed. Of the past nothing is
//! decided, recorded or printed as a sheet.

use super::answered::{Answered, rule_sets, train_cars};
use super::beside::WarningRow;
use super::cut_outs::{CutOutRow, Told, cut_outs};
use super::link::{Form, QuestionLink};
use super::positions::{self, CarPositions, SupposedRow};
use super::question::Asking;
use super::verdicts::{self, VerdictBlock};
use super::{CarLine, Findings, Pairs, delivers_nothing, drawn, of_formation, of_train, steps};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::drawing::train_side::{self, Row};
use crate::drawing::wheels::{CockState, Wheel};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::page::further::{Further, head};
use crate::page::named_place::by_codes;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::car::Vehicle;
use domain::decision::answer::answer;
use domain::decision::formation::FormationText;
use domain::decision::{Standing, TrainCar, counted_until};
use domain::identity::TrainId;
use domain::ledger::entry::Seq;
use domain::time::Day;
use domain::unreadable::Unreadable;
use domain::worked::MissingFact;
use futures_util::FutureExt;
use store::read::formations::CarInTrain;
use store::read::{AsAt, View};

#[derive(Template)]
#[template(path = "decision/then.html")]
struct ThenPage {
    frame: Frame,
    speaks: PageSpeaks,
    subject: Subject,
    what_if: bool,
    /// Until when stored air was counted in the verdicts, in words.
    counted_until: Option<String>,
    supposed: Vec<SupposedRow>,
    as_it_stood: String,
    asking: Asking,
    verdicts: Vec<VerdictBlock>,
    warnings: Vec<WarningRow>,
    /// Where there is no answer at all: what is lacking.
    missing: Vec<MissingFact>,
    cut_outs: Vec<CutOutRow>,
    /// The positions that held no component, and those that held an incomplete one.
    vacant: Vec<String>,
    incomplete: Vec<String>,
    cars: Vec<CarLine>,
    drawing: Vec<Row>,
    wheels: [Wheel; 4],
    cocks: [CockState; 6],
    positions: Vec<CarPositions>,
    effects: Option<Findings>,
    /// Whether every step stands unfolded, and the address with them otherwise.
    steps: (bool, String),
    /// The pages with further questions about it as it was: name and address.
    further: Vec<(&'static str, String)>,
    holds: Vec<HoldNote>,
    day: String,
}

/// What the page is about.
struct Subject {
    title: String,
    /// Of a train: its name, when it was formed so, and by which entry.
    train: Option<(TrainId, String, Seq)>,
    /// The trains formed later that cars of it were in by then.
    formed_later: Vec<TrainId>,
}

/// What the page tells of a past time, and what on it is of now all the same.
const OF_TRAIN: (&str, &str) = (
    "how the train was formed, what was fitted and cut out on it, and what the rules of then say of that",
    "It is worked out anew and is no decision. What was decided then, and by whom, stands among the entries about it. What was to be judged again then is not told: the page of the train now tells what is.",
);

/// The same of a formation that an address names.
const OF_FORMATION: (&str, &str) = (
    "what was fitted and cut out on these cars, and what the rules of then say of them as one train",
    "It is worked out anew and is no decision, and they need not have run together. What was to be judged again then is not told.",
);

/// `GET /trains/{train}`: as it stands, or with `?at=…&known=…` as it was.
pub(crate) async fn of_train_at_any_time(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(train): Path<String>,
    Query(mut query): Pairs,
) -> PageResult {
    let times = AsAtQuery::take(&mut query);
    let speaks = times.read(&state)?;
    let Some(as_at) = speaks.then() else {
        let now = of_train(State(state), signed_in, Path(train), Query(query));
        return now.boxed().await;
    };
    let id: TrainId = train.parse()?;
    let of = (&times, &speaks, as_at);
    let shown = train_then((&state, &signed_in), (&id, query), of);
    let shown = shown.boxed().await;
    shown.map_err(|failure| failure.of_train(&id))
}

/// `GET /decision?formation=…`: as it would stand, or with `&at=…&known=…` as it would have stood.
pub(crate) async fn of_formation_at_any_time(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(mut query): Pairs,
) -> PageResult {
    let times = AsAtQuery::take(&mut query);
    let speaks = times.read(&state)?;
    let Some(as_at) = speaks.then() else {
        let now = of_formation(State(state), signed_in, Query(query));
        return now.boxed().await;
    };
    let of = (&times, &speaks, as_at);
    let shown = formation_then((&state, &signed_in), query, of);
    shown.boxed().await
}

/// Answers a question about vehicles as they were, by the design data of the view: at most ten
/// statements.
pub(crate) async fn answered_then(
    view: &mut View,
    (vehicles, link): (&[Vehicle], &QuestionLink),
    (as_at, day): (AsAt, Day),
) -> Result<Answered, Failure> {
    let mut cars = view.formation_told(vehicles, as_at).await??;
    let documents = &view.documents;
    for car in &mut cars {
        documents.as_on(&mut car.record.car, day);
    }
    let answer = answer(
        link.given.clone(),
        train_cars(&cars, documents, day),
        link.supposed.clone(),
        (&rule_sets(documents, day), (as_at.effective, day)),
    )?;
    Ok(Answered { cars, answer })
}

async fn train_then(
    (state, signed_in): (&WebState, &SignedIn),
    (id, mut query): (&TrainId, Vec<(String, String)>),
    (times, speaks, as_at): (&AsAtQuery, &Speaks, AsAt),
) -> PageResult {
    let mut view = speaks.view(state).await?;
    let day = state.zone.day_of(as_at.effective);
    by_codes(&mut view, &mut query, day).await?;
    let link = QuestionLink::read(address::train(id), &query)?.of_times(times.clone());
    if let Some(formation) = link.formation() {
        let expected = "nothing: a train has its own formation";
        return Err(Unreadable::new("formation", formation, expected).into());
    }
    if link.form == Form::Sent {
        return Ok(Redirect::to(&link.same()).into_response());
    }
    let train = view.train_told(id, as_at).await?;
    let train = train.ok_or_else(|| Failure::NotFound {
        what: "train",
        name: id.to_string(),
    })?;
    let subject = Subject {
        title: format!("Train {id}"),
        train: Some((id.clone(), state.zone.show(train.formed_at), train.by)),
        formed_later: view.formed_later_told(&train, as_at).await?,
    };
    let vehicles = &train.formation.vehicles;
    let of = (subject, vehicles.as_slice(), link);
    show((state, signed_in), (&mut view, of), (speaks, as_at)).await
}

async fn formation_then(
    (state, signed_in): (&WebState, &SignedIn),
    mut query: Vec<(String, String)>,
    (times, speaks, as_at): (&AsAtQuery, &Speaks, AsAt),
) -> PageResult {
    let mut view = speaks.view(state).await?;
    let day = state.zone.day_of(as_at.effective);
    by_codes(&mut view, &mut query, day).await?;
    let link = QuestionLink::read("/decision".to_owned(), &query)?.of_times(times.clone());
    if link.form == Form::Sent {
        return Ok(Redirect::to(&link.same()).into_response());
    }
    let formation: FormationText = link.formation().unwrap_or_default().parse()?;
    let vehicles = view.vehicles(&formation).await?;
    let vehicles = vehicles?;
    let subject = Subject {
        title: format!("Formation {formation}"),
        train: None,
        formed_later: Vec::new(),
    };
    let of = (subject, vehicles.as_slice(), link);
    show((state, signed_in), (&mut view, of), (speaks, as_at)).await
}

async fn show(
    (state, signed_in): (&WebState, &SignedIn),
    (view, (subject, vehicles, link)): (&mut View, (Subject, &[Vehicle], QuestionLink)),
    (speaks, as_at): (&Speaks, AsAt),
) -> PageResult {
    let day = state.zone.day_of(as_at.effective);
    let answered = answered_then(view, (vehicles, &link), (as_at, day)).await?;
    let cars: Vec<Seq> = answered.cars.iter().map(|car| car.record.id).collect();
    let holds = view.holds_on_cars_at(&cars, as_at).await?;
    let answer = &answered.answer;
    let decision = answer.decision.as_ref().ok();
    let missing = answer.decision.as_ref().err();
    let kinds = positions::kinds(&answer.cars);
    let nodes = positions::nodes(&kinds, &answer.cars, &link);
    let buttons = positions::buttons(&nodes, &link);
    let clock = (&state.zone, as_at.effective);
    let speaks = page_speaks(&link, speaks);
    let until = decision.and_then(|decision| decision.counted_until);
    let shown = ThenPage {
        frame: Frame::new(state, signed_in),
        subject,
        what_if: link.standing() == Standing::WhatIf,
        counted_until: until.map(|until| counted_until(until, &state.zone)),
        supposed: positions::supposed(&answer.cars, &link),
        as_it_stood: link.as_it_stands(),
        asking: Asking::new(answer, &link),
        verdicts: decision.map_or(Vec::new(), verdicts::blocks),
        warnings: decision.map_or(Vec::new(), |decision| {
            WarningRow::all(decision, &link.times)
        }),
        missing: missing.map_or(Vec::new(), |missing| missing.0.clone()),
        vacant: delivers_nothing(&answered, |car, code| !car.is_incomplete(code)),
        incomplete: delivers_nothing(&answered, TrainCar::is_incomplete),
        cars: answered.cars.iter().map(|car| line(car, &speaks)).collect(),
        cut_outs: cut_outs(&answered, clock, Told::OfThen),
        drawing: train_side::rows(&answer.cars, buttons, decision.and_then(drawn)),
        wheels: Wheel::ALL,
        cocks: CockState::ALL,
        positions: positions::lists(&nodes, &link),
        effects: decision.map(|decision| Findings::of(&answered, decision, &link, clock)),
        steps: steps(&link),
        further: Further::CHOICES
            .map(|(_, name, words)| (words, head::address(&link, &link.same(), name)))
            .into(),
        holds: HoldNote::all(&holds, &state.zone),
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

/// Of which time the page speaks; the form for another one asks the same question.
pub(super) fn page_speaks(link: &QuestionLink, speaks: &Speaks) -> PageSpeaks {
    let now = link.clone().of_times(AsAtQuery::default());
    let what = match now.formation() {
        None => OF_TRAIN,
        Some(_) => OF_FORMATION,
    };
    PageSpeaks::new((&link.times, speaks), now.as_it_stands(), what).keeping(now.pairs())
}

fn line(car: &CarInTrain, speaks: &PageSpeaks) -> CarLine {
    let known = &car.record.car;
    CarLine {
        number: known.number.to_string(),
        href: speaks.at_same(&address::car(&known.number)),
        car_type: format!("{} revision {}", known.car_type, known.revision),
        orientation: car.place.orientation.to_string(),
        record: None,
    }
}
