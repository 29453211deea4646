//! The register for programs: JSON under `/api/v1`, described by an `OpenAPI` document that is
//! made from the same routes. Answers are structs of their own, so that the core may change
//! without breaking a client.

mod amount;
mod away;
mod batches;
mod beside;
mod body;
mod brakes;
mod car;
mod car_compared;
mod carrying;
mod cars;
mod changed;
mod changes;
mod check;
mod compared;
mod component_history;
mod components;
mod concessions;
mod decided;
mod decision;
mod departures;
mod designs;
mod doubts;
mod due;
mod entries;
mod fact_examples;
mod fields;
mod find;
mod fleet_checks;
mod forces;
mod foreseen;
mod found_before;
mod further;
mod holds;
mod ledger;
mod life;
mod modifications;
mod position;
pub(crate) mod problem;
mod rule_sets;
mod session;
mod speeds;
mod test_records;
mod trains;
mod unread;
mod visits;
mod ways_in;

use crate::state::WebState;
use axum::Router;
use axum::http::header;
use axum::response::IntoResponse;
use axum::routing::get;
use std::sync::LazyLock;
use utoipa::OpenApi;
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// Where the `OpenAPI` document is.
pub(crate) const DOCUMENT_PATH: &str = "/api/v1/openapi.json";

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Brake register",
        description = "Configuration, due work and cut-outs of railway brake components. Numbers \
            carry their unit, days are ISO 8601 dates, times are in UTC. What is not known is \
            null or listed as not known, never nought. This register advises; the operator's own \
            rules and the people authorised by them decide.",
        license(name = "MIT")
    ),
    tags(
        (name = "due work", description = "What is due, when, by which limit."),
        (name = "cars", description = "Fleets, cars and units, and what is fitted to them."),
        (name = "components", description = "Single components: life, use, due work."),
        (name = "trains", description = "Trains and the cut-outs in force."),
        (name = "ledger", description = "Recording facts, and entries as kept."),
    )
)]
struct Described;

fn described_routes() -> OpenApiRouter<WebState> {
    OpenApiRouter::with_openapi(Described::openapi())
        .routes(routes!(due::list))
        .routes(routes!(cars::fleets))
        .routes(routes!(cars::list))
        .routes(routes!(car::show))
        .routes(routes!(car_compared::show))
        .routes(routes!(position::show))
        .routes(routes!(cars::unit))
        .routes(routes!(car_compared::unit))
        .routes(routes!(carrying::list))
        .routes(routes!(departures::list))
        .routes(routes!(concessions::list))
        .routes(routes!(modifications::list))
        .routes(routes!(modifications::show))
        .routes(routes!(designs::list))
        .routes(routes!(designs::circuit))
        .routes(routes!(rule_sets::list))
        .routes(routes!(rule_sets::show))
        .routes(routes!(batches::list))
        .routes(routes!(components::show))
        .routes(routes!(away::list))
        .routes(routes!(test_records::show))
        .routes(routes!(find::find))
        .routes(routes!(life::show))
        .routes(routes!(fleet_checks::list))
        .routes(routes!(fleet_checks::show))
        .routes(routes!(visits::list))
        .routes(routes!(visits::show))
        .routes(routes!(holds::list))
        .routes(routes!(trains::isolations))
        .routes(routes!(trains::list))
        .routes(routes!(trains::show))
        .routes(routes!(changes::stream))
        .routes(routes!(check::show))
        .routes(routes!(decision::show))
        .routes(routes!(further::closing::what_to_close))
        .routes(routes!(further::weak_points::find_weak_points))
        .routes(routes!(further::path::show_path))
        .routes(routes!(further::faults::find_faults))
        .routes(routes!(further::revealed::reveal))
        .routes(routes!(session::show))
        .routes(routes!(ledger::list))
        .routes(routes!(entries::record))
        .routes(routes!(foreseen::foresee))
        .routes(routes!(entries::show))
}

/// The `OpenAPI` document.
pub(crate) static DOCUMENT: LazyLock<utoipa::openapi::OpenApi> =
    LazyLock::new(|| fact_examples::complete(ways_in::complete(described_routes().into_openapi())));

/// All paths under `/api/`.
pub(crate) fn routes() -> Router<WebState> {
    let (routes, _) = described_routes().split_for_parts();
    routes.route(DOCUMENT_PATH, get(document))
}

async fn document() -> impl IntoResponse {
    let text = DOCUMENT.to_json().unwrap_or_default();
    ([(header::CONTENT_TYPE, "application/json")], text)
}
