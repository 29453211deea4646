//! A car between two times: its baseline, what was exchanged, moved, fitted, taken off, judged,
//! modified and set otherwise.

use crate::address;
use crate::as_at::{AsAtQuery, Past, Speaks};
use crate::failure::Failure;
use crate::frame::Frame;
use crate::misread::Misread;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use domain::configuration::compared::{Difference, told};
use domain::configuration::component::{ComponentRef, PositionRef};
use domain::identity::CarNumber;
use serde::Deserialize;

/// `?at=…&known=…&then=…&then_known=…`; empty is now.
#[derive(Debug, Default, Clone, Deserialize)]
pub(crate) struct TwoTimes {
    #[serde(default)]
    pub(super) at: String,
    #[serde(default)]
    pub(super) known: String,
    #[serde(default)]
    pub(super) then: String,
    #[serde(default)]
    pub(super) then_known: String,
}

impl TwoTimes {
    /// Reads both.
    pub(crate) fn read(&self, state: &WebState) -> Result<(Speaks, Speaks), Misread> {
        let read = |at: &String, known: &String| {
            let query = AsAtQuery {
                at: at.clone(),
                known: known.clone(),
            };
            query.read(state)
        };
        let before = read(&self.then, &self.then_known)?;
        Ok((before, read(&self.at, &self.known)?))
    }
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

/// One difference of a car.
pub(super) struct Row {
    pub(super) what: String,
    pub(super) at: String,
    pub(super) was: Option<Link>,
    pub(super) is: Option<Link>,
}

/// What is told, with the page that tells it.
pub(super) struct Link {
    pub(super) name: String,
    pub(super) address: String,
}

impl Row {
    /// Each of some differences of a car, in their order.
    pub(super) fn all(differences: &[Difference], car: &CarNumber) -> Vec<Self> {
        differences.iter().map(|one| Self::new(one, car)).collect()
    }

    fn new(difference: &Difference, car: &CarNumber) -> Self {
        match difference {
            Difference::Revised { was, is } => {
                let values = (was.to_string(), is.to_string());
                let at = "the car as a whole".to_owned();
                Self::values("baseline revision", at, values, &address::car(car))
            }
            Difference::Moved {
                from,
                to,
                component,
            } => {
                let both = (Some(component), Some(component));
                Self::components("moved", format!("from {from} to {to}"), both)
            }
            Difference::Exchanged {
                position,
                gone,
                came,
            } => Self::components("exchanged", position.to_string(), (Some(gone), Some(came))),
            Difference::Filled { position, came } => {
                Self::components("fitted", position.to_string(), (None, Some(came)))
            }
            Difference::Emptied { position, gone } => {
                Self::components("taken off", position.to_string(), (Some(gone), None))
            }
            Difference::Judged {
                position,
                component,
                was,
                is,
            } => {
                let values = (told(was.as_ref()), told(is.as_ref()));
                let what = format!("condition of {component}");
                let page = address::component(component);
                Self::values(&what, position.to_string(), values, &page)
            }
            Difference::Modified {
                position,
                component,
                was,
                is,
            } => {
                let values = (told(was.as_ref()), told(is.as_ref()));
                let what = format!("modification state of {component}");
                let page = address::component(component);
                Self::values(&what, position.to_string(), values, &page)
            }
            Difference::Set {
                position,
                setting,
                was,
                is,
            } => {
                let (car, position) = (car.clone(), position.clone());
                let at = PositionRef { car, position };
                let values = (told(was.as_ref()), told(is.as_ref()));
                let page = address::position(&at);
                Self::values(
                    &format!("set: {setting}"),
                    at.position.to_string(),
                    values,
                    &page,
                )
            }
        }
    }

    /// Of which components stood and stand there.
    fn components(
        what: &str,
        at: String,
        (was, is): (Option<&ComponentRef>, Option<&ComponentRef>),
    ) -> Self {
        let link = |component: &ComponentRef| Link {
            name: component.to_string(),
            address: address::component(component),
        };
        Self {
            what: what.to_owned(),
            at,
            was: was.map(link),
            is: is.map(link),
        }
    }

    /// Of something with a value, which a page tells.
    fn values(what: &str, at: String, (was, is): (String, String), page: &str) -> Self {
        let link = |name: String| Link {
            name,
            address: page.to_owned(),
        };
        Self {
            what: what.to_owned(),
            at,
            was: Some(link(was)),
            is: Some(link(is)),
        }
    }
}

/// Of which times is told, in words.
pub(super) fn words(speaks: &Speaks) -> String {
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

/// `GET /cars/{number}/compare`: seven statements, and one more for each time since which the design
/// data was changed.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(number): Path<String>,
    Query(query): Query<TwoTimes>,
) -> PageResult {
    let number: CarNumber = number.parse()?;
    let (before, after) = query.read(&state)?;
    let not_found = || Failure::NotFound {
        what: "car",
        name: number.to_string(),
    };
    let mut view = state.store.view().await?;
    let times = (before.times, after.times);
    let car = view.car_at_either(&number, times).await?;
    let car = car.ok_or_else(not_found)?;
    let between = view.cars_between(&[car], times).await?.pop();
    let between = between.ok_or_else(not_found)?;
    page(&ComparedPage {
        frame: Frame::new(&state, &signed_in),
        before: words(&before),
        after: words(&after),
        rows: Row::all(&between.differences, &number),
        filled: between.filled,
        number,
        query,
    })
}
