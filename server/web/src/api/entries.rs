//! Entries of the ledger: one as it is kept, and recording another.

use super::body::Body;
use super::changed::ChangedBody;
use super::components::ComponentBody;
use super::fields::{named as named_field, numbered};
use super::problem::Problem;
use super::unread::unread_field;
use crate::guard;
use crate::page::named_place;
use crate::session::SignedIn;
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use domain::configuration::host::HostPosition;
use domain::identity::PositionCode;
use domain::json;
use domain::ledger::command::Command;
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use domain::people::Actor;
use domain::time::Instant;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::slice::{from_mut, from_ref};
use store::Recorded;
use store::read::View;
use store::read::entries::KeptEntry;
use store::read::sides::Side;
use utoipa::ToSchema;
use uuid::Uuid;

/// The header that brings back the form token of the session.
const FORM_TOKEN: &str = "x-form-token";

/// How many of a kind are told of what each entry of a list changed.
const CHANGED_IN_A_LIST: usize = 30;

/// What is to be recorded.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct EntryRequest {
    /// The sender's identity for it, a UUID: the same sent twice is recorded once.
    #[schema(format = "uuid")]
    id: String,
    /// When the fact became true, with the offset from UTC.
    #[schema(format = DateTime)]
    effective_at: String,
    /// Why it is recorded. Needed for a correction.
    #[serde(default)]
    reason: String,
    /// The entry it corrects. At another time, for another reason, in another condition or on other
    /// evidence it takes its place, and what was recorded since goes on where that can be; what names
    /// another component or place, and a withdrawal, only while nothing later rests on that entry; the
    /// registration that brought a car in, also where it was approved, is withdrawn while nothing else
    /// names the car, and a modification that was issued while nothing else names it.
    #[serde(default)]
    corrects: Option<i64>,
    /// The fact as in the ledger, where a position of a car may be named by any name that is of it
    /// alone: an object with one field, the kind, or the name of a kind
    /// that has no fields. Amounts of meters are whole thousandths of a kilometre or hour.
    #[schema(value_type = Object, example = json!({"reading_taken": {"car": "4101", "meter": "odometer", "value": 183_600_500}}))]
    fact: Value,
}

impl EntryRequest {
    /// The command, with positions of cars by their codes where other names of them are given.
    pub(super) async fn command(mut self, state: &WebState) -> Result<Command, Problem> {
        name_places(state, &self.effective_at, &mut self.fact).await?;
        self.read()
    }

    fn read(self) -> Result<Command, Problem> {
        let id: Uuid = self.id.parse().map_err(|_| {
            let detail = format!("id: “{}” is not a UUID", self.id);
            Problem::bad_field("id", detail)
        })?;
        let effective_at: Instant = named_field("effective_at", &self.effective_at)?;
        let fact = read_fact(&self.fact)?;
        Ok(Command {
            id,
            effective_at,
            reason: self.reason,
            corrects: self.corrects.map(Seq),
            fact,
        })
    }
}

/// A fact, of which every field that was sent is read.
fn read_fact(sent: &Value) -> Result<Fact, Problem> {
    let fact: Fact = json::fit(sent)
        .map_err(|wrong| Problem::bad_field("fact", wrong.within("fact").to_string()))?;
    // A fact that was read from JSON can be written as JSON.
    let read = serde_json::to_value(&fact).unwrap_or_default();
    match unread_field(sent, &read) {
        None => Ok(fact),
        Some(name) => {
            let detail = format!("fact: {name} is no field of this kind of fact");
            Err(Problem::bad_field("fact", detail))
        }
    }
}

/// An entry.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct EntryBody {
    /// Its number.
    number: i64,
    /// The sender's identity for it.
    #[schema(format = "uuid")]
    id: String,
    /// When the register learned it.
    #[schema(format = DateTime)]
    recorded_at: String,
    /// When it became true.
    #[schema(format = DateTime)]
    effective_at: String,
    /// Who recorded it.
    actor: String,
    /// Why.
    reason: String,
    /// The entry it corrects.
    corrects: Option<i64>,
    /// The entry that corrects it.
    corrected_by: Option<i64>,
    /// The kind of fact.
    #[schema(example = "reading_taken")]
    kind: &'static str,
    /// The fact as in the ledger.
    #[schema(value_type = Object)]
    fact: Value,
    /// Both sides of a move or a swap: each component with where it was and where it went.
    sides: Vec<SideBody>,
    /// What it changed beyond what it says; kept with corrections and what was told more than a day
    /// late by people and programs.
    changed: Option<ChangedBody>,
}

impl EntryBody {
    pub(super) fn new(entry: &Entry, corrected_by: Option<Seq>) -> Self {
        Self::with_changed(entry, corrected_by, usize::MAX)
    }

    /// As one of a list: of what it changed the first of each kind.
    pub(super) fn listed(entry: &Entry, corrected_by: Option<Seq>) -> Self {
        Self::with_changed(entry, corrected_by, CHANGED_IN_A_LIST)
    }

    fn with_changed(entry: &Entry, corrected_by: Option<Seq>, most: usize) -> Self {
        let changed = entry.consequences.as_deref();
        Self {
            number: entry.seq.0,
            id: entry.command.to_string(),
            recorded_at: entry.recorded_at.to_string(),
            effective_at: entry.effective_at.to_string(),
            actor: entry.actor.to_string(),
            reason: entry.reason.clone(),
            corrects: entry.corrects.map(|seq| seq.0),
            corrected_by: corrected_by.map(|seq| seq.0),
            kind: entry.fact.kind().name(),
            // A fact that was read from JSON can be written as JSON.
            fact: serde_json::to_value(&entry.fact).unwrap_or_default(),
            sides: Vec::new(),
            changed: changed.map(|told| ChangedBody::first(told, most)),
        }
    }
}

/// A component that an entry moved from one position to another.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct SideBody {
    /// Which one.
    component: ComponentBody,
    /// The position it left; none where it came from a location. An object with `car` or `host`,
    /// and `position`.
    #[schema(value_type = Option<Object>)]
    from: Option<HostPosition>,
    /// The position it went to.
    #[schema(value_type = Object)]
    to: HostPosition,
}

impl From<Side> for SideBody {
    fn from(side: Side) -> Self {
        Self {
            component: (&side.component).into(),
            from: side.from,
            to: side.to,
        }
    }
}

async fn kept(state: &WebState, seq: Seq) -> Result<EntryBody, Problem> {
    let mut view = state.store.view().await?;
    let kept = view.entry(seq).await?;
    let KeptEntry {
        entry,
        corrected_by,
        ..
    } = kept.ok_or_else(|| Problem::not_found("entry", &seq.0))?;
    let mut body = EntryBody::new(&entry, corrected_by);
    add_sides(&mut view, from_ref(&entry), from_mut(&mut body)).await?;
    Ok(body)
}

/// An entry as it was recorded now.
async fn told(state: &WebState, entry: &Entry) -> Result<EntryBody, Problem> {
    let mut body = EntryBody::new(entry, None);
    if has_two_sides(entry) {
        let mut view = state.store.view().await?;
        add_sides(&mut view, from_ref(entry), from_mut(&mut body)).await?;
    }
    Ok(body)
}

fn has_two_sides(entry: &Entry) -> bool {
    matches!(entry.fact, Fact::Moved { .. } | Fact::Swapped { .. })
}

/// Adds both sides to the answers about those entries that have them. One statement, if there are
/// any.
pub(super) async fn add_sides(
    view: &mut View,
    entries: &[Entry],
    bodies: &mut [EntryBody],
) -> Result<(), Problem> {
    let named = entries.iter().filter(|entry| has_two_sides(entry));
    let named: Vec<Seq> = named.map(|entry| entry.seq).collect();
    if named.is_empty() {
        return Ok(());
    }
    let mut sides = view.sides(&named).await?;
    for body in bodies {
        let of_entry = sides.remove(&Seq(body.number)).unwrap_or_default();
        body.sides = of_entry.into_iter().map(SideBody::from).collect();
    }
    Ok(())
}

/// One entry.
#[utoipa::path(
    get,
    path = "/api/v1/entries/{number}",
    operation_id = "showEntry",
    tag = "ledger",
    params(("number" = i64, Path, description = "The entry's number")),
    responses(
        (status = 200, body = EntryBody, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register"
        ),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Path(number): Path<String>,
) -> Result<Json<EntryBody>, Problem> {
    let number = numbered("number", &number)?;
    Ok(Json(kept(&state, Seq(number)).await?))
}

/// Puts the codes of positions of cars where a fact has other names of them.
async fn name_places(
    state: &WebState,
    effective_at: &str,
    fact: &mut Value,
) -> Result<(), Problem> {
    let mut named = Vec::new();
    each_place(fact, &mut |car, position| {
        named.push((car.to_owned(), position.clone()));
    });
    if named.is_empty() {
        return Ok(());
    }
    let at: Instant = named_field("effective_at", effective_at)?;
    let mut view = state.store.view().await?;
    for (car, name) in named {
        let number = named_field("car", &car)?;
        let on = state.zone.day_of(at);
        let place = named_place::place(&mut view, &number, &name, on).await;
        let place = place.map_err(|_| Problem::not_found("car", &car))?;
        let code = place.map_err(|expected| {
            let detail = format!("position: expected {expected}, found “{name}”");
            Problem::bad_field("position", detail)
        })?;
        each_place(fact, &mut |of, position| {
            if of == car && *position == name {
                *position = code.position.to_string();
            }
        });
    }
    Ok(())
}

/// Goes through the places of cars in a fact that are not named by a code.
fn each_place(value: &mut Value, act: &mut dyn FnMut(&str, &mut String)) {
    match value {
        Value::Object(fields) => {
            let car = fields.get("car").and_then(Value::as_str).map(str::to_owned);
            if let (Some(car), Some(Value::String(position))) = (car, fields.get_mut("position"))
                && position.parse::<PositionCode>().is_err()
            {
                act(&car, position);
            }
            for (_, inner) in fields.iter_mut() {
                each_place(inner, act);
            }
        }
        Value::Array(values) => values.iter_mut().for_each(|inner| each_place(inner, act)),
        _ => {}
    }
}

/// Who sends a fact, with the form token of their session or with a token of their own.
pub(super) fn sender(signed_in: &SignedIn, headers: &HeaderMap) -> Result<Actor, Problem> {
    let token = headers.get(FORM_TOKEN).map(HeaderValue::to_str);
    let token = token.and_then(Result::ok).unwrap_or_default();
    guard::form_is_ours(headers, signed_in, token)?;
    Ok(signed_in.actor()?)
}

/// Records a fact, if the register allows it.
///
/// Needs a program's token, or the cookie of a session and its form token. The body has an example
/// of every kind of fact; so is the fact of any entry, as its page shows it.
#[utoipa::path(
    post,
    path = "/api/v1/entries",
    operation_id = "recordEntry",
    tag = "ledger",
    request_body = EntryRequest,
    responses(
        (status = 201, body = EntryBody, description = "Recorded now"),
        (
            status = 200,
            body = EntryBody,
            description = "Recorded before, by this entry; nothing was changed"
        ),
        (
            status = 401,
            body = Problem,
            content_type = "application/problem+json",
            description = "Nobody is signed in"
        ),
        (
            status = 403,
            body = Problem,
            content_type = "application/problem+json",
            description = "The roles or the form token do not allow it"
        ),
        (
            status = 409,
            body = Problem,
            content_type = "application/problem+json",
            description = "An entry stands against it"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read, or the register refuses the fact"
        ),
    )
)]
pub(crate) async fn record(
    State(state): State<WebState>,
    signed_in: SignedIn,
    headers: HeaderMap,
    Body(request): Body<EntryRequest>,
) -> Result<Response, Problem> {
    let actor = sender(&signed_in, &headers)?;
    let command = request.command(&state).await?;
    let (status, body) = match state.store.record(actor, command, state.now()).await? {
        Recorded::Now(entry) => (StatusCode::CREATED, told(&state, &entry).await?),
        Recorded::Before(seq) => (StatusCode::OK, kept(&state, seq).await?),
    };
    let location = format!("/api/v1/entries/{}", body.number);
    Ok((status, [(header::LOCATION, location)], Json(body)).into_response())
}
