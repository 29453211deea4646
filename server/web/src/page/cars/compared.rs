//! A car between two times: what was exchanged, moved, fitted, taken off and set otherwise.

use crate::address;
use crate::as_at::{AsAtQuery, Past, Speaks};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::configuration::compared::{Difference, differences, setting_differences};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::configuration::setting::SettingValue;
use domain::identity::CarNumber;
use serde::Deserialize;
use store::read::settings::settings_told;

/// `?at=…&known=…&then=…&then_known=…`; empty is now.
#[derive(Debug, Default, Clone, Deserialize)]
pub(crate) struct TwoTimes {
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
    #[serde(default)]
    then: String,
    #[serde(default)]
    then_known: String,
}

#[derive(Template)]
#[template(path = "cars/compared.html")]
struct ComparedPage {
    frame: Frame,
    number: CarNumber,
    query: TwoTimes,
    before: String,
    after: String,
    rows: Vec<Row>,
    /// How many positions were filled at the one time and at the other.
    filled: [usize; 2],
}

struct Row {
    what: String,
    at: String,
    was: Option<Link>,
    is: Option<Link>,
}

/// A component with its page.
struct Link {
    name: String,
    address: String,
}

impl Link {
    fn of(component: &ComponentRef) -> Self {
        Self {
            name: component.to_string(),
            address: address::component(component),
        }
    }
}

impl Row {
    fn new(difference: &Difference, car: &CarNumber) -> Self {
        match difference {
            Difference::Moved {
                from,
                to,
                component,
            } => Self {
                what: "moved".to_owned(),
                at: format!("from {from} to {to}"),
                was: Some(Link::of(component)),
                is: Some(Link::of(component)),
            },
            Difference::Exchanged {
                position,
                gone,
                came,
            } => Self {
                what: "exchanged".to_owned(),
                at: position.to_string(),
                was: Some(Link::of(gone)),
                is: Some(Link::of(came)),
            },
            Difference::Filled { position, came } => Self {
                what: "fitted".to_owned(),
                at: position.to_string(),
                was: None,
                is: Some(Link::of(came)),
            },
            Difference::Emptied { position, gone } => Self {
                what: "taken off".to_owned(),
                at: position.to_string(),
                was: Some(Link::of(gone)),
                is: None,
            },
            Difference::Set {
                position,
                setting,
                was,
                is,
            } => {
                let place = PositionRef {
                    car: car.clone(),
                    position: position.clone(),
                };
                let told = |value: &Option<SettingValue>| Link {
                    name: value
                        .as_ref()
                        .map_or_else(|| "not told".to_owned(), ToString::to_string),
                    address: address::position(&place),
                };
                Self {
                    what: format!("set: {setting}"),
                    at: position.to_string(),
                    was: Some(told(was)),
                    is: Some(told(is)),
                }
            }
        }
    }
}

fn words(speaks: &Speaks) -> String {
    match &speaks.past {
        None => "now".to_owned(),
        Some(Past {
            effective,
            known: None,
        }) => format!("at {effective}, by what is known now"),
        Some(Past {
            effective,
            known: Some(known),
        }) => format!("at {effective}, as known at {known}"),
    }
}

/// `GET /cars/{number}/compare`: six statements.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(number): Path<String>,
    Query(query): Query<TwoTimes>,
) -> PageResult {
    let number: CarNumber = number.parse()?;
    let read = |at: &String, known: &String| {
        let query = AsAtQuery {
            at: at.clone(),
            known: known.clone(),
        };
        query.read(&state)
    };
    let before = read(&query.then, &query.then_known)?;
    let after = read(&query.at, &query.known)?;
    let mut view = state.store.view().await?;
    let car = view.car(&number).await?.ok_or_else(|| Failure::NotFound {
        what: "car",
        name: number.to_string(),
    })?;
    let was = view.filled(&car, before.times).await?;
    let is = view.filled(&car, after.times).await?;
    let mut all = differences(&was, &is);
    let filled = [was.len(), is.len()];
    let was = view.places_ever_set(&car, before.times).await?;
    let was = settings_told(&was, before.times.effective);
    let is = view.places_ever_set(&car, after.times).await?;
    let is = settings_told(&is, after.times.effective);
    all.extend(setting_differences(&was, &is));
    page(&ComparedPage {
        frame: Frame::new(&state, &signed_in),
        before: words(&before),
        after: words(&after),
        rows: all.iter().map(|one| Row::new(one, &number)).collect(),
        filled,
        number,
        query,
    })
}
