//! The page of a position.

use super::departs::Departs;
use super::forms;
use super::inside::Inside;
use super::settings::SettingsShown;
use super::stock::Stock;
use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::campaigns::CampaignNote;
use crate::cars_then::car_there;
use crate::due::words;
use crate::entry_form::{EntryForm, ShownRefusal, Tried, left_over};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::holds::HoldNote;
use crate::page::cars::positions::metres;
use crate::page::components::JudgeAgain;
use crate::page::components::locations::named;
use crate::page::named_place;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::sides::{Sides, of_fitments};
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect};
use domain::configuration::car_type::{CarType, Position};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::identity::{LocationName, PartNumber, PositionCode};
use domain::ledger::dossier::{
    CarRecord, ComponentRecord, Documents, Fitment, IsolationRecord, PlaceOnCar,
};
use domain::people;
use domain::time::Zone;
use domain::unreadable::Unreadable;
use serde::Deserialize;
use std::sync::Arc;
use store::read::due::DueItem;
use store::read::{AsAt, View};

/// `?part=…&serial=…`: a component to be fitted, as the list of what is in stock offers it.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Offered {
    #[serde(default)]
    pub(crate) part: String,
    #[serde(default)]
    pub(crate) serial: String,
}

#[derive(Template)]
#[template(path = "positions/position.html")]
pub(crate) struct PositionPage {
    frame: Frame,
    speaks: PageSpeaks,
    at: PositionRef,
    car: CarRecord,
    car_type: Arc<CarType>,
    position: Position,
    /// The assembly it is inside: where that is on the car, and which it is if one is there.
    inside: Option<(PositionRef, Option<ComponentRef>)>,
    /// Approved parts with what they are.
    approved: Vec<(String, String)>,
    /// What is fitted now.
    now: Option<(Fitment, Option<ComponentRecord>)>,
    /// The due work on it, each with the title of its task.
    due: Vec<(DueItem, String)>,
    in_force: Option<IsolationRecord>,
    /// How it departs from the baseline; told of now alone.
    departs: Vec<Departs>,
    /// Everything that was ever fitted, newest first.
    history: Vec<Fitment>,
    /// Both sides of the entries that moved what was fitted here.
    sides: Sides,
    isolations: Vec<IsolationRecord>,
    stock: Stock,
    campaigns: Vec<CampaignNote>,
    again: Vec<JudgeAgain>,
    holds: Vec<HoldNote>,
    settings: SettingsShown,
    forms: Vec<EntryForm>,
    left_over: Option<ShownRefusal>,
    may_fit: bool,
    zone: Zone,
}

/// `GET /positions/{car}/{code}?at=…&known=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path((car, code)): Path<(String, String)>,
    Query(offered): Query<Offered>,
    Query(query): Query<AsAtQuery>,
) -> PageResult {
    let Ok(at) = position_ref(&car, &code) else {
        return by_another_name(&state, (&car, &code), &query).await;
    };
    page(&position_page(&state, &signed_in, (&at, &query), (&offered, None)).await?)
}

/// Leads from another name of a position, as it was called then, to its page of the same times.
async fn by_another_name(
    state: &WebState,
    (car, name): (&str, &str),
    query: &AsAtQuery,
) -> PageResult {
    let speaks = query.read(state)?;
    let mut view = speaks.view(state).await?;
    let on = state.zone.day_of(speaks.times.effective);
    let named = named_place::place(&mut view, &car.parse()?, name, on).await?;
    match named {
        Ok(at) => {
            let times = [("at", query.at.as_str()), ("known", query.known.as_str())];
            let page = address::with_query(&address::position(&at), times);
            Ok(Redirect::to(&page).into_response())
        }
        Err(expected) => Err(Unreadable::new("position", name, expected).into()),
    }
}

/// A position as its address names it.
pub(crate) fn position_ref(car: &str, code: &str) -> Result<PositionRef, Failure> {
    Ok(PositionRef {
        car: car.parse()?,
        position: code.parse()?,
    })
}

/// A position's car, its type in the revision in force then, and the place on it. A car that was not in the
/// register then is not found.
pub(crate) async fn found(
    view: &mut View,
    at: &PositionRef,
    (speaks, state): (&Speaks, &WebState),
) -> Result<(CarRecord, Arc<CarType>, PlaceOnCar), Failure> {
    let not_found = |what, name: String| Failure::NotFound { what, name };
    let on = state.zone.day_of(speaks.times.effective);
    let car = car_there(view, &at.car, speaks.then()).await?;
    let car = car.ok_or_else(|| not_found("car", at.car.to_string()))?;
    let car_type = view.documents.car_type(&car.car, on).cloned();
    let car_type = car_type.ok_or_else(|| not_found("car type", car.car.car_type.to_string()))?;
    let place = view.documents.place(&car_type, &at.position);
    let place = place.ok_or_else(|| not_found("position", at.to_string()))?;
    Ok((car, car_type, place))
}

/// The page of a position, with a form that was tried and not recorded. Ten statements at most, of them
/// one for its settings, one for how it departs and one where anything was ever to be judged again; of a past
/// time three more.
pub(crate) async fn position_page(
    state: &WebState,
    signed_in: &SignedIn,
    (at, query): (&PositionRef, &AsAtQuery),
    (offered, tried): (&Offered, Option<&Tried>),
) -> Result<PositionPage, Failure> {
    let frame = Frame::new(state, signed_in);
    let speaks = query.read(state)?;
    let mut view = speaks.view(state).await?;
    let (car, car_type, PlaceOnCar { position, inside }) =
        found(&mut view, at, (&speaks, state)).await?;
    let outer = inside.iter().map(|(place, _)| place);
    let codes: Vec<&PositionCode> = outer.chain([&at.position]).collect();
    let asked = (&car, codes.as_slice());
    let mut history = view.history_of_positions(asked, speaks.then()).await?;
    history.reverse();
    let here = |fitment: &Fitment| fitment.at.position == at.position;
    let (history, around): (Vec<_>, Vec<_>) = history.into_iter().partition(here);
    let inside = inside.map(|(place, code)| Inside::of(&car, (place, code), &around));
    let settings = SettingsShown::read(&mut view, (&car, at), (query, state)).await?;
    let isolations = isolations(&mut view, (&car, at), &speaks).await?;
    let open = history.iter().find(|one| one.end.is_none()).cloned();
    let (now, due) = fitted(&mut view, open, (&speaks, state)).await?;
    let holds = match speaks.then() {
        None => holds(&view, at, (now.as_ref(), inside.as_ref()), state),
        Some(as_at) => holds_then(&mut view, (&car, at), as_at, state).await?,
    };
    let free = speaks.past.is_none() && holds.is_empty();
    let may_fit = frame.holds(people::HANDLES_COMPONENTS) && free;
    let vacant = Some(&position).filter(|_| may_fit && now.is_none());
    let stock = Stock::of(&mut view, (vacant, at), state).await?;
    let shown = Shown {
        at,
        parts: &forms::fittable((&view.documents, &position.approved), at, state),
        inside: inside.as_ref(),
        now: now.as_ref().map(|(fitment, _)| fitment),
        locations: &named(&view.documents, state.now()),
        offered,
    };
    let form = shown.form(tried).filter(|_| may_fit);
    let may_set = frame.holds(people::DOES_WORK) && free && now.is_some();
    let set = settings.form(at, tried).filter(|_| may_set);
    let forms: Vec<EntryForm> = form.into_iter().chain(set).collect();
    Ok(PositionPage {
        campaigns: CampaignNote::here(&view.documents, (now.as_ref(), at), (&speaks, &state.zone)),
        approved: approved(&view, &position),
        in_force: isolations.iter().find(|i| i.ended.is_none()).cloned(),
        departs: Departs::of(&mut view, at, (&speaks, state)).await?,
        again: JudgeAgain::here(&mut view, now.as_ref().map(|one| &one.0), &speaks).await?,
        at: at.clone(),
        frame,
        car,
        car_type,
        position,
        inside: inside.map(|inside| (inside.place, inside.assembly)),
        now,
        due: titled(due, &view.documents),
        sides: Sides(view.sides(&of_fitments(&history)).await?),
        history,
        isolations,
        stock,
        holds,
        settings,
        speaks: PageSpeaks::new((query, &speaks), address::position(at), WHAT),
        left_over: left_over(tried, &forms),
        forms,
        may_fit,
        zone: state.zone.clone(),
    })
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = ("what was fitted, set, cut out and held here", "");

/// The cut-outs here, newest first, now or as they were told.
pub(crate) async fn isolations(
    view: &mut View,
    (car, at): (&CarRecord, &PositionRef),
    speaks: &Speaks,
) -> Result<Vec<IsolationRecord>, Failure> {
    let Some(as_at) = speaks.then() else {
        return Ok(view.isolations_at(car, &at.position).await?);
    };
    let mut isolations = view.cut_outs_told(car, as_at).await?;
    isolations.retain(|isolation| isolation.cut_out.at == *at);
    Ok(isolations)
}

/// What is fitted, and the work due on it.
pub(crate) async fn fitted(
    view: &mut View,
    open: Option<Fitment>,
    (speaks, state): (&Speaks, &WebState),
) -> Result<(Option<(Fitment, Option<ComponentRecord>)>, Vec<DueItem>), Failure> {
    let Some(fitment) = open else {
        return Ok((None, Vec::new()));
    };
    let record = view.component_record(&fitment.component).await?;
    let Some(record) = record else {
        return Ok((Some((fitment, None)), Vec::new()));
    };
    let (record, due) = match speaks.then() {
        None => {
            let due = view.due_of_component(record.id, state.today()).await?;
            (Some(record), due)
        }
        Some(as_at) => {
            let told = view.component_then(record.id, as_at).await?;
            let component = &record.component;
            let due = told.due_of(component, (&state.zone, as_at.effective));
            (told.then.component(component).cloned(), due)
        }
    };
    Ok((Some((fitment, record)), due))
}

fn titled(due: Vec<DueItem>, documents: &Documents) -> Vec<(DueItem, String)> {
    let titled = due.into_iter().map(|item| {
        let title = words::title(&item, documents).to_owned();
        (item, title)
    });
    titled.collect()
}

/// The holds on what is at a position, on the assembly it is inside, and on the car.
fn holds(
    view: &View,
    at: &PositionRef,
    (now, inside): (Option<&(Fitment, Option<ComponentRecord>)>, Option<&Inside>),
    state: &WebState,
) -> Vec<HoldNote> {
    let assembly = || inside.and_then(|inside| inside.assembly.as_ref());
    let component = now.map(|(fitment, _)| &fitment.component).or_else(assembly);
    match component {
        Some(one) => HoldNote::all(view.holds.of_component(one, Some(&at.car)), &state.zone),
        None => HoldNote::all(view.holds.of_car(&at.car), &state.zone),
    }
}

/// The same as at a time. What is held stays where it is, so that the hold says where that was.
async fn holds_then(
    view: &mut View,
    (car, at): (&CarRecord, &PositionRef),
    as_at: AsAt,
    state: &WebState,
) -> Result<Vec<HoldNote>, Failure> {
    let mut then = view.holds_on_cars_at(&[car.id], as_at).await?;
    then.retain(|hold| {
        let place = hold.on_car.as_ref().map(|place| &place.position);
        place.is_none_or(|place| at.position == *place || at.position.is_inside(place))
    });
    Ok(HoldNote::all(&then, &state.zone))
}

/// What the form of a position needs.
struct Shown<'a> {
    at: &'a PositionRef,
    parts: &'a [PartNumber],
    inside: Option<&'a Inside>,
    now: Option<&'a Fitment>,
    locations: &'a [LocationName],
    offered: &'a Offered,
}

impl Shown<'_> {
    /// What is fitted can be removed; where nothing is, something can be fitted.
    fn form(&self, tried: Option<&Tried>) -> Option<EntryForm> {
        let form = match (self.now, self.inside) {
            (Some(fitment), _) => forms::remove_form(self.at, &fitment.component, self.locations),
            (None, None) => forms::fit_form(self.at, (self.parts, None), self.offered),
            (None, Some(inside)) => {
                let within = inside.position()?;
                forms::fit_form(self.at, (self.parts, Some(&within)), self.offered)
            }
        };
        Some(form.finish(tried))
    }
}

fn approved(view: &View, position: &Position) -> Vec<(String, String)> {
    let title = |number| {
        let part = view.documents.parts.get(number);
        part.map_or_else(String::new, |part| part.document.title.clone())
    };
    position
        .approved
        .iter()
        .map(|number| (number.to_string(), title(number)))
        .collect()
}

impl PositionPage {
    /// The last time that a position was seen in its normal state before a cut-out.
    fn not_before(&self, isolation: &IsolationRecord) -> Option<String> {
        let seen = isolation.cut_out.not_before?;
        Some(self.zone.show(seen))
    }

    /// Whether another state took the place of one: the position was cut out still.
    fn changed(&self, isolation: &IsolationRecord) -> bool {
        let mut others = self.isolations.iter();
        let ended = isolation.ended;
        ended.is_some_and(|(_, by)| others.any(|other| other.id == by))
    }

    /// The circuit with this position marked, where it is part of it.
    fn circuit(&self) -> Option<String> {
        let mut nodes = self.car_type.circuit.nodes.iter();
        let in_circuit = nodes.any(|node| node.position == self.at.position);
        let unit = self.car.unit.as_ref().map(|membership| &membership.unit);
        in_circuit.then(|| address::circuit(unit, &self.at.car, Some(&self.at.position)))
    }

    fn place(&self) -> String {
        let mut words = vec![format!("{} from end 1", metres(self.position.along_mm))];
        words.extend(
            self.position
                .side
                .map(|side| format!("{side} side, seen from end 1")),
        );
        words.extend(self.position.end.map(|end| match end {
            domain::circuit::End::End1 => "at end 1".to_owned(),
            domain::circuit::End::End2 => "at end 2".to_owned(),
        }));
        words.extend(self.position.bogie.map(|bogie| format!("bogie {bogie}")));
        words.extend(self.position.axle.map(|axle| format!("axle {axle}")));
        words.join("; ")
    }
}
