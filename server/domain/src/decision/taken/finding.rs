//! What is found of a train, as it is kept with a decision.

use super::{
    DecidedCar, DecidedCutOut, Found, FoundCounts, FoundInMode, FoundPercentage, FoundRule,
    LostAxles, OfAll,
};
use crate::circuit::state::Impairment;
use crate::configuration::component::PositionRef;
use crate::decision::answer::Answer;
use crate::decision::asked::AskedField;
use crate::decision::due_at_once::{DueAtOnceInTrain, fitted, fitted_in_short};
use crate::decision::holding::FoundHolding;
use crate::decision::judge_again;
use crate::decision::overdue;
use crate::decision::stored::StoredIn;
use crate::decision::{Decision, RuleSetAnswer, TrainCar};
use crate::identity::{CarNumber, RuleSetName};
use crate::isolation::effect::Effect;
use crate::isolation::tally::{Counts, Share};
use crate::rule_set::verdict::AppliedRule;
use crate::worked::{Missing, MissingFact};
use std::collections::{BTreeMap, BTreeSet};

impl Answer {
    /// The words of the question, those that were assumed included.
    pub fn asked(&self) -> BTreeMap<AskedField, String> {
        let given = |field: &AskedField| Some((*field, self.words.get(*field)?.to_owned()));
        AskedField::ALL.iter().filter_map(given).collect()
    }

    /// What is found by one rule set; nothing where it gives no verdict.
    pub fn found(&self, rule_set: &RuleSetName) -> Result<Found, Missing> {
        let decision = self.decision.as_ref().map_err(Clone::clone)?;
        let mut verdicts = decision.verdicts.iter();
        let answer = verdicts.find(|answer| answer.name == *rule_set);
        let answer = answer.ok_or_else(|| {
            Missing(vec![MissingFact {
                what: "rule set in force".to_owned(),
                of: rule_set.to_string(),
            }])
        })?;
        let verdict = &answer.verdict.as_ref().map_err(Clone::clone)?.value;
        let (cut_outs, vacant_at) = impaired(&self.cars, decision);
        let emergency = in_mode(&self.cars, decision.emergency());
        Ok(Found {
            cars: self.cars.iter().map(decided_car).collect(),
            cut_outs,
            vacant: vacant_at.len(),
            vacant_at,
            lost: emergency.lost,
            operative: emergency.operative,
            in_service: Some(in_mode(&self.cars, decision.service())),
            percentage: percentages(decision),
            holding: decision.holding.as_ref().ok().map(FoundHolding::from),
            stored: self.stored_air(&[]).iter().map(StoredIn::found).collect(),
            permission: verdict.permission,
            restrictions: (&verdict.restrictions).into(),
            rules: verdict.applied.iter().map(found_rule).collect(),
            cautions: verdict.cautions.clone(),
            later: answer.later_in_full().map(|words| format!("{words}.")),
            counted_until: decision.counted_until,
            departing: Some(decision.not_conceded.len()),
            failed_tests: Some(cars_of_failed_tests(decision)),
            due_at_once: Some(cars_with_work_due(&decision.due_at_once)),
            due_on_fitted: Some(cars_of(fitted(&decision.due_at_once))),
            warnings: warnings(decision, answer),
            overdue: overdue::in_short(&decision.overdue),
            due_at_once_fitted: fitted_in_short(&decision.due_at_once),
            judge_again: judge_again::in_short(&decision.judge_again),
        })
    }
}

fn cars_of_failed_tests(decision: &Decision) -> BTreeSet<CarNumber> {
    let failed = decision.failed_tests.iter();
    failed.map(|one| one.car_number.clone()).collect()
}

fn cars_with_work_due(due: &[DueAtOnceInTrain]) -> BTreeSet<CarNumber> {
    cars_of(due.iter().filter(|one| one.due.position.is_none()))
}

fn cars_of<'a>(due: impl Iterator<Item = &'a DueAtOnceInTrain>) -> BTreeSet<CarNumber> {
    due.map(|one| one.car_number.clone()).collect()
}

/// What is due at once on what is fitted, what is overdue and what is to be judged again is kept by itself:
/// of a past time that is not looked at, so that it is no part of what is compared.
fn warnings(decision: &Decision, answer: &RuleSetAnswer) -> Vec<String> {
    let others = decision.strictest_first().into_iter();
    let stricter = others.filter_map(|other| answer.stricter_words(other));
    let warnings = decision.warnings().into_iter();
    let kept = warnings.filter(|warning| !warning.kind.is_kept_by_itself());
    stricter.chain(kept.map(|warning| warning.text)).collect()
}

fn in_mode(cars: &[TrainCar], effect: &Effect) -> FoundInMode {
    let counts = &effect.counts;
    FoundInMode {
        lost: lost(cars, counts),
        operative: FoundCounts {
            axles: of_all(counts.axles),
            bogies: of_all(counts.bogies),
            cars: of_all(counts.cars),
        },
    }
}

fn of_all(share: Share) -> OfAll {
    OfAll {
        operative: share.operative,
        total: share.total,
    }
}

fn lost(cars: &[TrainCar], counts: &Counts) -> Vec<LostAxles> {
    let of_car = |(place, car): (usize, &TrainCar)| {
        let axles = counts.each_axle.iter();
        let lost = axles.filter(|axle| axle.car == place && !axle.tally.is_operative());
        LostAxles {
            car: car.number.clone(),
            axles: lost.map(|axle| axle.number).collect(),
        }
    };
    let all = cars.iter().enumerate().map(of_car);
    all.filter(|lost| !lost.axles.is_empty()).collect()
}

fn found_rule(applied: &AppliedRule) -> FoundRule {
    FoundRule {
        title: applied.title.clone(),
        permission: applied.permission,
        working: applied.working.clone(),
        source: applied.source.to_string(),
    }
}

fn decided_car(car: &TrainCar) -> DecidedCar {
    let car_type = car.circuit.car_type();
    DecidedCar {
        number: car.number.clone(),
        orientation: car.orientation,
        car_type: car_type.name.clone(),
        revision: car_type.revision.clone(),
    }
}

/// The cut-outs in force, and the positions that hold no component or an incomplete one.
fn impaired(cars: &[TrainCar], decision: &Decision) -> (Vec<DecidedCutOut>, Vec<PositionRef>) {
    let (mut cut_outs, mut vacant) = (Vec::new(), Vec::new());
    for one in &decision.impaired {
        let Some(car) = cars.get(one.car) else {
            continue;
        };
        let at = PositionRef {
            car: car.number.clone(),
            position: one.position.clone(),
        };
        match one.by {
            Impairment::CutOut(state) => {
                let mut of_car = car.cut_outs.iter();
                let known = of_car.find(|known| known.position == at.position);
                let since = known.and_then(|known| known.since);
                cut_outs.push(DecidedCutOut { at, state, since });
            }
            Impairment::Vacant | Impairment::Incomplete => vacant.push(at),
            // It follows from the others.
            Impairment::Emptied => {}
        }
    }
    (cut_outs, vacant)
}

fn percentages(decision: &Decision) -> Option<FoundPercentage> {
    let now = decision.percentage.as_ref().ok()?.value;
    let later = decision.percentage_later.as_ref().ok();
    Some(FoundPercentage {
        mass: now.after.mass(),
        before: now.before.braked_weight(),
        after: now.after.braked_weight(),
        later: later.map(|worked| worked.value.after.braked_weight()),
    })
}
