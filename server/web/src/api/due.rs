//! Due work.

use super::amount::{AmountBody, ReadingBody};
use super::changed::DoubtBody;
use super::components::ComponentBody;
use super::concessions::ConcessionBody;
use super::modifications::CampaignBody;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::due::campaigns::campaigns;
use crate::due::doubted::doubted;
use crate::due::ending::ending;
use crate::due::query::{DueQuery, cursor_text};
use crate::due::source::Source;
use crate::due::words;
use crate::form::Fields;
use crate::limits::API_PAGE;
use crate::state::WebState;
use axum::Json;
use axum::extract::State;
use domain::configuration::component::Subject;
use domain::due::task::Metric;
use domain::ledger::dossier::Documents;
use domain::time::Day;
use serde::{Deserialize, Serialize};
use store::read::due::{DueFilter, DueItem};
use utoipa::{IntoParams, ToSchema};

/// Which due work to list. Fields left out do not narrow the list.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub(crate) struct DueParams {
    /// `on_cars`, or `off_cars` for what is in stores and workshops, with a contractor or in transit,
    /// which is of no fleet, depot, unit or car. Without it, both.
    place: Option<String>,
    /// On cars of this fleet.
    fleet: Option<String>,
    /// On cars kept at this depot.
    depot: Option<String>,
    /// On cars of this unit.
    unit: Option<String>,
    /// On this car.
    car: Option<String>,
    /// On components of this part.
    part: Option<String>,
    /// In this state: `no_date`, `not_due`, `in_window`, `due`, `in_late_tolerance`, `unknown` or `overdue`.
    /// Without it, all work with a date. Work whose date cannot be told is asked for by
    /// `unknown`, work that has none though nothing is lacking by `no_date`; both end the list of
    /// a car or a unit.
    state: Option<String>,
    /// Due on or before this day, as 2026-12-31.
    #[param(format = Date)]
    until: Option<String>,
    /// Where the page begins: `next` of the page before.
    after: Option<String>,
    /// As it was due at this time, with its offset from UTC; then of a unit, a car, or a fleet at a
    /// depot with at most 60 cars, and of what was on them; or of the components of a part alone, of
    /// which there were at most 600, on cars and off them.
    #[param(format = DateTime)]
    at: Option<String>,
    /// As the register knew it at this time, with its offset from UTC.
    #[param(format = DateTime)]
    known: Option<String>,
}

impl DueParams {
    fn fields(self) -> Fields {
        let fields = [
            ("place", self.place),
            ("fleet", self.fleet),
            ("depot", self.depot),
            ("unit", self.unit),
            ("car", self.car),
            ("part", self.part),
            ("state", self.state),
            ("until", self.until),
            ("after", self.after),
            ("at", self.at),
            ("known", self.known),
        ];
        let given = fields.into_iter().filter_map(|(name, value)| {
            let value = value?;
            Some((name.to_owned(), value))
        });
        Fields(given.collect())
    }
}

/// A page of due work.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DueList {
    /// The day by which states are told.
    #[schema(format = Date)]
    as_on: String,
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// Concessions that end by the day asked for, by default within 60 days, and those that have
    /// ended with something still under them, by their last day; on the first page of now.
    ending_concessions: Vec<ConcessionBody>,
    /// Modifications whose last day comes by the day asked for, by default within 60 days, or is over, and
    /// that are not embodied everywhere there, by their last day; on the first page of now.
    campaigns: Vec<CampaignBody>,
    /// Components that are to be judged again there: somebody judged them, or took them out of an
    /// assembly, without knowing what was told after; on the first page of now.
    judge_again: Vec<DoubtBody>,
    /// The work, by the day it is due.
    due: Vec<DueBody>,
    /// Where the next page begins, if there is one.
    next: Option<String>,
}

/// One task of one component or car.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct DueBody {
    /// The task's code.
    task: String,
    /// What is done.
    title: String,
    /// How it stands.
    #[schema(example = "overdue")]
    state: &'static str,
    /// The day it is due; none where no limit gives a date.
    #[schema(format = Date)]
    due_on: Option<String>,
    /// The day it is due if meters run at their fast rate.
    #[schema(format = Date)]
    early: Option<String>,
    /// The day it is due if meters run at their slow rate.
    #[schema(format = Date)]
    late: Option<String>,
    /// The day from which the work counts as done for this due point.
    #[schema(format = Date)]
    window_opens: Option<String>,
    /// The last day within tolerance; none of what is due at once.
    #[schema(format = Date)]
    latest: Option<String>,
    /// The limit that sets the day; none where the work is due at once.
    limit: Option<LimitBody>,
    /// Why it is due at once, if it is.
    at_once: Option<AtOnceBody>,
    /// What is not known. Where there is any, the work may be due earlier than `due_on`.
    not_known: Vec<LackBody>,
    /// The component it is done on; none for a car as a whole.
    component: Option<ComponentBody>,
    /// The car it is on.
    car: Option<String>,
    /// That car's unit.
    unit: Option<String>,
    /// The position of the component.
    position: Option<String>,
    /// Where the component is while not fitted.
    location: Option<String>,
    /// The car's fleet.
    fleet: Option<String>,
    /// The car's depot.
    depot: Option<String>,
}

/// Why work is due at once.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct AtOnceBody {
    /// `failed_test`, `removed_failed` or `removed_suspected`; or what was done on the car since the
    /// task was done or its test passed, so that tests before are void: `exchanged`, `set`,
    /// `cut_out_ended` or `coupled`.
    #[schema(example = "failed_test")]
    cause: &'static str,
    /// The day it was found.
    #[schema(format = Date)]
    on: String,
    /// The number of the entry that says so.
    entry: i64,
}

/// The limit that sets a date.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LimitBody {
    /// `calendar` or a meter.
    #[schema(example = "odometer")]
    set_by: &'static str,
    /// In words.
    words: String,
    /// What the car's meter shows when it is reached; for a component in store its own use. None
    /// where it was passed before that meter or count began.
    at: Option<AmountBody>,
    /// The last reading of that meter.
    last_reading: Option<ReadingBody>,
    /// Whether the limit rests on use of which no reading tells: the component came off a car after the
    /// last reading of its meter, and ran since then what that car's daily rate says.
    estimated: bool,
}

/// A fact that is lacking.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct LackBody {
    /// The limit that cannot be told.
    #[schema(example = "odometer")]
    limit: &'static str,
    /// `anchor`, `anchor_at_the_latest` (then the limit's date is the last that is possible), `use`,
    /// `reading` or `rate`.
    #[schema(example = "reading")]
    lacking: &'static str,
}

/// A page of due work, in the order of its dates.
#[utoipa::path(
    get,
    path = "/api/v1/due",
    operation_id = "listDue",
    tag = "due work",
    params(DueParams),
    responses(
        (status = 200, body = DueList, description = "As asked"),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read, or names what is not in the register"
        ),
    )
)]
pub(crate) async fn list(
    State(state): State<WebState>,
    Asked(params): Asked<DueParams>,
) -> Result<Json<DueList>, Problem> {
    let mut query = DueQuery::asked(params.fields(), &state);
    let mut view = state.store.view().await?;
    let source = Source::of(&mut view, &mut query, &state).await?;
    refuse_unread(&query)?;
    let filter = DueFilter {
        rows: API_PAGE,
        ..query.filter.clone()
    };
    let mut items = source.page(&mut view, &filter).await?;
    query.name_missing(&mut view, &items).await?;
    refuse_unread(&query)?;
    let more = API_PAGE < items.len();
    items.truncate(API_PAGE);
    let next = items
        .last()
        .filter(|_| more)
        .map(|item| cursor_text(&item.cursor));
    let concessions = ending(&mut view, &query).await?;
    let concessions = concessions.iter();
    let concessions =
        concessions.map(|one| ConcessionBody::new(&one.record, Some(one.under), filter.today));
    let campaigns = campaigns(&mut view, &query).await?;
    let campaigns = campaigns
        .iter()
        .map(|one| CampaignBody::new(one, filter.today));
    let doubted = doubted(&mut view, &query).await?;
    let doubted = doubted.iter().map(|one| DoubtBody::from(&one.doubt));
    Ok(Json(DueList {
        as_on: filter.today.to_string(),
        at: query.speaks.times.effective.to_string(),
        known: query.speaks.times.known.to_string(),
        ending_concessions: concessions.collect(),
        campaigns: campaigns.collect(),
        judge_again: doubted.collect(),
        due: bodies(&items, &source.documents(&view), &state),
        next,
    }))
}

/// Refuses a question with a field that cannot be read, or that names what is not there.
fn refuse_unread(query: &DueQuery) -> Result<(), Problem> {
    let Some((field, expected)) = query.errors.first() else {
        return Ok(());
    };
    let given = query.fields.text(field);
    let detail = format!("{field}: “{given}”; {expected}");
    Err(Problem::bad_field(field, detail))
}

/// Due work as answers have it.
pub(crate) fn bodies(items: &[DueItem], documents: &Documents, state: &WebState) -> Vec<DueBody> {
    items
        .iter()
        .map(|item| body(item, documents, state))
        .collect()
}

fn body(item: &DueItem, documents: &Documents, state: &WebState) -> DueBody {
    let forecast = &item.forecast;
    let text = |day: Option<Day>| day.map(|day| day.to_string());
    let not_known = forecast.lacking.iter().map(|(metric, lack)| LackBody {
        limit: metric.name(),
        lacking: lack.name(),
    });
    DueBody {
        task: item.task.to_string(),
        title: words::title(item, documents).to_owned(),
        state: item.state.name(),
        due_on: text(forecast.on),
        early: text(forecast.early),
        late: text(forecast.late),
        window_opens: text(forecast.opens),
        latest: text(words::latest(forecast)),
        limit: forecast
            .set_by
            .map(|metric| limit(item, metric, documents, state)),
        at_once: forecast.at_once.map(|found| AtOnceBody {
            cause: found.cause.name(),
            on: found.on.to_string(),
            entry: found.by.0,
        }),
        not_known: not_known.collect(),
        component: match &item.subject {
            Subject::Component(component) => Some(component.into()),
            Subject::Car(_) => None,
        },
        car: item.car.as_ref().map(ToString::to_string),
        unit: item.unit.as_ref().map(ToString::to_string),
        position: item.position.as_ref().map(ToString::to_string),
        location: item.location.as_ref().map(ToString::to_string),
        fleet: item.fleet.as_ref().map(ToString::to_string),
        depot: item.depot.as_ref().map(ToString::to_string),
    }
}

fn limit(item: &DueItem, metric: Metric, documents: &Documents, state: &WebState) -> LimitBody {
    let words = words::limit(item, documents, &state.zone);
    let by_meter = item.limit.as_ref();
    LimitBody {
        set_by: metric.name(),
        words: words.map_or_else(|| metric.to_string(), |words| words.limit),
        at: by_meter.and_then(|limit| Some(AmountBody::new(limit.shown()?, limit.meter))),
        last_reading: by_meter.and_then(|limit| Some(ReadingBody::new(limit.meter, limit.last?))),
        estimated: item.estimated,
    }
}
