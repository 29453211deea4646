//! One modification: how far it has come by unit, what is left and when that could be done.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks, Speaks};
use crate::entry_form::{Asked, EntryForm, Field, Tried, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::said::Said;
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::component::{ComponentRef, Subject};
use domain::configuration::modification::{Modification, ModificationScope};
use domain::identity::ModificationNumber;
use domain::ledger::dossier::{Documents, Issued};
use domain::ledger::fact::Fact;
use domain::people::{DOES_WORK, PLANS_VISITS};
use domain::time::{Day, Instant};
use serde::Deserialize;
use store::StoreError;
use store::read::View;
use store::read::modifications::{LEFT_PAGE, Left, UnitProgress};

/// `?after=…&at=…&known=…`: where the page of what is left begins, and as at which time.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct From {
    after: Option<i64>,
    #[serde(default)]
    at: String,
    #[serde(default)]
    known: String,
}

#[derive(Template)]
#[template(path = "modifications/one.html")]
struct ModificationPage {
    frame: Frame,
    speaks: PageSpeaks,
    number: String,
    title: String,
    scope: String,
    by: String,
    source: String,
    overdue: bool,
    /// The entry that issued it: its address and name.
    entry: (String, String),
    /// Who issued it.
    said: Option<Said>,
    all: i64,
    done: i64,
    units: Vec<UnitRow>,
    left: Vec<LeftRow>,
    next: Option<String>,
    /// Where a visit is planned for it.
    plan: Option<String>,
    form: Option<EntryForm>,
}

struct UnitRow {
    unit: Option<(String, String)>,
    all: i64,
    done: i64,
}

struct LeftRow {
    subject: (String, String),
    state: Option<String>,
    car: Option<(String, String)>,
    unit: Option<String>,
    position: Option<String>,
    location: Option<String>,
    /// The day on which overdue work on its car was due, and that work.
    overdue: Option<(String, String)>,
    next_due: Option<(String, String)>,
    visit: Option<ThatVisit>,
}

/// The visit that will do it.
struct ThatVisit {
    number: String,
    href: String,
    comes_on: String,
    depot: String,
    /// Whether it comes after the day by which all is to be done.
    late: bool,
}

/// `GET /modifications/{number}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(number): Path<String>,
    Query(from): Query<From>,
) -> PageResult {
    let number = number.parse()?;
    page(&modification_page(&state, &signed_in, (&number, from), None).await?)
}

/// How far a modification has come, and what is left of it.
pub(crate) struct Come {
    pub(crate) progress: Vec<UnitProgress>,
    /// A page of what is left.
    pub(crate) left: Vec<Left>,
    /// Where its next page begins, if there is one.
    pub(crate) next: Option<i64>,
}

impl Come {
    /// Three statements; of a past time more.
    pub(crate) async fn read(
        view: &mut View,
        modification: &Modification,
        (after, speaks, state): (Option<i64>, &Speaks, &WebState),
    ) -> Result<Self, StoreError> {
        let (progress, mut left) = match speaks.then() {
            None => (
                view.modification_progress(modification).await?,
                view.modification_left(modification, (after, state.today()))
                    .await?,
            ),
            Some(as_at) => {
                let told = view.modification_told(modification, (after, as_at));
                let told = told.await?;
                (told.progress, told.left)
            }
        };
        let more = LEFT_PAGE < left.len();
        left.truncate(LEFT_PAGE);
        let last = left.last().filter(|_| more);
        Ok(Self {
            next: last.map(|left| left.cursor),
            progress,
            left,
        })
    }
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "how far it had come, and what was left with the visits planned for it",
    "When the next work on a car was due is told in the due list as at that time.",
);

async fn modification_page(
    state: &WebState,
    signed_in: &SignedIn,
    (number, From { after, at, known }): (&ModificationNumber, From),
    tried: Option<&Tried>,
) -> Result<ModificationPage, Failure> {
    let query = AsAtQuery { at, known };
    let speaks = query.read(state)?;
    let mut view = speaks.view(state).await?;
    let Issued { by, document, .. } = issued(&view.documents, (number, speaks.times.effective))?;
    let of = (after, &speaks, state);
    let Come {
        progress,
        left,
        next,
    } = Come::read(&mut view, &document, of).await?;
    let said = Said::of(&mut view, &[by], &state.zone).await?.remove(&by);
    let today = state.zone.day_of(speaks.times.effective);
    let own = address::modification(number);
    let next = next.map(|next| {
        let (next, AsAtQuery { at, known }) = (next.to_string(), &query);
        let fields = [("after", &*next), ("at", at), ("known", known)];
        address::with_query(&own, fields)
    });
    let frame = Frame::new(state, signed_in);
    let now = speaks.past.is_none();
    let form = (now && frame.holds(DOES_WORK)).then(|| form(&document).finish(tried));
    let may_plan = now && frame.holds(PLANS_VISITS);
    let sum = |of: fn(&UnitProgress) -> i64| progress.iter().map(of).sum::<i64>();
    let (all, done) = (sum(|unit| unit.all), sum(|unit| unit.done));
    Ok(ModificationPage {
        frame,
        speaks: PageSpeaks::new((&query, &speaks), own, WHAT),
        number: number.to_string(),
        title: document.title.clone(),
        scope: document.scope.to_string(),
        by: document.by.to_string(),
        source: document.source.clone(),
        overdue: document.by < today && done < all,
        entry: (address::entry(by), by.to_string()),
        said,
        all,
        done,
        units: progress.iter().map(unit_row).collect(),
        left: left
            .iter()
            .map(|left| left_row(left, document.by))
            .collect(),
        plan: may_plan
            .then(|| address::with_query("/visits/new", [("modification", number.as_str())])),
        next,
        form,
    })
}

/// A modification that had been issued by a moment.
pub(crate) fn issued(
    documents: &Documents,
    (number, by): (&ModificationNumber, Instant),
) -> Result<Issued, Failure> {
    let known = documents.modifications.get(number);
    let known = known.filter(|issued| issued.at <= by).cloned();
    known.ok_or_else(|| Failure::NotFound {
        what: "modification",
        name: number.to_string(),
    })
}

fn unit_row(progress: &UnitProgress) -> UnitRow {
    UnitRow {
        unit: progress
            .unit
            .as_ref()
            .map(|unit| (unit.to_string(), address::unit(unit))),
        all: progress.all,
        done: progress.done,
    }
}

fn left_row(left: &Left, by: Day) -> LeftRow {
    let car = left.car.as_ref();
    let due = |on: Option<Day>| {
        let car = car?;
        Some((
            on?.to_string(),
            address::with_query("/due", [("car", car.as_str())]),
        ))
    };
    LeftRow {
        subject: (left.subject.to_string(), address::subject(&left.subject)),
        state: left.state.as_ref().map(ToString::to_string),
        car: car.map(|car| (car.to_string(), address::car(car))),
        unit: left.unit.as_ref().map(ToString::to_string),
        position: left.position.as_ref().map(ToString::to_string),
        location: left.location.as_ref().map(ToString::to_string),
        overdue: due(left.overdue),
        next_due: due(left.next_due),
        visit: left.visit.as_ref().map(|visit| ThatVisit {
            number: visit.number.to_string(),
            href: address::visit(&visit.number),
            comes_on: visit.from.to_string(),
            depot: visit.depot.to_string(),
            late: by < visit.from,
        }),
    }
}

fn form(modification: &Modification) -> EntryForm {
    let page = address::modification(&modification.number);
    let form = EntryForm::new("embodied", &page, "Record an embodiment").button("Record it");
    let form = match &modification.scope {
        ModificationScope::Components { part, .. } => form.ask(
            Field::text("serial", "Serial number")
                .hint(format!("Of part {part}."))
                .required(),
        ),
        ModificationScope::Cars { .. } => form.ask(Field::text("car", "Car").required()),
    };
    form.ask(
        Field::text("evidence", "Evidence")
            .hint("The order, certificate or test record.")
            .required(),
    )
}

fn asked(fields: &Fields, modification: &Modification, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let at = fields.moment("at", now, &mut errors);
    let subject = match &modification.scope {
        ModificationScope::Components { part, .. } => {
            let serial = fields.required("serial", &mut errors);
            let part = part.clone();
            serial.map(|serial| Subject::Component(ComponentRef { part, serial }))
        }
        ModificationScope::Cars { .. } => fields.required("car", &mut errors).map(Subject::Car),
    };
    match (subject, at) {
        (Some(subject), Some(at)) => {
            let fact = Fact::Embodied {
                modification: modification.number.clone(),
                subject,
                evidence: fields.text("evidence").to_owned(),
            };
            Ok((fact, at))
        }
        _ => Err(errors),
    }
}

/// `POST /modifications/{number}/embodied`
pub(crate) async fn embodied(
    State(state): State<WebState>,
    Path(number): Path<String>,
    submitted: Submitted,
) -> PageResult {
    let number: ModificationNumber = number.parse()?;
    let known = {
        let view = state.store.view().await?;
        issued(&view.documents, (&number, state.now()))?
    };
    let asks = |now: Now<'_>| asked(&submitted.fields, &known.document, now);
    match record(&state, &submitted, "embodied", &asks).await? {
        None => Ok(Redirect::to(&address::modification(&number)).into_response()),
        Some(tried) => {
            let of = (&number, From::default());
            let shown = modification_page(&state, &submitted.signed_in, of, Some(&tried));
            let shown = page(&shown.await?)?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, shown).into_response())
        }
    }
}
