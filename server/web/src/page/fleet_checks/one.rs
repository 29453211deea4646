//! One check of the fleet: its cars with their answers, now or as at a time, and answering for one.

use crate::address;
use crate::as_at::{AsAtQuery, PageSpeaks};
use crate::carrying::CarryingQuery;
use crate::entry_form::{Asked, EntryForm, Field, ShownRefusal, Tried, left_over, record};
use crate::failure::Failure;
use crate::form::{FieldErrors, Fields, Now, Submitted};
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use domain::configuration::fleet_check::{CarAnswer, CheckAnswer};
use domain::identity::CarNumber;
use domain::ledger::entry::Seq;
use domain::ledger::fact::Fact;
use domain::people::DOES_WORK;
use domain::time::{Day, Zone};
use serde::Deserialize;
use std::collections::BTreeSet;
use store::StoreError;
use store::read::fleet_checks::{CHECK_CARS_PAGE, Carries, CheckCar, CheckNow, ListedCheck};
use store::read::{AsAt, View};

#[derive(Template)]
#[template(path = "fleet_checks/one.html")]
struct CheckPage {
    frame: Frame,
    check: ListedCheck,
    cars: Vec<CheckCar>,
    /// How what is looked for stands with cars at the time that is told of; none where the check does
    /// not say what that is.
    now: Option<CheckNow>,
    left: Option<Left>,
    next: Option<String>,
    goes_on: bool,
    form: Option<EntryForm>,
    left_over: Option<ShownRefusal>,
    /// The day that is told of.
    today: Day,
    zone: Zone,
    speaks: PageSpeaks,
}

/// What the page tells of a past time, and what on it is of now all the same.
const WHAT: (&str, &str) = (
    "which cars the check asked, and what they had answered",
    "The depot of a car is told of now.",
);

/// What nobody has looked at.
struct Left {
    /// Cars that carry what is looked for.
    carrying: Vec<CarNumber>,
    /// Cars of which it cannot be told whether they do.
    untold: Vec<CarNumber>,
    /// The address that asks which carry it.
    asks: String,
}

impl Left {
    /// None where everything was looked at.
    fn of(check: &ListedCheck, now: Option<&CheckNow>, times: &AsAtQuery) -> Option<Self> {
        let (sought, now) = check.record.check.sought.as_ref().zip(now)?;
        let that = |carries: Carries| -> Vec<CarNumber> {
            let cars = now.not_looked_at.iter();
            let cars = cars.filter(|(_, how)| **how == carries);
            cars.map(|(car, _)| car.clone()).collect()
        };
        (!now.not_looked_at.is_empty()).then(|| Self {
            carrying: that(Carries::It),
            untold: that(Carries::CannotBeTold),
            asks: CarryingQuery {
                at: times.at.clone(),
                known: times.known.clone(),
                ..CarryingQuery::from(sought)
            }
            .address("/carrying", None),
        })
    }
}

impl CheckPage {
    /// Why a car is asked, as the register finds it; none where the check does not say what it looks
    /// for.
    fn why(&self, car: &CarNumber) -> Option<&'static str> {
        Some(match self.now.as_ref()?.carrying.get(car) {
            Some(Carries::It) => "carries it",
            Some(Carries::CannotBeTold) => "cannot be told",
            None => "not found on it",
        })
    }
}

/// `?after=…`, where a page of cars begins; `?car=…`, for which the form is filled in.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Shown {
    #[serde(default)]
    after: String,
    #[serde(default)]
    car: String,
}

/// An answer in words.
pub(crate) fn in_words(answer: CarAnswer) -> &'static str {
    match answer {
        CarAnswer::Sound => "sound",
        CarAnswer::Defective => "defective",
        CarAnswer::NotCarried => "not on the car",
    }
}

/// `GET /fleet-checks/{entry}?after=…&car=…&at=…&known=…`. At most eight statements; of a past time
/// linear in the checks that were ever opened.
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(entry): Path<i64>,
    Query(shown): Query<Shown>,
    Query(times): Query<AsAtQuery>,
) -> PageResult {
    let asked = (Seq(entry), &shown, &times);
    page(&check_page(&state, &signed_in, asked, None).await?)
}

/// A check as it is told, with a page of its cars; one more than that where there are more.
pub(crate) struct Told {
    pub(crate) check: ListedCheck,
    pub(crate) cars: Vec<CheckCar>,
    pub(crate) now: Option<CheckNow>,
}

impl Told {
    /// Reads it as it stands, or stood; none where there was no such check.
    pub(crate) async fn read(
        view: &mut View,
        (id, after): (Seq, Option<&CarNumber>),
        (times, then): (AsAt, Option<AsAt>),
    ) -> Result<Option<Self>, StoreError> {
        let of_page = (after, CHECK_CARS_PAGE);
        if let Some(as_at) = then {
            let Some(record) = view.fleet_checks_told(as_at).await?.remove(&id) else {
                return Ok(None);
            };
            let cars = view.fleet_check_cars_told(&record, of_page, as_at).await?;
            let now = view.fleet_check_then(&record, as_at).await?;
            let check = record.into();
            return Ok(Some(Self { check, cars, now }));
        }
        let Some(check) = view.fleet_check(id).await? else {
            return Ok(None);
        };
        let cars = view.fleet_check_cars(id, of_page).await?;
        let now = view.fleet_check_now(&check, times).await?;
        Ok(Some(Self { check, cars, now }))
    }
}

async fn check_page(
    state: &WebState,
    signed_in: &SignedIn,
    (id, shown, times): (Seq, &Shown, &AsAtQuery),
    tried: Option<&Tried>,
) -> Result<CheckPage, Failure> {
    let after: Option<CarNumber> = match shown.after.as_str() {
        "" => None,
        car => Some(car.parse()?),
    };
    let speaks = times.read(state)?;
    let mut view = speaks.view(state).await?;
    let asked = (speaks.times, speaks.then());
    let told = Told::read(&mut view, (id, after.as_ref()), asked).await?;
    let Told {
        check,
        mut cars,
        now,
    } = told.ok_or_else(|| Failure::NotFound {
        what: "check of the fleet",
        name: id.0.to_string(),
    })?;
    let more = CHECK_CARS_PAGE < cars.len();
    cars.truncate(CHECK_CARS_PAGE);
    let last = cars.last().filter(|_| more);
    let frame = Frame::new(state, signed_in);
    let may_answer = frame.holds(DOES_WORK) && speaks.past.is_none();
    let form = may_answer.then(|| answer_form(id, (&cars, &shown.car)).finish(tried));
    let address = address::fleet_check(id);
    Ok(CheckPage {
        frame,
        next: last.map(|row| {
            let fields = [
                ("after", row.car.as_str()),
                ("at", times.at.as_str()),
                ("known", times.known.as_str()),
            ];
            address::with_query(&address, fields)
        }),
        goes_on: after.is_some(),
        left_over: left_over(tried, form.as_slice()),
        form,
        left: Left::of(&check, now.as_ref(), times),
        now,
        check,
        cars,
        today: state.zone.day_of(speaks.times.effective),
        zone: state.zone.clone(),
        speaks: PageSpeaks::new((times, &speaks), address.clone(), WHAT),
    })
}

fn answer_form(id: Seq, (cars, car): (&[CheckCar], &str)) -> EntryForm {
    let unanswered = cars.iter().filter(|row| row.answer.is_none());
    // Nothing is chosen beforehand: nobody calls a car sound by pressing a button.
    let none = (String::new(), "choose what was found".to_owned());
    let answers = CarAnswer::ALL
        .iter()
        .map(|answer| (answer.name().to_owned(), in_words(*answer).to_owned()));
    let answers = std::iter::once(none).chain(answers);
    EntryForm::new("answer", &address::fleet_check(id), "Answer for a car")
        .button("Record the answer")
        .ask(
            Field::text("car", "Car")
                .with_value(car)
                .suggest(unanswered.map(|row| row.car.to_string()))
                .required(),
        )
        .ask(Field::one_of("answer", "What was found", answers))
        .ask(
            Field::text("remark", "What was seen and done")
                .hint("Needed where it is defective; it may stay empty otherwise."),
        )
}

fn asked(fields: &Fields, check: Seq, now: Now<'_>) -> Asked {
    let mut errors = FieldErrors::default();
    let car = fields.required("car", &mut errors);
    let answer = fields.required("answer", &mut errors);
    let at = fields.moment("at", now, &mut errors);
    let (Some(car), Some(answer), Some(at)) = (car, answer, at) else {
        return Err(errors);
    };
    let answer = CheckAnswer {
        asked_too: BTreeSet::new(),
        check,
        car,
        answer,
        remark: fields.text("remark").to_owned(),
    };
    Ok((Fact::FleetCheckAnswered(answer), at))
}

/// `POST /fleet-checks/{entry}/answer`
pub(crate) async fn send(
    State(state): State<WebState>,
    Path(entry): Path<i64>,
    submitted: Submitted,
) -> PageResult {
    let id = Seq(entry);
    let asks = |now: Now<'_>| asked(&submitted.fields, id, now);
    match record(&state, &submitted, "answer", &asks).await? {
        None => Ok(Redirect::to(&address::fleet_check(id)).into_response()),
        Some(tried) => {
            let asked = (id, &Shown::default(), &AsAtQuery::default());
            let shown = check_page(&state, &submitted.signed_in, asked, Some(&tried)).await?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&shown)?).into_response())
        }
    }
}
