//! Every path of the server, in reading order.

use crate::api::{self, problem};
use crate::page::{
    self, accounts, approvals, car_types, cars, check, components, concessions, decision,
    departures, due, find, fleet_checks, further, holds, isolations, ledger, may_it_run,
    modifications, my_account, positions, refused, rule_sets, sign_in, sign_on, start, tests,
    trains, visits,
};
use crate::state::WebState;
use crate::{asset, failure, guard, limits, of_now, recorded, session};
use axum::Router;
use axum::http::StatusCode;
use axum::middleware;
use axum::routing::{get, post};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::timeout::TimeoutLayer;
use tower_http::trace::TraceLayer;

/// The server as a router, so that tests need no socket of their own.
pub fn router(state: WebState) -> Router {
    Router::new()
        .route("/", get(start::show))
        .merge(running())
        .merge(configuration())
        .merge(baselines())
        .merge(people())
        .route("/due", get(due::show))
        .route("/due.csv", get(due::csv))
        .route("/due.xlsx", get(due::xlsx))
        .route("/ledger", get(ledger::show))
        .route("/ledger.csv", get(ledger::csv))
        .route("/ledger/chain", get(ledger::show_chain))
        .route("/ledger/export", get(ledger::export))
        .route("/ledger/{entry}", get(ledger::show_entry))
        .route(
            "/ledger/{entry}/correct",
            get(ledger::show_correct).post(ledger::correct),
        )
        .route("/ledger/{entry}/withdraw", post(ledger::withdraw))
        .route("/api", get(page::api::show))
        .merge(api::routes())
        .route("/static/{name}", get(asset::serve))
        .layer(middleware::from_fn(of_now::alone))
        .layer(middleware::from_fn_with_state(
            state.clone(),
            recorded::tell,
        ))
        .layer(middleware::from_fn_with_state(
            state.clone(),
            session::attach,
        ))
        .layer(middleware::from_fn_with_state(
            state.clone(),
            guard::loopback_only,
        ))
        .layer(RequestBodyLimitLayer::new(limits::BODY_BYTES_MAX))
        .layer(middleware::from_fn(guard::hear_out))
        .layer(TimeoutLayer::with_status_code(
            StatusCode::SERVICE_UNAVAILABLE,
            limits::REQUEST_TIME_MAX,
        ))
        .layer(CatchPanicLayer::new())
        .layer(middleware::from_fn(problem::everywhere))
        .layer(middleware::from_fn(failure::everywhere))
        .layer(middleware::from_fn(guard::protect))
        .layer(CompressionLayer::new())
        .layer(TraceLayer::new_for_http())
        .with_state(state)
}

/// Trains and cut-outs: may this train run, what is cut out, and what proves it restored.
fn running() -> Router<WebState> {
    Router::new()
        .route("/trains", get(trains::show).post(trains::form))
        .route("/trains/{train}", get(decision::then::of_train_at_any_time))
        .route(
            "/trains/{train}/decide",
            get(decision::decide::show).post(decision::decide::send),
        )
        .route("/decision", get(decision::then::of_formation_at_any_time))
        .route("/may-it-run", get(may_it_run::show))
        .route("/trains/{train}/{page}", get(further::of_train))
        .route("/decision/{page}", get(further::of_formation))
        .route("/decisions/{entry}", get(decision::sheet::show))
        .route("/check", get(check::show))
        .route("/isolations", get(isolations::board::show))
        .route(
            "/isolations/new",
            get(isolations::record::show).post(isolations::record::send),
        )
        .route(
            "/isolations/end",
            get(isolations::end::show).post(isolations::end::send),
        )
        .route("/isolations/checks", post(isolations::checks::send))
        .route("/fleet-checks", get(fleet_checks::list::show))
        .route(
            "/fleet-checks/new",
            get(fleet_checks::new::show).post(fleet_checks::new::send),
        )
        .route("/fleet-checks/{entry}", get(fleet_checks::one::show))
        .route(
            "/fleet-checks/{entry}/answer",
            post(fleet_checks::one::send),
        )
        .route("/visits", get(visits::list::show))
        .route(
            "/visits/new",
            get(visits::new::show).post(visits::new::send),
        )
        .route("/visits/{number}", get(visits::one::show))
        .route("/visits/{number}/plan", post(visits::one::plan))
        .route("/visits/{number}/cancel", post(visits::one::cancel))
        .route("/holds", get(holds::list::show))
        .route("/holds/new", get(holds::set::show).post(holds::set::send))
        .route("/holds/{entry}", get(holds::lift::show))
        .route("/holds/{entry}/lift", post(holds::lift::send))
        .route("/holds/{entry}/propose", post(holds::lift::propose))
        .route("/tests/new", get(tests::new::show).post(tests::new::send))
        .route("/test-records/{id}", get(tests::show::show))
}

/// Who may do what: signing in, accounts, one's own account.
fn people() -> Router<WebState> {
    Router::new()
        .route("/sign-in", get(sign_in::show).post(sign_in::sign_in))
        .route("/sign-out", post(sign_in::sign_out))
        .route("/sign-on", get(sign_on::begin))
        .route("/sign-on/back", get(sign_on::back))
        .route("/sign-on/bind", post(accounts::bind))
        .route("/my-account", get(my_account::show))
        .route("/my-account/password", post(my_account::change_password))
        .route("/my-account/sessions", post(my_account::end_sessions))
        .route("/my-account/tokens", post(my_account::make_token))
        .route("/my-account/tokens/revoke", post(my_account::revoke_token))
        .route("/refused", get(refused::show))
        .route("/rule-sets", get(rule_sets::list::show))
        .route("/rule-sets/{name}/{revision}", get(rule_sets::one::show))
        .route(
            "/rule-sets/{name}/{revision}/revise",
            get(rule_sets::revise::show).post(rule_sets::revise::send),
        )
        .route("/approvals", get(approvals::show))
        .route("/approvals/{entry}", post(approvals::decide))
        .route("/accounts", get(accounts::list).post(accounts::make))
        .route("/accounts/{person}", get(accounts::one))
        .route("/accounts/{person}/roles", post(accounts::give_roles))
        .route("/accounts/{person}/state", post(accounts::set_state))
        .route("/accounts/{person}/password", post(accounts::give_password))
        .route("/accounts/{person}/unbind", post(accounts::unbind))
}

/// Cars, positions and components: what is where, and what happens to it.
fn configuration() -> Router<WebState> {
    Router::new()
        .route("/cars", get(cars::list::show))
        .route("/carrying", get(cars::carrying::show))
        .route("/carrying.csv", get(cars::carrying::csv))
        .route("/cars/{number}", get(cars::car::show))
        .route("/cars/{number}/compare", get(cars::compared::show))
        .route("/units/{unit}/compare", get(cars::unit_compared::show))
        .route("/cars/{number}/readings", post(cars::meters::read))
        .route("/cars/{number}/meters", post(cars::meters::replace))
        .route("/cars/{number}/done", post(cars::meters::done))
        .route("/fleets/{fleet}", get(cars::fleet::show))
        .route("/units/{unit}", get(cars::unit::show))
        .route("/positions/{car}/{code}", get(positions::position::show))
        .route("/positions/{car}/{code}/fit", post(positions::fit))
        .route("/positions/{car}/{code}/remove", post(positions::remove))
        .route("/positions/{car}/{code}/set", post(positions::set))
        .merge(components())
        .route("/find", get(find::show))
}

/// Components, where they are kept and what happens to them.
fn components() -> Router<WebState> {
    Router::new()
        .route("/away", get(components::away::show))
        .route(
            "/locations/new",
            get(components::locations::show).post(components::locations::send),
        )
        .route("/components", get(components::list::show))
        .route("/components.csv", get(components::batch::csv))
        .route(
            "/components/new",
            get(components::receipt::show).post(components::receipt::send),
        )
        .route(
            "/components/{part}/{serial}",
            get(components::component::show),
        )
        .route(
            "/components/{part}/{serial}/life",
            get(components::life::show),
        )
        .route(
            "/components/{part}/{serial}/condition",
            post(components::forms::judge),
        )
        .route(
            "/components/{part}/{serial}/release",
            post(components::forms::release),
        )
        .route(
            "/components/{part}/{serial}/relocate",
            post(components::forms::relocate),
        )
        .route(
            "/components/{part}/{serial}/plate",
            post(components::plates::change),
        )
        .route(
            "/components/{part}/{serial}/fit",
            post(components::places::fit),
        )
        .route(
            "/components/{part}/{serial}/remove",
            post(components::places::take_out),
        )
        .route(
            "/components/{part}/{serial}/move",
            post(components::places::move_on),
        )
        .route(
            "/components/{part}/{serial}/swap",
            post(components::forms::swap),
        )
        .route(
            "/components/{part}/{serial}/done",
            post(components::forms::done),
        )
}

/// Baselines: what is approved where, from when, what departs from it, and what changes it.
fn baselines() -> Router<WebState> {
    Router::new()
        .route("/concessions", get(concessions::list::show))
        .route(
            "/concessions/new",
            get(concessions::new::show).post(concessions::new::send),
        )
        .route("/concessions/{number}", get(concessions::one::show))
        .route(
            "/concessions/{number}/prolong",
            post(concessions::one::prolong),
        )
        .route(
            "/concessions/{number}/withdraw",
            post(concessions::one::withdraw),
        )
        .route("/car-types", get(car_types::list::show))
        .route("/car-types/{name}/{revision}", get(car_types::one::show))
        .route(
            "/car-types/{name}/{revision}/circuit",
            get(car_types::revise::show).post(car_types::revise::send),
        )
        .route(
            "/car-types/{name}/{revision}/approved",
            get(car_types::approved::show_parts).post(car_types::approved::send_parts),
        )
        .route(
            "/car-types/{name}/{revision}/effectivity",
            get(car_types::approved::show_force).post(car_types::approved::send_force),
        )
        .route("/approvals/{entry}/circuit", get(car_types::one::proposed))
        .route("/approvals/{entry}/rule-set", get(rule_sets::one::proposed))
        .route("/rule-sets/kinds", get(rule_sets::kinds::show))
        .route(
            "/rule-sets/new",
            get(rule_sets::new::show).post(rule_sets::new::send),
        )
        .route("/modifications", get(modifications::list::show))
        .route(
            "/modifications/new",
            get(modifications::new::show).post(modifications::new::send),
        )
        .route("/modifications/{number}", get(modifications::one::show))
        .route(
            "/modifications/{number}/embodied",
            post(modifications::one::embodied),
        )
        .route("/departures", get(departures::show))
        .route("/departures.csv", get(departures::csv))
}
