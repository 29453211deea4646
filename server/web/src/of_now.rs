//! Pages that tell of now alone. Of another time they are refused, since whoever asks for one would
//! take what is so now for what was so then.

use crate::failure::Failure;
use axum::extract::{MatchedPath, Query, Request};
use axum::http::Method;
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use domain::unreadable::Unreadable;

/// The fields of an address that ask for another time.
const TIMES: [&str; 2] = ["at", "known"];

/// The pages that read these fields: they tell of that time, or refuse it in words of their own.
const READ_THEM: [&str; 40] = [
    "/away",
    "/car-types",
    "/car-types/{name}/{revision}",
    "/carrying",
    "/carrying.csv",
    "/cars",
    "/cars/{number}",
    "/cars/{number}/compare",
    "/components",
    "/components.csv",
    "/components/{part}/{serial}",
    "/components/{part}/{serial}/life",
    "/concessions",
    "/concessions/{number}",
    "/decision",
    "/decision/{page}",
    "/departures",
    "/departures.csv",
    "/due",
    "/due.csv",
    "/due.xlsx",
    "/fleet-checks",
    "/fleet-checks/new",
    "/fleet-checks/{entry}",
    "/fleets/{fleet}",
    "/holds",
    "/isolations",
    "/modifications",
    "/modifications/{number}",
    "/positions/{car}/{code}",
    "/rule-sets",
    "/rule-sets/{name}/{revision}",
    "/test-records/{id}",
    "/trains",
    "/trains/{train}",
    "/trains/{train}/{page}",
    "/units/{unit}",
    "/units/{unit}/compare",
    "/visits",
    "/visits/{number}",
];

const EXPECTED: &str = "nothing: this page tells of now alone. How something was at another time is \
                        told on the page of the car, the unit, the train, the position or the component";

/// Refuses another time for every page that does not read it. Programs are refused what an answer
/// does not know, whatever it is.
pub(crate) async fn alone(request: Request, next: Next) -> Response {
    let path = request.extensions().get::<MatchedPath>();
    let reads = path.is_none_or(|path| {
        let path = path.as_str();
        path.starts_with("/api/") || READ_THEM.contains(&path)
    });
    if reads || request.method() == Method::POST {
        return next.run(request).await;
    }
    match other_time(&request) {
        None => next.run(request).await,
        Some(why) => Failure::from(why).into_response(),
    }
}

/// The first time that an address asks for.
fn other_time(request: &Request) -> Option<Unreadable> {
    let Query(pairs) = Query::<Vec<(String, String)>>::try_from_uri(request.uri()).ok()?;
    TIMES.into_iter().find_map(|time| {
        let asked = pairs
            .iter()
            .find(|(name, text)| name == time && !text.trim().is_empty());
        asked.map(|(_, text)| Unreadable::new(time, text.trim(), EXPECTED))
    })
}
