//! Trains: how they are formed and how many cut-outs are in force on them, or how they were formed at a
//! past time; forming one, and asking about a formation that is none.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::entry_form::{EntryForm, Field, Tried, dated, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Submitted};
use crate::frame::Frame;
use crate::page::decision::answered::rule_sets;
use crate::page::decision::decided::{self, DecidedLine};
use crate::page::isolations::board::ENDED_DAYS;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::car::{Orientation, Train, Vehicle};
use domain::decision::formation::FormationText;
use domain::identity::TrainId;
use domain::ledger::dossier::{DecisionRecord, Formed};
use domain::ledger::fact::Fact;
use domain::people::FORMS_TRAINS;
use domain::time::Zone;
use store::read::then::TrainTold;
use store::read::trains::{EndedBecause, TRAINS_MAX};

#[derive(Template)]
#[template(path = "trains/list.html")]
struct TrainsPage {
    frame: Frame,
    trains: Vec<TrainRow>,
    /// Those of which cars are in a train formed later.
    superseded: Vec<TrainRow>,
    /// Whether there are more than [`TRAINS_MAX`].
    more: bool,
    form: Option<EntryForm>,
    speaks: PageSpeaks,
}

/// Trains as they were formed at a past time.
#[derive(Template)]
#[template(path = "trains/then.html")]
struct TrainsThenPage {
    frame: Frame,
    trains: Vec<ThenRow>,
    /// How many more there were.
    more: usize,
    speaks: PageSpeaks,
    zone: Zone,
}

struct ThenRow {
    told: TrainTold,
    vehicles: String,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "how trains were formed",
    "What was cut out on one, and what the rules of then say of it, stands on its page.",
);

struct TrainRow {
    name: String,
    href: String,
    vehicles: String,
    formed_at: String,
    entry: String,
    /// The cut-outs in force on it, if there are any.
    cut_outs: Option<CutOuts>,
    /// The last decision about it, or one about the former train of its cars, which became void as it was
    /// formed. One about it that is void is told where there are any, and for a day.
    decided: Option<DecidedLine>,
    /// Whether a failed test speaks against the end of a cut-out on it.
    not_proved: bool,
    /// The trains formed later that cars of it are in: where they run now.
    later: Vec<(String, String)>,
}

/// The cut-outs in force on a train.
struct CutOuts {
    count: i64,
    /// Since when the newest of them is in force.
    last_since: String,
}

/// `GET /trains?at=…&known=…`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(asked): Query<AsAtQuery>,
) -> PageResult {
    let speaks = asked.read(&state)?;
    let Some(as_at) = speaks.then() else {
        return page(&trains_page(&state, &signed_in, None).await?);
    };
    let mut view = speaks.view(&state).await?;
    let row = |told: TrainTold| ThenRow {
        vehicles: in_words(&told.train.formation.vehicles),
        told,
    };
    let told = view.trains_told(as_at).await?;
    page(&TrainsThenPage {
        frame: Frame::new(&state, &signed_in),
        trains: told.trains.into_iter().map(row).collect(),
        more: told.more,
        speaks: PageSpeaks::new((&asked, &speaks), "/trains".to_owned(), WHAT),
        zone: state.zone.clone(),
    })
}

/// The page, with a form that was tried and not recorded. Seven statements, and one more where anything was
/// ever to be judged again.
async fn trains_page(
    state: &WebState,
    signed_in: &SignedIn,
    tried: Option<&Tried>,
) -> Result<TrainsPage, Failure> {
    let mut view = state.store.view().await?;
    let mut trains = view.trains().await?;
    let more = TRAINS_MAX < trains.len();
    trains.truncate(TRAINS_MAX);
    let cut_outs = view.cut_outs_by_train().await?;
    let later = view.superseded().await?;
    let decisions = view.last_decisions().await?;
    let doubted = view.doubted().await?;
    let since = state.now().earlier_by_days(ENDED_DAYS);
    let ended = view.ended_since(since).await?;
    let in_force = rule_sets(&view.documents, state.today());
    let clock = (&state.zone, state.now());
    let row = |train: &Formed<Train>| {
        let id = &train.formation.id;
        let last = decided::last(&decisions, (id, train.by));
        let is_told = |last: &&DecisionRecord| {
            let of_now = cut_outs.contains_key(id) || ended.contains_key(id);
            of_now || last.void.is_none() || last.taken.train != *id
        };
        let mut decided = last.filter(is_told).map(|record| {
            let mut line = decided::line(record, id, &in_force, clock);
            line.doubted = decided::doubted_since(record, &doubted);
            line
        });
        let others = later.get(id).map_or(&[][..], Vec::as_slice);
        if let Some(line) = &mut decided {
            line.void = line.void.take().or_else(|| decided::elsewhere(others));
        }
        TrainRow {
            name: id.to_string(),
            href: address::train(id),
            vehicles: in_words(&train.formation.vehicles),
            formed_at: state.zone.show(train.formed_at),
            entry: address::entry(train.by),
            cut_outs: cut_outs.get(id).map(|found| CutOuts {
                count: found.count,
                last_since: state.zone.show(found.last_since),
            }),
            not_proved: ended.get(id) == Some(&EndedBecause::FailedTest),
            decided,
            later: others
                .iter()
                .map(|other| (address::train(other), other.to_string()))
                .collect(),
        }
    };
    let (now, before): (Vec<_>, Vec<_>) = trains
        .iter()
        .map(row)
        .partition(|train| train.later.is_empty());
    let frame = Frame::new(state, signed_in);
    let form = frame.holds(FORMS_TRAINS).then(|| forming().finish(tried));
    Ok(TrainsPage {
        frame,
        trains: now,
        superseded: before,
        more,
        form,
        speaks: PageSpeaks::new(
            (&AsAtQuery::default(), &Speaks::now(state.now())),
            "/trains".to_owned(),
            WHAT,
        ),
    })
}

fn in_words(vehicles: &[Vehicle]) -> String {
    let word = |vehicle: &Vehicle| {
        let (name, orientation) = match vehicle {
            Vehicle::Unit(unit, orientation) => (unit.to_string(), orientation),
            Vehicle::Car(car, orientation) => (format!("car {car}"), orientation),
        };
        match orientation {
            Orientation::Forward => name,
            Orientation::Reversed => format!("{name} reversed"),
        }
    };
    vehicles.iter().map(word).collect::<Vec<_>>().join(", ")
}

fn forming() -> EntryForm {
    let mut form = EntryForm::new("form", "/trains", "Form a train, or form one anew");
    // A path below that of all trains would be that of a train.
    "/trains".clone_into(&mut form.action);
    form.button("Record the formation")
        .ask(
            Field::text("train", "Train")
                .hint("A new name, or that of a train whose formation has changed.")
                .required(),
        )
        .ask(
            Field::text("formation", "Units and cars, from the front")
                .hint("As TM3-001, TM3-002 reversed, 4107. Reversed: its last car, or end 2, in front.")
                .required(),
        )
}

async fn read(state: &WebState, fields: &Fields) -> Result<(Option<Fact>, FieldErrors), Failure> {
    let mut errors = FieldErrors::default();
    let id: Option<TrainId> = fields.required("train", &mut errors);
    let formation: Option<FormationText> = fields.required("formation", &mut errors);
    let mut vehicles = Vec::new();
    if let Some(formation) = formation {
        match state.store.view().await?.vehicles(&formation).await? {
            Ok(known) => vehicles = known,
            Err(unresolved) => errors.add("formation", unresolved.to_string()),
        }
    }
    let formed = id.map(|id| Fact::TrainFormed(Train { id, vehicles }));
    Ok((formed, errors))
}

/// `POST /trains`
pub(crate) async fn form(State(state): State<WebState>, submitted: Submitted) -> PageResult {
    let fields = &submitted.fields;
    let read = read(&state, fields).await?;
    match record(&state, &submitted, "form", &dated(fields, read)).await? {
        None => {
            let id: TrainId = fields.text("train").parse()?;
            Ok(Redirect::to(&address::train(&id)).into_response())
        }
        Some(tried) => {
            let shown = trains_page(&state, &submitted.signed_in, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
