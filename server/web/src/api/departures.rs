//! Departures of cars from their baselines.

use super::components::ComponentBody;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::departure::{Baseline, DepartureQuery, Source, cursor_text, words};
use crate::form::Fields;
use crate::limits::API_PAGE;
use crate::not_there::refuse_not_there;
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use domain::ledger::dossier::Documents;
use domain::time::Day;
use serde::{Deserialize, Serialize};
use store::read::departures::{DepartureFilter, DepartureItem};
use utoipa::{IntoParams, ToSchema};

/// Which departures to list. Fields left out do not narrow the list.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct DepartureParams {
    /// Of cars of this fleet.
    fleet: Option<String>,
    /// Of cars kept at this depot.
    depot: Option<String>,
    /// Of cars of this unit.
    unit: Option<String>,
    /// Of this car.
    car: Option<String>,
    /// Of this kind: `vacant`, `not_approved`, `wrong_modification_state`, `unknown`,
    /// `setting_not_told`, `setting_deviates`, `setting_out_of_range`, `unfit` or `incomplete`.
    kind: Option<String>,
    /// `finding` or `under_concession`.
    standing: Option<String>,
    /// For which this concession is, or was until it ended.
    concession: Option<String>,
    /// Measured by the revisions in force on this day; that of the time told of where it is left
    /// out.
    #[param(format = Date)]
    on: Option<String>,
    /// As it was fitted and set at this time, with its offset from UTC; then of a unit, a car, or a
    /// fleet at a depot with at most 60 cars.
    #[param(format = DateTime)]
    at: Option<String>,
    /// As the register knew it at this time, with its offset from UTC.
    #[param(format = DateTime)]
    known: Option<String>,
    /// Where the page begins: `next` of the page before.
    after: Option<String>,
}

impl DepartureParams {
    fn fields(self) -> Fields {
        let fields = [
            ("fleet", self.fleet),
            ("depot", self.depot),
            ("unit", self.unit),
            ("car", self.car),
            ("kind", self.kind),
            ("standing", self.standing),
            ("concession", self.concession),
            ("on", self.on),
            ("at", self.at),
            ("known", self.known),
            ("after", self.after),
        ];
        let given = fields.into_iter().filter_map(|(name, value)| {
            let value = value?;
            Some((name.to_owned(), value))
        });
        Fields(given.collect())
    }
}

/// A page of departures.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DepartureList {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// The day by whose revisions they are measured.
    #[schema(format = Date)]
    as_on: String,
    /// The departures, by car and position.
    departures: Vec<DepartureBody>,
    /// Where the next page begins, if there is one.
    next: Option<String>,
}

/// A position of a car that departs from the revision in force.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DepartureBody {
    /// The car.
    car: String,
    /// Its unit.
    unit: Option<String>,
    /// Its fleet.
    fleet: String,
    /// Its depot.
    depot: String,
    /// Its type.
    car_type: String,
    /// The revision in force.
    revision: String,
    /// The position, by the codes of all levels.
    position: String,
    /// How it departs.
    #[schema(example = "not_approved")]
    kind: &'static str,
    /// The same in words.
    words: String,
    /// The setting that departs, where it is one.
    setting: Option<String>,
    /// What it is set to, where that is told.
    set_to: Option<String>,
    /// Since which day; none where from the beginning.
    #[schema(format = Date)]
    since: Option<String>,
    /// What is there; none where nothing is.
    component: Option<ComponentBody>,
    /// Its modification state; none where it is not known.
    modification_state: Option<String>,
    /// Its condition.
    condition: Option<&'static str>,
    /// What is approved there, each part with the modification states asked for; of a setting,
    /// the value wanted and what is allowed.
    approved: Vec<String>,
    /// `finding`, or `under_concession` where one in force allows it.
    standing: &'static str,
    /// The concession that is for it, or was until it ended.
    concession: Option<String>,
    /// Its last day.
    #[schema(format = Date)]
    concession_until: Option<String>,
}

impl DepartureBody {
    fn new(item: &DepartureItem, (documents, on): (&Documents, Day)) -> Self {
        let car = &item.car.car;
        let baseline = Baseline::of(item, documents, on);
        let component = item.component.as_ref();
        Self {
            car: car.number.to_string(),
            unit: item.car.unit.as_ref().map(|unit| unit.unit.to_string()),
            fleet: car.fleet.to_string(),
            depot: car.depot.to_string(),
            car_type: car.car_type.to_string(),
            revision: baseline.revision,
            position: item.position.to_string(),
            kind: item.kind.name(),
            words: words(item),
            setting: item.setting.as_ref().map(ToString::to_string),
            set_to: item.set_to.as_ref().map(ToString::to_string),
            since: item.from.map(|from| from.to_string()),
            component: component.map(|there| (&there.component).into()),
            modification_state: component
                .and_then(|there| Some(there.modification.as_ref()?.to_string())),
            condition: component.map(|there| there.condition.name()),
            approved: baseline.approved,
            standing: item.standing(on).name(),
            concession: item
                .concession
                .as_ref()
                .map(|(number, _)| number.to_string()),
            concession_until: item.concession.as_ref().map(|(_, until)| until.to_string()),
        }
    }
}

/// Where cars depart from the baseline in force for them; empty when the fleet conforms.
#[utoipa::path(
    get,
    path = "/api/v1/departures",
    operation_id = "listDepartures",
    tag = "cars",
    params(DepartureParams),
    responses(
        (status = 200, body = DepartureList, description = "As asked"),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(params): Asked<DepartureParams>,
) -> Result<Json<DepartureList>, Problem> {
    let mut query = DepartureQuery::read(params.fields(), &state);
    let mut view = query.speaks.view(&state).await?;
    let source = Source::of(&mut view, &mut query).await?;
    if let Some((field, expected)) = query.errors.first() {
        let given = query.fields.text(field);
        let detail = format!("{field}: “{given}” cannot be read; {expected}");
        return Err(Problem::bad_field(field, detail));
    }
    let filter = DepartureFilter {
        rows: API_PAGE,
        ..query.filter
    };
    let mut items = source.page(&mut view, &filter).await?;
    if items.is_empty() {
        refuse_not_there(&mut view, filter.named()).await?;
    }
    let more = API_PAGE < items.len();
    items.truncate(API_PAGE);
    let last = items.last().filter(|_| more);
    let of = (&*view.documents, filter.on);
    let times = query.speaks.times;
    Ok(Json(DepartureList {
        at: times.effective.to_string(),
        known: times.known.to_string(),
        as_on: filter.on.to_string(),
        next: last.map(|item| cursor_text(&item.cursor)),
        departures: items
            .iter()
            .map(|item| DepartureBody::new(item, of))
            .collect(),
    }))
}
