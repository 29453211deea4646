//! Where cars depart from the baseline in force for them: a list that is empty when the fleet
//! conforms.

mod file;

pub(crate) use file::csv;

use crate::address;
use crate::campaigns::CampaignNote;
use crate::departure::{Baseline, DepartureQuery, Source, allowed, words};
use crate::form::Fields;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use domain::configuration::component::PositionRef;
use domain::configuration::concession::ENDING_DAYS;
use domain::due::place::WorkPlace;
use domain::ledger::departures::{DepartureKind, DepartureStanding};
use domain::people::APPROVES;
use domain::time::Day;
use store::StoreError;
use store::read::View;
use store::read::campaigns::{CampaignFilter, OnCars};
use store::read::cars::FleetAtDepot;
use store::read::departures::{DEPARTURES_PAGE, DepartureFilter, DepartureItem};

/// The fields of an address, as often as they stand there.
pub(crate) type Asked = Query<Vec<(String, String)>>;

/// Departures counted; more are only said to be more.
const COUNTED_MAX: usize = 1_000;

#[derive(Template)]
#[template(path = "departures/departures.html")]
struct DeparturesPage {
    frame: Frame,
    query: DepartureQuery,
    question: String,
    fleets: Vec<String>,
    depots: Vec<String>,
    kinds: &'static [DepartureKind],
    standings: &'static [DepartureStanding],
    /// The same place with departures of one kind, each with its address.
    usual: Vec<(String, String)>,
    count: String,
    rows: Vec<Row>,
    first: String,
    next: Option<String>,
    csv: String,
    /// The modifications that still concern what is at the place asked about; of a past time none.
    campaigns: Vec<CampaignNote>,
    may_propose: bool,
}

/// A departure as shown.
struct Row {
    car: (String, String),
    unit: Option<(String, String)>,
    depot: String,
    position: (String, String),
    kind: DepartureKind,
    words: String,
    since: Option<String>,
    component: Option<(String, String)>,
    state: Option<String>,
    baseline: Baseline,
    design: (String, String),
    standing: DepartureStanding,
    /// The concession: what it is in words, and its page.
    concession: Option<(String, String)>,
    /// Where a concession is proposed, where none is in force and one could be.
    propose: Option<String>,
}

/// `GET /departures`. Five statements, and one where any modification is to be embodied; of a past time
/// nine more at most.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Query(fields): Asked,
) -> PageResult {
    let mut query = DepartureQuery::read(Fields(fields.into_iter().collect()), &state);
    let mut view = query.speaks.view(&state).await?;
    let source = Source::of(&mut view, &mut query).await?;
    let (mut items, count) = if query.errors.is_empty() {
        let count = Count::read(&mut view, &source, &query.filter).await?;
        (source.page(&mut view, &query.filter).await?, count.words())
    } else {
        (Vec::new(), String::new())
    };
    query.name_missing(&mut view, &items).await?;
    let readable = query.errors.is_empty();
    let more = DEPARTURES_PAGE < items.len();
    items.truncate(DEPARTURES_PAGE);
    let last = items.last().filter(|_| more).map(|item| &item.cursor);
    let next = last.map(|cursor| query.page("/departures", Some(cursor)));
    let places = view.fleets().await?;
    let campaigns = campaigns(&mut view, &query, &state).await?;
    let frame = Frame::new(&state, &signed_in);
    let answer = page(&DeparturesPage {
        question: question(&query),
        fleets: distinct(&places, |place| place.fleet.to_string()),
        depots: distinct(&places, |place| place.depot.to_string()),
        kinds: DepartureKind::ALL,
        standings: DepartureStanding::ALL,
        usual: usual(&query),
        count,
        rows: items.iter().map(|item| row(item, &view, &query)).collect(),
        first: query.page("/departures", None),
        next,
        csv: query.page("/departures.csv", None),
        campaigns,
        may_propose: frame.holds(APPROVES) && query.speaks.past.is_none(),
        frame,
        query,
    })?;
    let status = if readable {
        StatusCode::OK
    } else {
        StatusCode::UNPROCESSABLE_ENTITY
    };
    Ok((status, answer).into_response())
}

/// Beside the first page of all departures at a place: of a car or a unit all modifications that
/// concern it, elsewhere those whose last day is near or over.
async fn campaigns(
    view: &mut View,
    query: &DepartureQuery,
    state: &WebState,
) -> Result<Vec<CampaignNote>, StoreError> {
    let (filter, speaks) = (&query.filter, &query.speaks);
    let narrowed = filter.kind.is_some() || filter.standing.is_some();
    let narrowed = narrowed || filter.concession.is_some() || filter.after.is_some();
    if narrowed || speaks.past.is_some() || !query.errors.is_empty() {
        return Ok(Vec::new());
    }
    let on_cars = match (&filter.car, &filter.unit) {
        (Some(car), _) => OnCars::Car(car),
        (None, Some(unit)) => OnCars::Unit(unit),
        (None, None) => {
            let (now, today) = (speaks.times.effective, state.today());
            let filter = CampaignFilter {
                fleet: filter.fleet.as_ref(),
                depot: filter.depot.as_ref(),
                part: None,
                place: Some(WorkPlace::OnCars),
                until: today.plus_days(ENDING_DAYS),
            };
            let campaigns = view.campaigns_until(filter, now).await?;
            return Ok(CampaignNote::all(&campaigns, today));
        }
    };
    CampaignNote::on(view, on_cars, (speaks, &state.zone)).await
}

/// How many departures there are, each counted up to [`COUNTED_MAX`].
struct Count {
    findings: i64,
    under_concession: i64,
}

impl Count {
    /// Two statements; one where only findings or only the others are asked for.
    async fn read(
        view: &mut View,
        source: &Source,
        filter: &DepartureFilter,
    ) -> Result<Self, StoreError> {
        let mut counts = [0, 0];
        for (count, standing) in counts.iter_mut().zip([
            DepartureStanding::Finding,
            DepartureStanding::UnderConcession,
        ]) {
            if filter.standing.is_none_or(|asked| asked == standing) {
                let filter = DepartureFilter {
                    standing: Some(standing),
                    ..filter.clone()
                };
                *count = source.count(view, (&filter, COUNTED_MAX)).await?;
            }
        }
        let [findings, under_concession] = counts;
        Ok(Self {
            findings,
            under_concession,
        })
    }

    /// As "5 positions depart: 3 findings, 2 under a concession in force".
    fn words(&self) -> String {
        let most = i64::try_from(COUNTED_MAX).unwrap_or(i64::MAX);
        let many = |count: i64| match count {
            count if most < count => format!("more than {most}"),
            count => count.to_string(),
        };
        let all = self.findings + self.under_concession;
        let depart = match all {
            1 => "position departs",
            _ => "positions depart",
        };
        let findings = match self.findings {
            1 => "finding",
            _ => "findings",
        };
        format!(
            "{} {depart}: {} {findings}, {} under a concession in force",
            many(all),
            many(self.findings),
            many(self.under_concession)
        )
    }
}

fn usual(query: &DepartureQuery) -> Vec<(String, String)> {
    let all = ("All".to_owned(), query.of_kind(None));
    let kinds = DepartureKind::ALL.iter();
    let kinds = kinds.map(|kind| (capital(&kind.to_string()), query.of_kind(Some(*kind))));
    std::iter::once(all).chain(kinds).collect()
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|first| first.to_uppercase().to_string());
    first.unwrap_or_default() + chars.as_str()
}

fn distinct(places: &[FleetAtDepot], of: impl Fn(&FleetAtDepot) -> String) -> Vec<String> {
    let mut names: Vec<String> = places.iter().map(of).collect();
    names.sort_unstable();
    names.dedup();
    names
}

/// The list in words, for paper and for people who are sent its address.
fn question(query: &DepartureQuery) -> String {
    let filter = &query.filter;
    let mut words = vec![match filter.kind {
        None => "positions that depart from the baseline in force".to_owned(),
        Some(kind) => format!("departures of the kind “{kind}”"),
    }];
    let mut place = |what: &str, name: Option<String>| {
        words.extend(name.map(|name| format!("{what} {name}")));
    };
    place("fleet", filter.fleet.as_ref().map(ToString::to_string));
    place("depot", filter.depot.as_ref().map(ToString::to_string));
    place("unit", filter.unit.as_ref().map(ToString::to_string));
    place("car", filter.car.as_ref().map(ToString::to_string));
    let concession = filter.concession.as_ref().map(ToString::to_string);
    place("concession", concession);
    words.extend(filter.standing.map(|standing| match standing {
        DepartureStanding::Finding => "findings only".to_owned(),
        DepartureStanding::UnderConcession => "under a concession in force".to_owned(),
    }));
    words.join(", ")
}

fn row(item: &DepartureItem, view: &View, query: &DepartureQuery) -> Row {
    let car = &item.car.car;
    let at = PositionRef {
        car: car.number.clone(),
        position: item.position.clone(),
    };
    let unit = item.car.unit.as_ref();
    let component = item.component.as_ref();
    let on = query.filter.on;
    let revision = view.documents.revision(car, on);
    let number = item.concession.as_ref().map(|(number, _)| number);
    let design = format!("{} revision {revision}", car.car_type);
    Row {
        car: (car.number.to_string(), address::car(&car.number)),
        unit: unit.map(|unit| (unit.unit.to_string(), address::unit(&unit.unit))),
        depot: car.depot.to_string(),
        position: (at.position.to_string(), address::position(&at)),
        kind: item.kind,
        words: words(item),
        since: item.from.map(|from| from.to_string()),
        component: component.map(|there| {
            let one = &there.component;
            (one.to_string(), address::component(one))
        }),
        state: component.and_then(|there| Some(there.modification.as_ref()?.to_string())),
        baseline: Baseline::of(item, &view.documents, on),
        design: (design, address::car_type(&car.car_type, revision)),
        standing: item.standing(on),
        concession: allowed(item, on).zip(number.map(address::concession)),
        propose: propose(item, on),
    }
}

/// A concession allows what is there or what it is set to, not that nothing is or that it is not known.
fn propose(item: &DepartureItem, on: Day) -> Option<String> {
    if item.standing(on) != DepartureStanding::Finding {
        return None;
    }
    let (component, setting) = (item.component.as_ref(), item.setting.as_ref());
    let what = match item.kind {
        DepartureKind::NotApproved | DepartureKind::WrongState => [
            ("part", component?.component.part.as_str()),
            ("range", "within"),
        ],
        DepartureKind::SettingDeviates => [("setting", setting?.as_str()), ("range", "within")],
        DepartureKind::SettingOutOfRange => [("setting", setting?.as_str()), ("range", "outside")],
        DepartureKind::Vacant
        | DepartureKind::Unknown
        | DepartureKind::SettingNotTold
        | DepartureKind::Unfit
        | DepartureKind::Incomplete => return None,
    };
    let [what, range] = what;
    let fields = [
        ("cars", item.car.car.number.as_str()),
        ("position", item.position.as_str()),
        what,
        range,
    ];
    Some(address::with_query("/concessions/new", fields))
}
