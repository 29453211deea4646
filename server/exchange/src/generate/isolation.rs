//! Cut-outs in force, and isolations that ended.

use super::chance::{Chance, Of};
use super::cut_out::{SCENES, Scene};
use super::fleet::{CarPlan, UnitPlan};
use super::sink::Maybe;
use super::span::Moment;
use super::test_record::{Test, Tested};
use super::troubles::{CUT_OUT, ENDED_ISOLATION, SECOND_CUT_OUT};
use super::wear;
use super::{Generator, Result};
use crate::columns::ISOLATIONS;
use domain::due::task::AppliesTo;
use domain::identity::PositionCode;
use domain::time::Day;

/// What an isolation is of and how long it lasts.
struct Cut<'a> {
    car: &'a CarPlan<'a>,
    position: &'a PositionCode,
    scene: &'static Scene,
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
            let mut possible: Vec<(&Scene, _)> = Vec::new();
            for scene in &SCENES {
                let place = chance.pick(&scene.places(unit)).copied();
                possible.extend(place.map(|place| (scene, place)));
            }
            if let Some(&(scene, (car, position))) = chance.pick(&possible) {
                let cut = Cut {
                    car: &unit.cars[car],
                    position,
                    scene,
                    since,
                    until: Some(until),
                };
                self.write_isolation(&mut chance, &cut)?;
            }
        }
        let mut taken = Vec::new();
        for (cut_out, longest) in [(CUT_OUT, 20), (SECOND_CUT_OUT, 9)] {
            if cut_out.strikes(unit.place) {
                let since = self.span.ago(chance.between(2, longest));
                self.cut_out(&mut chance, unit, &mut taken, since)?;
            }
        }
        Ok(())
    }

    /// Cuts out a position of a unit in the way that has waited longest for a unit in which it
    /// can happen.
    fn cut_out<'u>(
        &mut self,
        chance: &mut Chance,
        unit: &'u UnitPlan<'u>,
        taken: &mut Vec<(usize, &'u PositionCode)>,
        since: Day,
    ) -> Result<()> {
        for turn in 0..self.scenes.len() {
            let scene = self.scenes[turn];
            let mut places = scene.places(unit);
            places.retain(|place| !taken.contains(place));
            let Some(&(car, position)) = chance.pick(&places) else {
                continue;
            };
            taken.push((car, position));
            self.scenes.remove(turn);
            self.scenes.push_back(scene);
            let cut = Cut {
                car: &unit.cars[car],
                position,
                scene,
                since,
                until: None,
            };
            return self.write_isolation(chance, &cut);
        }
        Ok(())
    }

    fn write_isolation(&mut self, chance: &mut Chance, cut: &Cut<'_>) -> Result<()> {
        let minute = chance.between(5 * 60, 22 * 60);
        let at = |day: Day| Moment { day, minute };
        let unseen = chance.per_mille(500);
        let before = cut.until.map(|day| Moment {
            day,
            minute: minute - 60,
        });
        let proof = match before {
            Some(before) => self.prove(chance, cut.car, before)?,
            None => None,
        };
        self.write(
            &ISOLATIONS,
            &[
                ("car", &cut.car.number),
                ("position", cut.position),
                ("state", &cut.scene.state.name()),
                ("cause", &cut.scene.cause),
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
        let test = Test {
            subject: Tested::Car(&car.number),
            procedure,
            at,
        };
        let worn = wear::anyhow(chance, procedure);
        let passed = self.write_record(chance, &test, &worn)?;
        Ok(passed.map(|passed| passed.id))
    }
}
