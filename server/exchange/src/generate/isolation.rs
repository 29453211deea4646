//! Cut-outs in force, and isolations that ended.

use super::chance::{Chance, Of};
use super::fleet::{CarPlan, UnitPlan};
use super::names::CAUSES;
use super::sink::Maybe;
use super::span::Moment;
use super::test_record::{RESTORED, Tested};
use super::troubles::{CUT_OUT, ENDED_ISOLATION, SECOND_CUT_OUT};
use super::{Generator, Result};
use crate::columns::ISOLATIONS;
use domain::circuit::Behaviour;
use domain::configuration::car_type::{CarType, PositionKind};
use domain::due::task::AppliesTo;
use domain::identity::PositionCode;
use domain::isolation::CutOutState;
use domain::time::Day;

/// What an isolation is of and how long it lasts.
struct Cut<'a> {
    car: &'a CarPlan<'a>,
    position: &'a PositionCode,
    state: CutOutState,
    since: Day,
    until: Option<Day>,
}

impl Generator<'_> {
    /// Writes the isolations of a unit.
    pub(super) fn write_isolations(&mut self, unit: &UnitPlan<'_>) -> Result<()> {
        let mut chance = Chance::new(self.options.seed, Of::Isolations(unit.place));
        if ENDED_ISOLATION.strikes(unit.place) {
            let since = self.span.ago(chance.between(40, 300));
            let until = since.plus_days(chance.between(1, 6));
            self.isolate(
                &mut chance,
                unit.cars.get(unit.cars.len() / 2),
                since,
                Some(until),
            )?;
        }
        if CUT_OUT.strikes(unit.place) {
            let since = self.span.ago(chance.between(2, 20));
            self.isolate(&mut chance, unit.cars.first(), since, None)?;
        }
        if SECOND_CUT_OUT.strikes(unit.place) && 1 < unit.cars.len() {
            let since = self.span.ago(chance.between(2, 9));
            self.isolate(&mut chance, unit.cars.last(), since, None)?;
        }
        Ok(())
    }

    fn isolate(
        &mut self,
        chance: &mut Chance,
        car: Option<&CarPlan<'_>>,
        since: Day,
        until: Option<Day>,
    ) -> Result<()> {
        let Some(car) = car else {
            return Ok(());
        };
        let candidates = isolating(car.car_type);
        let Some(&(position, state)) = chance.pick(&candidates) else {
            return Ok(());
        };
        self.write_isolation(
            chance,
            &Cut {
                car,
                position,
                state,
                since,
                until,
            },
        )
    }

    fn write_isolation(&mut self, chance: &mut Chance, cut: &Cut<'_>) -> Result<()> {
        let minute = chance.between(5 * 60, 22 * 60);
        let at = |day: Day| Moment { day, minute };
        let unseen = chance.per_mille(500);
        let cause = chance.pick(&CAUSES).copied().unwrap_or_default();
        let proof = match cut.until {
            Some(day) => self.prove(
                chance,
                cut.car,
                Moment {
                    day,
                    minute: minute - 60,
                },
            )?,
            None => None,
        };
        self.write(
            &ISOLATIONS,
            &[
                ("car", &cut.car.number),
                ("position", cut.position),
                ("state", &cut.state.name()),
                ("cause", &cause),
                ("since", &at(cut.since)),
                (
                    "not_before",
                    &Maybe(unseen.then(|| at(cut.since.plus_days(-1)))),
                ),
                ("until", &Maybe(cut.until.map(at))),
                ("proved_by", &Maybe(proof)),
            ],
        )
    }
}

impl Generator<'_> {
    /// Writes the test that proves a brake restored.
    fn prove(
        &mut self,
        chance: &mut Chance,
        car: &CarPlan<'_>,
        at: Moment,
    ) -> Result<Option<String>> {
        let tested = AppliesTo::CarType(car.car_type.name.clone());
        let Some(procedure) = self.plan.procedure(&tested) else {
            return Ok(None);
        };
        let car = Tested::Car(&car.number);
        let (id, _) = self.write_test(chance, car, procedure, (at, RESTORED))?;
        Ok(Some(id))
    }
}

/// The positions of a car type at which something is isolated in practice, with the state.
fn isolating(car_type: &CarType) -> Vec<(&PositionCode, CutOutState)> {
    let state = |behaviour: &Behaviour| match behaviour {
        Behaviour::Cock { venting: true } => Some(CutOutState::ClosedVented),
        Behaviour::Cock { venting: false } => Some(CutOutState::ClosedTrapped),
        Behaviour::SpringApplied { .. } => Some(CutOutState::ReleasedByHand),
        Behaviour::AllOf => Some(CutOutState::Failed),
        _ => None,
    };
    let kind = |code| car_type.position(code).map(|position| position.kind);
    let nodes = car_type.circuit.nodes.iter();
    nodes
        .filter(|node| kind(&node.position) != Some(PositionKind::EndCock))
        .filter_map(|node| Some((&node.position, state(&node.behaviour)?)))
        .collect()
}
