//! What somebody typed or scanned: the one thing it names, or all of them, or what to do next.

use crate::address;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::limits::SEARCH_CHARS_MAX;
use crate::page::find_more;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Redirect};
use domain::configuration::car_type::CarType;
use domain::configuration::component::PositionRef;
use domain::configuration::host::HostPosition;
use domain::identity::CarNumber;
use domain::ledger::dossier::{ComponentRecord, Documents, PlaceOnCar};
use domain::time::Day;
use serde::Deserialize;
use store::read::View;
use store::read::search::Named;

/// `?q=…`, and `?car=…` where only a position was typed.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct FindQuery {
    #[serde(default)]
    q: String,
    #[serde(default)]
    car: String,
}

#[derive(Template)]
#[template(path = "find/find.html")]
struct FindPage {
    frame: Frame,
    typed: String,
    found: Vec<Found>,
    /// Whether they were found by taking O for 0 and I for 1.
    misread: bool,
    /// Positions of that name on a type of car, whose car is not told.
    on_types: Vec<OnType>,
}

/// What a text names.
pub(crate) struct LookedUp {
    pub(crate) found: Vec<Found>,
    /// Whether they were found by taking O for 0 and I for 1.
    pub(crate) misread: bool,
    on_types: Vec<OnType>,
}

/// Something that what was typed names.
pub(crate) struct Found {
    pub(crate) kind: &'static str,
    pub(crate) name: String,
    pub(crate) href: String,
    /// What tells it from others of that name.
    pub(crate) beside: String,
}

impl Found {
    /// A component with what it is and where: serial numbers are not unique.
    fn component(
        record: &ComponentRecord,
        at: Option<&HostPosition>,
        documents: &Documents,
    ) -> Self {
        let of = &record.component;
        let title = documents.part(&of.part).map(|part| part.title.clone());
        let place = match (record.location(), at) {
            (Some(location), _) => location.to_string(),
            (None, Some(at)) => format!("fitted at {at}"),
            (None, None) => "fitted".to_owned(),
        };
        let now = format!("{}, {place}", record.condition);
        let beside: Vec<String> = title.into_iter().chain([now]).collect();
        Self {
            kind: "component",
            name: of.to_string(),
            href: address::component(of),
            beside: beside.join("; "),
        }
    }
}

/// A position of a type of car.
struct OnType {
    car_type: String,
    code: String,
    title: String,
}

/// `GET /find?q=…`. Ten statements at most.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(query): Query<FindQuery>,
) -> PageResult {
    let short = |text: &str| -> String { text.trim().chars().take(SEARCH_CHARS_MAX).collect() };
    let (q, car) = (short(&query.q), short(&query.car));
    let typed = if car.is_empty() {
        q
    } else {
        format!("{car} {q}")
    };
    let mut view = state.store.view().await?;
    let LookedUp {
        found,
        misread,
        on_types,
    } = look_up(&mut view, &typed, state.today()).await?;
    if let ([only], true) = (found.as_slice(), on_types.is_empty() && !misread) {
        return Ok(Redirect::to(&only.href).into_response());
    }
    page(&FindPage {
        frame: Frame::new(&state, &signed_in),
        typed,
        found,
        misread,
        on_types,
    })
}

/// Looks a text up as everything that it can name. Ten statements at most.
pub(crate) async fn look_up(view: &mut View, typed: &str, today: Day) -> Result<LookedUp, Failure> {
    let mut found = Vec::new();
    if !typed.is_empty() {
        let named = view.named(typed).await?;
        found = things(&named, typed);
        let mut records = named.components;
        records.extend(find_more::by_part_and_serial(view, typed).await?);
        found.extend(components(view, &records).await?);
        found.extend(positions_of_car(view, typed, today).await?);
        found.extend(find_more::by_its_own_name(view, typed).await?);
    }
    let on_types = on_types(&view.documents, typed);
    let misread = found.is_empty() && on_types.is_empty() && !typed.is_empty();
    if misread {
        let records = find_more::misread(view, typed).await?;
        found = components(view, &records).await?;
    }
    Ok(LookedUp {
        misread: misread && !found.is_empty(),
        found,
        on_types,
    })
}

/// Components with where they are. A statement where any of them is fitted.
async fn components(view: &mut View, records: &[ComponentRecord]) -> Result<Vec<Found>, Failure> {
    let places = view.whereabouts(records).await?;
    let found = records
        .iter()
        .map(|record| Found::component(record, places.get(&record.id), &view.documents));
    Ok(found.collect())
}

fn things(named: &Named, typed: &str) -> Vec<Found> {
    let mut found = Vec::new();
    found.extend(named.cars.iter().map(|car| Found {
        kind: "car",
        name: car.to_string(),
        href: address::car(car),
        beside: String::new(),
    }));
    found.extend(named.units.iter().map(|unit| Found {
        kind: "unit",
        name: unit.to_string(),
        href: address::unit(unit),
        beside: String::new(),
    }));
    found.extend(named.trains.iter().map(|train| Found {
        kind: "train",
        name: train.to_string(),
        href: address::train(train),
        beside: String::new(),
    }));
    found.extend(named.batches.iter().map(|part| Found {
        kind: "batch",
        name: format!("{typed} of part {part}"),
        href: address::batch(part, typed),
        beside: "every item of it".to_owned(),
    }));
    found
}

/// A car's number and the name of a position, with a blank between: `4101 B1`. Where several have
/// that name, all of them.
async fn positions_of_car(view: &mut View, typed: &str, today: Day) -> Result<Vec<Found>, Failure> {
    let Some((car, name)) = typed.split_once(char::is_whitespace) else {
        return Ok(Vec::new());
    };
    let Ok(number) = car.parse::<CarNumber>() else {
        return Ok(Vec::new());
    };
    let Some(car) = view.car(&number).await? else {
        return Ok(Vec::new());
    };
    let documents = &view.documents;
    let Some(car_type) = documents.car_type(&car.car, today) else {
        return Ok(Vec::new());
    };
    let codes = documents.places_named(car_type, name).into_iter();
    let found = codes.filter_map(|position| {
        let title = documents.place(car_type, &position)?.position.title;
        let at = PositionRef {
            car: number.clone(),
            position,
        };
        Some(Found {
            kind: "position",
            name: at.to_string(),
            href: address::position(&at),
            beside: title,
        })
    });
    Ok(found.collect())
}

fn on_types(documents: &Documents, typed: &str) -> Vec<OnType> {
    let of_type = |car_type: &CarType| {
        let codes = documents.places_named(car_type, typed).into_iter();
        let places = codes.filter_map(|code| documents.place(car_type, &code));
        let row = |place: PlaceOnCar| OnType {
            car_type: format!("{} revision {}", car_type.name, car_type.revision),
            code: place.position.code.to_string(),
            title: place.position.title,
        };
        places.map(row).collect::<Vec<_>>()
    };
    let known = documents.car_types.values();
    known.flat_map(|known| of_type(&known.document)).collect()
}
