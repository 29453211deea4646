//! One test record with its values and what they come to.

use super::component_history::ComponentTestBody;
use super::components::ComponentBody;
use super::fields::named;
use super::problem::Problem;
use crate::api::body::Asked;
use crate::as_at::AsAtParams;
use crate::page::tests::show::{found, void_now};
use crate::state::WebState;
use axum::Json;
use axum::extract::{Path, State};
use domain::configuration::car_type::LoadState;
use domain::configuration::component::Subject;
use domain::identity::TestRecordId;
use domain::ledger::obligations::Touch;
use domain::test_record::procedure::MeasurandRole;
use domain::test_record::verdict::{Judged, verdict};
use serde::Serialize;
use utoipa::ToSchema;

/// A test record.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TestDetail {
    /// The time that is told of.
    #[schema(format = DateTime)]
    at: String,
    /// The time at which the register knew it.
    #[schema(format = DateTime)]
    known: String,
    /// Which procedure, when, and what it came to.
    test: ComponentTestBody,
    /// The entry by which the record did not count any more at the time told of, where it was withdrawn
    /// or replaced by another one.
    withdrawn_by: Option<i64>,
    /// What was touched on the car since, so that the record proves nothing any more; none where
    /// nothing was, where it does not count, and of a past time.
    void_since: Option<VoidSinceBody>,
    /// The component that was tested; none where it was a car.
    component: Option<ComponentBody>,
    /// The car that was tested; none where it was a component.
    car: Option<String>,
    /// Who measured.
    tester: String,
    /// With what.
    instrument: String,
    /// The last day its calibration was valid at the time of the test; none where not known.
    #[schema(format = Date)]
    calibrated_until: Option<String>,
    /// Each measurand of the procedure with its value; none where the limits of the procedure's
    /// revision are not in the register.
    values: Vec<ValueBody>,
}

/// What was touched on a car after a test.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct VoidSinceBody {
    /// The number of the entry that says so.
    entry: i64,
    /// When.
    #[schema(format = DateTime)]
    at: String,
    /// What was done, in words.
    #[schema(example = "=BS1-KF1 exchanged")]
    what: String,
}

impl From<&Touch> for VoidSinceBody {
    fn from(touch: &Touch) -> Self {
        Self {
            entry: touch.by.0,
            at: touch.at.to_string(),
            what: touch.work.to_string(),
        }
    }
}

/// A measurand with its value.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ValueBody {
    /// What is measured.
    measurand: String,
    /// Under which load, where the procedure tells loads apart.
    load: Option<&'static str>,
    /// Whether it is a condition of the test and not its result.
    is_condition: bool,
    /// Within which limits, with their unit.
    #[schema(example = "3.7 to 3.9 bar")]
    limits: String,
    /// The value in that unit; none where it was not measured.
    value: Option<String>,
    /// What that comes to, in words.
    #[schema(example = "within")]
    finding: String,
}

impl From<&Judged<'_>> for ValueBody {
    fn from(judged: &Judged<'_>) -> Self {
        let measurand = judged.measurand;
        Self {
            measurand: measurand.name.to_string(),
            load: measurand.load.map(LoadState::name),
            is_condition: measurand.role == MeasurandRole::Condition,
            limits: format!("{} {}", measurand.bounds, measurand.unit),
            value: judged.value.map(|value| value.to_string()),
            finding: judged.finding.to_string(),
        }
    }
}

/// A test record: who measured what with which instrument, and what it came to, by the limits that
/// were known at the time told of.
#[utoipa::path(
    get,
    path = "/api/v1/test-records/{id}",
    operation_id = "showTestRecord",
    tag = "components",
    params(("id" = String, Path, description = "The test record"), AsAtParams),
    responses(
        (status = 200, body = TestDetail, description = "As asked"),
        (
            status = 404,
            body = Problem,
            content_type = "application/problem+json",
            description = "Not in the register, or not then"
        ),
        (
            status = 422,
            body = Problem,
            content_type = "application/problem+json",
            description = "A value cannot be read"
        ),
    )
)]
pub(crate) async fn show(
    State(state): State<WebState>,
    Path(id): Path<String>,
    Asked(params): Asked<AsAtParams>,
) -> Result<Json<TestDetail>, Problem> {
    let id: TestRecordId = named("id", &id)?;
    let speaks = params.read(&state)?;
    let mut view = speaks.view(&state).await?;
    let (test, withdrawn_by) = found(&mut view, &id, &speaks).await?;
    let void = void_now(&mut view, (&test, withdrawn_by), &speaks).await?;
    let record = &test.record;
    let key = (record.procedure.clone(), record.revision.clone());
    let known = view.documents.procedures.get(&key);
    let judged = known.and_then(|known| verdict(&known.document, record, &state.zone).ok());
    let values = judged.iter().flat_map(|judged| &judged.values);
    let (component, car) = match &record.subject {
        Subject::Component(component) => (Some(component.into()), None),
        Subject::Car(car) => (None, Some(car.to_string())),
    };
    let until = record.instrument.calibrated_until;
    Ok(Json(TestDetail {
        at: speaks.times.effective.to_string(),
        known: speaks.times.known.to_string(),
        test: (&test).into(),
        withdrawn_by: withdrawn_by.map(|by| by.0),
        void_since: void.as_ref().map(VoidSinceBody::from),
        component,
        car,
        tester: record.tester.to_string(),
        instrument: record.instrument.number.to_string(),
        calibrated_until: until.map(|day| day.to_string()),
        values: values.map(ValueBody::from).collect(),
    }))
}
