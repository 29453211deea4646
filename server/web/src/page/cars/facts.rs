//! What the page of a car tells besides what is fitted, now or as at a time.

use super::car::on_car;
use crate::as_at::Speaks;
use crate::failure::Failure;
use crate::page::components::JudgeAgain;
use crate::state::WebState;
use domain::configuration::component::Subject;
use domain::decision::failed_test::FailedTest;
use domain::ledger::dossier::{CarRecord, IsolationRecord, TestedRecord};
use domain::time::{Instant, Zone};
use store::read::View;
use store::read::cars::{Fitted, Standings};
use store::read::due::DueOnCar;
use store::read::fleet_checks::AskedOfCar;

/// What is told of a car besides what is fitted.
#[derive(Default)]
pub(super) struct Facts {
    pub(super) in_force: Vec<IsolationRecord>,
    /// The tests that were failed with which the end of a cut-out is not proved.
    pub(super) unproved: Vec<FailedTest>,
    pub(super) checks: Vec<AskedOfCar>,
    /// What on it is to be judged again; of a past time none.
    pub(super) again: Vec<JudgeAgain>,
    pub(super) meters: Standings,
    pub(super) due: Vec<DueOnCar>,
    pub(super) tests: Vec<TestedRecord>,
}

impl Facts {
    /// As they are told now.
    pub(super) async fn now(
        view: &mut View,
        (car, meters): (&CarRecord, Standings),
        state: &WebState,
    ) -> Result<Self, Failure> {
        let tests = view.tests_of_car(car).await?;
        Ok(Self {
            in_force: in_force(view.isolations_of(car).await?, state.now()),
            unproved: view.unproved(&car.car.number, &tests, None).await?,
            checks: view.fleet_checks_of_car(car.id).await?,
            again: JudgeAgain::on(view, &car.car.number).await?,
            meters,
            due: view.due_on(&[car], state.today()).await?,
            tests,
        })
    }

    /// The same as it was told then; what was fitted is given the condition of then.
    pub(super) async fn then(
        view: &mut View,
        (car, fitted): (&CarRecord, &mut [Fitted]),
        speaks: &Speaks,
        zone: &Zone,
    ) -> Result<Self, Failure> {
        let at = speaks.times.effective;
        let told = view.cars_then(&[car], speaks.times).await?;
        told.judge(fitted);
        let number = &car.car.number;
        let due = told.due_on(car, (zone, at)).into_iter();
        let tests = told.then.tests_of(&Subject::Car(number.clone())).to_vec();
        Ok(Self {
            unproved: view.unproved(number, &tests, Some(speaks.times)).await?,
            in_force: told.then.cut_outs_in_force(number),
            meters: told.then.standings(number),
            due: due.map(|item| on_car(item, number)).collect(),
            tests,
            ..Self::default()
        })
    }
}

fn in_force(isolations: Vec<IsolationRecord>, at: Instant) -> Vec<IsolationRecord> {
    let then = |isolation: &IsolationRecord| {
        isolation.since <= at && isolation.ended.is_none_or(|(ended, _)| at < ended)
    };
    isolations.into_iter().filter(then).collect()
}
