//! A car: what it is, what its meters show, its positions from the side and as a table, what is
//! cut out and what is due. It can speak of the past.

use super::facts::Facts;
use super::inside::Places;
use super::meters::{self, MeterRow};
use super::positions::{CarPositions, DueSummary};
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::campaigns::CampaignNote;
use crate::cars_then::car_told;
use crate::drawing::car_side::CarSide;
use crate::due::words::VoidTests;
use crate::entry_form::{EntryForm, Tried};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::page::components::JudgeAgain;
use crate::page::positions::SettingRow;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::configuration::car_type::{CarType, LoadState};
use domain::configuration::component::{ComponentRef, Condition, PositionRef};
use domain::decision::failed_test::FailedTest;
use domain::due::state::State as DueState;
use domain::identity::{CarNumber, PositionCode};
use domain::isolation::CutOutState;
use domain::ledger::dossier::{CarRecord, IsolationRecord, TestedRecord};
use domain::people;
use domain::time::{Day, Zone};
use std::collections::{HashMap, HashSet};
use std::sync::Arc;
use store::read::View;
use store::read::campaigns::OnCars;
use store::read::cars::Fitted;
use store::read::due::{DueItem, DueOnCar};
use store::read::fleet_checks::AskedOfCar;

/// Rows of due work shown with a car; the due list has them all.
const DUE_SHOWN: usize = 10;

/// The page of a car.
#[derive(Template)]
#[template(path = "cars/car.html")]
pub(crate) struct CarPage {
    frame: Frame,
    number: CarNumber,
    car: CarRecord,
    car_type: Option<Arc<CarType>>,
    masses: Vec<(LoadState, Option<String>)>,
    speaks: PageSpeaks,
    side: Option<CarSide>,
    positions: Vec<PositionRow>,
    /// Fitted where the baseline in force has no position.
    elsewhere: Vec<PositionRow>,
    /// The settings asked for, with what is told of them.
    settings: Vec<SettingRow>,
    in_force: Vec<IsolationRecord>,
    /// The tests that were failed with which the end of a cut-out is not proved.
    unproved: Vec<FailedTest>,
    /// The open checks of the fleet that ask it; of a past time none.
    checks: Vec<AskedOfCar>,
    /// The modifications that still concern it or anything on it; of a past time none.
    campaigns: Vec<CampaignNote>,
    /// What on it is to be judged again; of a past time none.
    again: Vec<JudgeAgain>,
    meters: Vec<MeterRow>,
    due: Vec<DueNext>,
    void_tests: Vec<VoidTests>,
    /// How many tasks have a limit that cannot be told.
    due_unknown: usize,
    tests: Vec<TestedRecord>,
    holds: Vec<HoldNote>,
    may_hold: bool,
    forms: Vec<EntryForm>,
    today: Day,
    zone: Zone,
}

impl CarPage {
    /// The circuit of this car in its unit.
    fn circuit(&self) -> String {
        let unit = self.car.unit.as_ref().map(|membership| &membership.unit);
        address::circuit(unit, &self.number, None)
    }

    /// The due list of this car, of one state or all, of the same times.
    fn due_list(&self, state: &str) -> String {
        let AsAtQuery { at, known } = &self.speaks.query;
        let fields = [
            ("car", self.number.as_str()),
            ("state", state),
            ("at", at.as_str()),
            ("known", known.as_str()),
        ];
        address::with_query("/due", fields)
    }
}

/// A row of the table of positions.
struct PositionRow {
    at: PositionRef,
    title: String,
    fitted: Option<FittedRow>,
    cut_out: Option<CutOutState>,
    due: Option<DueSummary>,
}

struct FittedRow {
    component: ComponentRef,
    since: String,
    condition: Condition,
}

/// Work that is due next.
struct DueNext {
    due: DueOnCar,
    /// What it is done on; none for the car as a whole.
    component: Option<ComponentRef>,
}

/// `GET /cars/{number}?at=…&known=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(number): Path<String>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let number = number.parse()?;
    page(&car_page(&state, &signed_in, (&number, &query), None).await?)
}

/// The page of a car, with a form that was tried and not recorded. Eight statements,
/// one more where its baseline asks for settings, one where any modification was issued, one where anything
/// was ever to be judged again, and three where a test of it was failed; of a past time at most twenty-one, and as many more then.
pub(crate) async fn car_page(
    state: &WebState,
    signed_in: &SignedIn,
    (number, query): (&CarNumber, &AsAtQuery),
    tried: Option<&Tried>,
) -> Result<CarPage, Failure> {
    let speaks = query.read(state)?;
    let mut view = speaks.view(state).await?;
    let found = car_told(&mut view, number, speaks.then()).await?;
    let (mut car, meters) = found.ok_or_else(|| Failure::NotFound {
        what: "car",
        name: number.to_string(),
    })?;
    let mut fitted = view.fitted(&car, speaks.times).await?;
    let facts = match speaks.then() {
        None => Facts::now(&mut view, (&car, meters), state).await?,
        Some(_) => Facts::then(&mut view, (&car, &mut fitted), &speaks, &state.zone).await?,
    };
    let on = state.zone.day_of(speaks.times.effective);
    let asked = view.documents.places_with_settings(&car.car, on);
    let set = view
        .places_with_settings(&car, &asked, speaks.times)
        .await?;
    let car_type = view.documents.car_type(&car.car, on).cloned();
    view.documents.as_on(&mut car.car, on);
    let (side, positions) = match &car_type {
        Some(car_type) => {
            let places = Places::new(&view.documents, car_type, &fitted);
            positions(&car, (car_type, &places), (&fitted, &facts), &state.zone)
        }
        None => (None, Vec::new()),
    };
    let holds = holds(&mut view, &car, &speaks, &state.zone).await?;
    let on_car = OnCars::Car(number);
    let campaigns = CampaignNote::on(&mut view, on_car, (&speaks, &state.zone)).await?;
    let frame = Frame::new(state, signed_in);
    let forms = if speaks.past.is_some() {
        Vec::new()
    } else {
        forms(&frame, &view, &car, tried)
    };
    let unknown = |item: &&DueOnCar| item.state == DueState::Unknown;
    Ok(CarPage {
        masses: car_type.as_deref().map_or_else(Vec::new, masses),
        elsewhere: elsewhere((number, &state.zone), &positions, &fitted),
        due_unknown: facts.due.iter().filter(unknown).count(),
        void_tests: VoidTests::of_car(&facts.due),
        due: due_next(&facts.due, &fitted),
        settings: SettingRow::all(number, (&asked, &set), (&speaks, &state.zone)),
        in_force: facts.in_force,
        unproved: facts.unproved,
        checks: facts.checks,
        campaigns,
        again: facts.again,
        meters: MeterRow::all(&facts.meters, &state.zone),
        tests: facts.tests,
        number: number.clone(),
        holds,
        may_hold: frame.holds(people::HOLDS_EVIDENCE) && speaks.past.is_none(),
        frame,
        car,
        car_type,
        speaks: PageSpeaks::new((query, &speaks), address::car(number), TOLD),
        side,
        positions,
        forms,
        today: state.today(),
        zone: state.zone.clone(),
    })
}

/// What the page tells of a past time, and what on it is of now all the same.
const TOLD: (&str, &str) = (
    "what was fitted, run, cut out, held and due",
    "Its depot is that of now; checks of the fleet, modifications and what is to be judged again are told on the page of now.",
);

/// The holds on the car and on what is on it, now or as at a time.
async fn holds(
    view: &mut View,
    car: &CarRecord,
    speaks: &Speaks,
    zone: &Zone,
) -> Result<Vec<HoldNote>, Failure> {
    if speaks.past.is_none() {
        return Ok(HoldNote::all(view.holds.on_car(&car.car.number), zone));
    }
    let then = view.holds_on_cars_at(&[car.id], speaks.times).await?;
    Ok(HoldNote::all(&then, zone))
}

/// A row of the due list as the pages of cars have it.
pub(crate) fn on_car(item: DueItem, car: &CarNumber) -> DueOnCar {
    DueOnCar {
        car: car.clone(),
        position: item.position,
        task: item.task,
        forecast: item.forecast,
        state: item.state,
    }
}

/// The first of what is due.
fn due_next(due: &[DueOnCar], fitted: &[Fitted]) -> Vec<DueNext> {
    let next = |due: &DueOnCar| DueNext {
        due: due.clone(),
        component: due.position.as_ref().and_then(|position| {
            let at = |fitted: &&Fitted| fitted.position == *position;
            let fitted = fitted.iter().find(at)?;
            Some(fitted.component.clone())
        }),
    };
    due.iter().take(DUE_SHOWN).map(next).collect()
}

fn masses(car_type: &CarType) -> Vec<(LoadState, Option<String>)> {
    LoadState::ALL
        .iter()
        .map(|&load| (load, car_type.mass(load).map(|mass| mass.to_string())))
        .collect()
}

fn fitted_row(fitted: &Fitted, zone: &Zone) -> FittedRow {
    FittedRow {
        component: fitted.component.clone(),
        since: zone.day_of(fitted.from).to_string(),
        condition: fitted.condition,
    }
}

fn positions(
    car: &CarRecord,
    (car_type, places): (&CarType, &Places<'_>),
    (fitted, facts): (&[Fitted], &Facts),
    zone: &Zone,
) -> (Option<CarSide>, Vec<PositionRow>) {
    let at: HashMap<_, _> = fitted.iter().map(|one| (&one.position, one)).collect();
    let number = &car.car.number;
    let standings = CarPositions {
        car_type,
        filled: at.keys().map(|code| code.as_str()).collect(),
        in_force: facts.in_force.iter().collect(),
        due: facts.due.iter().collect(),
    }
    .standings();
    let drawn = standings.iter().map(|standing| standing.drawn(number));
    let side = CarSide::new(car_type, drawn.collect());
    let mut due_at: HashMap<&PositionCode, Vec<&DueOnCar>> = HashMap::new();
    for item in &facts.due {
        if let Some(position) = &item.position {
            due_at.entry(position).or_default().push(item);
        }
    }
    let row = |position: &PositionCode, title: &str| PositionRow {
        at: PositionRef {
            car: number.clone(),
            position: position.clone(),
        },
        title: title.to_owned(),
        fitted: at.get(position).map(|fitted| fitted_row(fitted, zone)),
        cut_out: None,
        due: due_at
            .get(position)
            .and_then(|items| DueSummary::of(items.iter().copied())),
    };
    let rows = standings.into_iter().flat_map(|standing| {
        let position = standing.position;
        let inner = places.inside(&position.code);
        let listed = PositionRow {
            cut_out: standing.cut_out,
            ..row(&position.code, &position.title)
        };
        let inner = inner.into_iter().map(|(code, title)| row(&code, title));
        std::iter::once(listed).chain(inner.collect::<Vec<_>>())
    });
    (Some(side), rows.collect())
}

/// What is fitted at none of the positions shown.
fn elsewhere(
    (car, zone): (&CarNumber, &Zone),
    shown: &[PositionRow],
    fitted: &[Fitted],
) -> Vec<PositionRow> {
    let shown: HashSet<&PositionCode> = shown.iter().map(|row| &row.at.position).collect();
    let elsewhere = fitted.iter().filter(|one| !shown.contains(&one.position));
    let row = |fitted: &Fitted| PositionRow {
        at: PositionRef {
            car: car.clone(),
            position: fitted.position.clone(),
        },
        title: String::new(),
        fitted: Some(fitted_row(fitted, zone)),
        cut_out: None,
        due: None,
    };
    elsewhere.map(row).collect()
}

/// What may be recorded. On a held car a meter is still read; nothing else is done.
fn forms(frame: &Frame, view: &View, car: &CarRecord, tried: Option<&Tried>) -> Vec<EntryForm> {
    let number = &car.car.number;
    let tasks = view.documents.tasks_of_car_type(&car.car.car_type);
    let free = view.holds.of_car(number).next().is_none();
    let mut forms = Vec::new();
    if frame.holds(people::READS_METERS) {
        forms.push(meters::reading_form(number, tried));
        if free {
            forms.push(meters::replacement_form(number, tried));
        }
    }
    let untouched = view.holds.on_car(number).next().is_none();
    if frame.holds(people::DOES_WORK) && !tasks.is_empty() && untouched {
        forms.push(meters::done_form(number, tasks, tried));
    }
    forms
}
