//! May this train run? The answer about a train or any formation, as it stands or as a what-if,
//! with everything that leads to it.

mod acting;
pub(crate) mod answered;
pub(crate) mod beside;
mod cut_outs;
pub(crate) mod decide;
pub(crate) mod decided;
mod figures;
pub(crate) mod follow;
mod forces;
pub(crate) mod labels;
pub(crate) mod link;
pub(crate) mod losses;
mod parts;
pub(crate) mod positions;
mod question;
mod room;
mod rules_told;
pub(crate) mod sheet;
mod shown;
mod speeds;
pub(crate) mod stored;
pub(crate) mod then;
pub(crate) mod verdicts;

use crate::address;
use crate::as_at::{PageSpeaks, Speaks};
use crate::drawing::train_side::{self, Row};
use crate::drawing::wheels::{CockState, Effects, Wheel};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::page::further::{Further, head};
use crate::page::named_place::by_codes;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use acting::Acting;
use answered::{Answered, answered};
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use beside::WarningRow;
use cut_outs::{CutOutRow, Told, cut_outs};
use domain::circuit::Mode;
use domain::configuration::car::{Train, Vehicle};
use domain::decision::formation::FormationText;
use domain::decision::{CommandedEffect, Decision, Standing, TrainCar};
use domain::identity::{PositionCode, TrainId};
use domain::isolation::Supply;
use domain::isolation::isolable::Isolable;
use domain::ledger::dossier::Formed;
use domain::time::{Instant, Zone};
use domain::unreadable::Unreadable;
use domain::worked::MissingFact;
use figures::{Equipment, Figure};
use forces::ForceFindings;
use link::{Form, QuestionLink};
use losses::{Besides, Elsewhere, LossRow, ModeColumn};
use parts::PartRow;
use positions::{CarPositions, SupposedRow};
use question::Asking;
use shown::Steps;
use speeds::Speeds;
use store::read::View;
use store::read::formations::CarInTrain;
use stored::StoredRow;
use verdicts::VerdictBlock;

/// A query as it was sent, in its order.
pub(crate) type Pairs = Query<Vec<(String, String)>>;

/// Which train the page is about.
struct Subject {
    title: String,
    /// The train, where it is one.
    train: Option<Formed<Train>>,
    /// When it was formed and by which entry, where it is a train.
    formed: Option<(String, String)>,
    /// Trains formed later that have cars of it.
    formed_later: Vec<TrainId>,
}

#[derive(Template)]
#[template(path = "decision/decision.html")]
struct DecisionPage {
    frame: Frame,
    speaks: PageSpeaks,
    subject: Subject,
    what_if: bool,
    supposed: Vec<SupposedRow>,
    as_it_stands: String,
    verdicts: Vec<VerdictBlock>,
    /// What must be known beside the verdicts.
    warnings: Vec<WarningRow>,
    /// Where there is no answer at all: what is lacking.
    missing: Vec<MissingFact>,
    cut_outs: Vec<CutOutRow>,
    /// The positions that hold no component, and those that hold an incomplete one.
    vacant: Vec<String>,
    incomplete: Vec<String>,
    cars: Vec<CarLine>,
    drawing: Vec<Row>,
    wheels: [Wheel; 4],
    cocks: [CockState; 6],
    positions: Vec<CarPositions>,
    asking: Asking,
    effects: Option<Findings>,
    /// Whether every step stands unfolded, and the address with them otherwise.
    steps: (bool, String),
    /// The pages with further questions about the same train: name and address.
    further: Vec<(&'static str, String)>,
    acting: Acting,
    holds: Vec<HoldNote>,
    day: String,
}

/// A car in the list of the formation.
struct CarLine {
    number: String,
    href: String,
    car_type: String,
    orientation: String,
    /// Where a cut-out on it is recorded; none where the page tells of a past time.
    record: Option<String>,
}

/// What was found, beside the verdicts.
struct Findings {
    percentages: Vec<Figure>,
    stopping: Vec<Figure>,
    holding: Figure,
    forces: ForceFindings,
    speeds: Speeds,
    columns: Vec<ModeColumn>,
    losses: Vec<LossRow>,
    /// What must not show that it is released.
    parts: Vec<PartRow>,
    /// Reservoirs that no source feeds any more.
    stored: Vec<StoredRow>,
    elsewhere: Vec<Elsewhere>,
    equipment: Vec<Equipment>,
    /// What is lost besides: load signals and protection against sliding.
    besides: Vec<Besides>,
}

impl Findings {
    fn of(
        answered: &Answered,
        decision: &Decision,
        link: &QuestionLink,
        clock: (&Zone, Instant),
    ) -> Self {
        let cars = &answered.answer.cars;
        Self {
            percentages: figures::percentages(decision),
            stopping: figures::stopping(decision),
            holding: figures::holding(&decision.holding),
            forces: ForceFindings::of(&answered.answer, decision),
            speeds: Speeds::of(decision, link),
            columns: losses::columns(&decision.effects),
            losses: losses::rows(cars, &decision.effects),
            parts: parts::rows(decision),
            stored: stored::rows(answered, &link.supposed, clock),
            elsewhere: losses::elsewhere(cars, &decision.elsewhere),
            equipment: figures::equipment(&decision.equipment),
            besides: losses::besides(decision),
        }
    }
}

/// A train as it stands.
async fn of_train(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(train): Path<String>,
    Query(mut query): Pairs,
) -> PageResult {
    let id: TrainId = train.parse()?;
    // Not a future around this one: what a handler waits for costs the compiler its square.
    let back = |failure: Failure| failure.of_train(&id);
    let mut view = state.store.view().await?;
    by_codes(&mut view, &mut query, state.today())
        .await
        .map_err(back)?;
    let link = QuestionLink::read(address::train(&id), &query).map_err(|why| back(why.into()))?;
    if link.form == Form::Sent {
        return Ok(Redirect::to(&link.same()).into_response());
    }
    if let Some(formation) = link.formation() {
        let expected = "nothing: a train has its own formation";
        return Err(back(
            Unreadable::new("formation", formation, expected).into(),
        ));
    }
    let found = of_train_named(&mut view, &id).await?;
    let later = view.formed_later(&found).await?;
    let subject = Subject {
        title: format!("Train {id}"),
        train: Some(found.clone()),
        formed: Some((state.zone.show(found.formed_at), address::entry(found.by))),
        formed_later: later,
    };
    let vehicles = &found.formation.vehicles;
    let shown = show(&state, &signed_in, (&mut view, vehicles), (subject, link)).await;
    shown.map_err(|failure| failure.of_train(&id))
}

/// A train by its name.
async fn of_train_named(view: &mut View, id: &TrainId) -> Result<Formed<Train>, Failure> {
    view.train(id).await?.ok_or_else(|| Failure::NotFound {
        what: "train",
        name: id.to_string(),
    })
}

/// A formation as an address names it, as it would stand.
async fn of_formation(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(mut query): Pairs,
) -> PageResult {
    let mut view = state.store.view().await?;
    by_codes(&mut view, &mut query, state.today()).await?;
    let link = QuestionLink::read("/decision".to_owned(), &query)?;
    if link.form == Form::Sent {
        return Ok(Redirect::to(&link.same()).into_response());
    }
    let text = link.formation().unwrap_or_default();
    let formation: FormationText = text.parse()?;
    let vehicles = view.vehicles(&formation).await?;
    let vehicles = vehicles?;
    let subject = Subject {
        title: format!("Formation {formation}"),
        train: None,
        formed: None,
        formed_later: Vec::new(),
    };
    show(&state, &signed_in, (&mut view, &vehicles), (subject, link)).await
}

async fn show(
    state: &WebState,
    signed_in: &SignedIn,
    (view, vehicles): (&mut View, &[Vehicle]),
    (subject, link): (Subject, QuestionLink),
) -> PageResult {
    let (now, day) = state.when();
    let answered = answered(view, vehicles, &link, (now, day)).await?;
    let answer = &answered.answer;
    let decision = answer.decision.as_ref().ok();
    let missing = answer.decision.as_ref().err();
    let kinds = positions::kinds(&answer.cars);
    let nodes = positions::nodes(&kinds, &answer.cars, &link);
    let buttons = positions::buttons(&nodes, &link);
    let drawing = train_side::rows(&answer.cars, buttons, decision.and_then(drawn));
    let frame = Frame::new(state, signed_in);
    let what_if = link.standing() == Standing::WhatIf;
    let acting = Acting::read(
        (&frame, &state.zone, (now, day)),
        view,
        (subject.train.as_ref(), &subject.formed_later),
        (&answered, &link),
    )
    .await?;
    let shown = DecisionPage {
        frame,
        speaks: then::page_speaks(&link, &Speaks::now(now)),
        subject,
        what_if,
        supposed: positions::supposed(&answer.cars, &link),
        as_it_stands: link.as_it_stands(),
        verdicts: decision.map_or(Vec::new(), verdicts::blocks),
        warnings: decision.map_or(Vec::new(), |decision| {
            WarningRow::all(decision, &link.times)
        }),
        missing: missing.map_or(Vec::new(), |missing| missing.0.clone()),
        cut_outs: cut_outs(&answered, (&state.zone, now), Told::OfNow),
        vacant: delivers_nothing(&answered, |car, code| !car.is_incomplete(code)),
        incomplete: delivers_nothing(&answered, TrainCar::is_incomplete),
        cars: answered.cars.iter().map(car_line).collect(),
        drawing,
        wheels: Wheel::ALL,
        cocks: CockState::ALL,
        positions: positions::lists(&nodes, &link),
        asking: Asking::new(answer, &link),
        effects: decision
            .map(|decision| Findings::of(&answered, decision, &link, (&state.zone, now))),
        steps: steps(&link),
        further: Further::CHOICES
            .map(|(_, name, words)| (words, head::address(&link, &link.same(), name)))
            .into(),
        acting,
        holds: HoldNote::all(
            answered
                .cars
                .iter()
                .flat_map(|car| view.holds.on_car(&car.record.car.number)),
            &state.zone,
        ),
        day: day.to_string(),
    };
    let response = page(&shown)?;
    if answer.faults.is_empty() {
        Ok(response)
    } else {
        Ok((StatusCode::UNPROCESSABLE_ENTITY, response).into_response())
    }
}

/// Whether every step stands unfolded, and the address with them otherwise.
fn steps(link: &QuestionLink) -> (bool, String) {
    let unfolded = link.shown.steps.are_unfolded();
    let otherwise = if unfolded {
        Steps::Folded
    } else {
        Steps::Every
    };
    (unfolded, link.with_steps(otherwise))
}

/// The effects by which the train is drawn.
fn drawn(decision: &Decision) -> Option<Effects<'_>> {
    let find = |mode: Mode| {
        let is =
            |one: &&CommandedEffect| one.effect.mode == mode && one.effect.supply == Supply::Now;
        decision.effects.iter().find(is).map(|one| &one.effect)
    };
    Some(Effects {
        emergency: find(Mode::Emergency)?,
        holding: find(Mode::Holding)?,
    })
}

/// The positions that hold no component, or an incomplete one, and do something for the brake: of
/// these the ones asked for.
fn delivers_nothing(
    answered: &Answered,
    which: impl Fn(&TrainCar, &PositionCode) -> bool,
) -> Vec<String> {
    let of_car = |car: &TrainCar| {
        let car_type = car.circuit.car_type();
        let codes = car.vacant.iter().filter(|code| which(car, code));
        let empty = codes.filter(|code| Isolable::at(car_type, code).is_some());
        let words = empty.map(|code| format!("car {} {code}", car.number));
        words.collect::<Vec<_>>()
    };
    answered.answer.cars.iter().flat_map(of_car).collect()
}

fn car_line(car: &CarInTrain) -> CarLine {
    let known = &car.record.car;
    CarLine {
        number: known.number.to_string(),
        href: address::car(&known.number),
        car_type: format!("{} revision {}", known.car_type, known.revision),
        orientation: car.place.orientation.to_string(),
        record: Some(address::record_isolation(&known.number)),
    }
}
