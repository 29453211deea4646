//! Rules whose consequence is a speed: required percentages and stopping within a distance.

use super::{Finding, kept};
use crate::braking::percentage::{Percentage, Rounding};
use crate::braking::stopping_distance::braked_weight_relation::{self, CONSTANTS};
use crate::braking::stopping_distance::conversion_model::distance::{
    in_one_line, stopping_distance,
};
use crate::braking::stopping_distance::conversion_model::search::highest_speed_within;
use crate::braking::stopping_distance::conversion_model::{
    Brake, Conditions, Formation, Model, ModelTrain, PERCENTAGES,
};
use crate::rule_set::facts::TrainFacts;
use crate::rule_set::measure::needed;
use crate::rule_set::requirement::{
    DistanceTable, RequiredTable, Stopping, StoppingMethod, Within,
};
use crate::rule_set::verdict::{Imposed, ImposedSpeed, Permission};
use crate::units::{Distance, Gradient, Speed};
use crate::worked::Missing;

/// The greatest speed by a rule, or none at all.
fn at_most(speed: Option<Speed>, working: String) -> Finding {
    let imposed = |speed: Speed| ImposedSpeed {
        speed,
        words: format!("greatest speed that meets the rule: {} km/h", speed.0),
    };
    Finding {
        working,
        permission: match speed {
            Some(_) => Permission::WithRestrictions,
            None => Permission::MayNotRun,
        },
        restrictions: Imposed {
            speed: speed.map(imposed),
            ..Imposed::default()
        },
    }
}

fn speed_max(train: &TrainFacts) -> Result<Speed, Missing> {
    let speed = train.speed_max.filter(|speed| speed.0 > 0.0);
    needed(speed, "greatest speed with all brakes", "train")
}

fn gradient(train: &TrainFacts) -> Result<Gradient, Missing> {
    let gradient = train.gradient.filter(|gradient| gradient.0.is_finite());
    needed(gradient, "steepest gradient of the way ahead", "train")
}

fn signalling_distance(train: &TrainFacts) -> Result<Distance, Missing> {
    let distance = train.signalling_distance.filter(|d| d.0 > 0.0);
    needed(distance, "signalling distance of the way ahead", "train")
}

fn both<A, B>(a: Result<A, Missing>, b: Result<B, Missing>) -> Result<(A, B), Missing> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (Err(Missing(mut a)), Err(Missing(b))) => {
            a.extend(b);
            Err(Missing(a))
        }
        (Err(missing), Ok(_)) | (Ok(_), Err(missing)) => Err(missing),
    }
}

impl RequiredTable {
    /// The row for a signalling distance and a gradient: the greatest listed distance that is not
    /// longer, the least listed fall that is not milder. `None` beyond the table.
    pub fn row(&self, distance: Distance, gradient: Gradient) -> Option<Row<'_>> {
        let listed = self.tables.iter().rev();
        let table = listed
            .into_iter()
            .find(|t| t.signalling_distance <= distance)?;
        let row = table.rows.iter().find(|row| row.gradient <= gradient)?;
        let complete = row.required_percent.len() == table.speeds.len();
        complete.then_some(Row {
            table,
            gradient: row.gradient,
            required_percent: &row.required_percent,
        })
    }
}

/// A row of a table of required percentages.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row<'a> {
    /// The table it stands in.
    pub table: &'a DistanceTable,
    /// Its gradient.
    pub gradient: Gradient,
    /// The required percentage for each speed of the table.
    pub required_percent: &'a [u32],
}

impl Row<'_> {
    /// What is required for a speed: the least listed speed that is not lower. `None` above the
    /// highest listed.
    pub fn required(&self, speed: Speed) -> Option<u32> {
        let listed = self.table.speeds.iter().position(|s| *s >= speed)?;
        self.required_percent.get(listed).copied()
    }
}

pub(super) fn judge_table(rule: &RequiredTable, train: &TrainFacts) -> Result<Finding, Missing> {
    let way = both(signalling_distance(train), gradient(train));
    let (way, (speed, measured)) = both(way, both(speed_max(train), rule.measure.of(train)))?;
    let (distance, gradient) = way;
    let of = format!("table of the rule for {distance:.0} and {gradient}");
    let row = needed(rule.row(distance, gradient), "a row", &of)?;
    let meets = |required: u32| measured.ratio.is_at_least(required);
    let place = format!(
        "{}; row {:.0}, {}",
        measured.working, row.table.signalling_distance, row.gradient
    );
    if let Some(required) = row.required(speed).filter(|required| meets(*required)) {
        let working = format!("{place}: {required} % required for {speed:.0}");
        return Ok(kept(working));
    }
    let columns = row.table.speeds.iter().zip(row.required_percent);
    let met = columns.take_while(|(_, required)| meets(**required));
    let highest = met.last().map(|(speed, _)| *speed);
    let found = highest.map_or("for no speed".to_owned(), |speed| {
        format!("up to {speed:.0}")
    });
    Ok(at_most(
        highest,
        format!("{place}: enough {found}, wanted {speed:.0}"),
    ))
}

pub(super) fn judge_stopping(rule: Stopping, train: &TrainFacts) -> Result<Finding, Missing> {
    let limit = match rule.within {
        Within::SignallingDistance => signalling_distance(train),
        Within::Distance(distance) => Ok(distance),
    };
    let percentage = needed(train.percentage, "brake percentage", "train");
    let way = both(limit, gradient(train));
    let ((limit, gradient), (speed, percentage)) = both(way, both(speed_max(train), percentage))?;
    let question = Question {
        percentage: percentage.left(),
        speed,
        gradient,
        limit,
    };
    let formation = || needed(train.formation, "brake position and length", "train");
    match rule.method {
        StoppingMethod::BrakedWeightRelation => by_relation(question),
        StoppingMethod::ConversionNominal => by_model(question, formation()?, Model::Nominal),
        StoppingMethod::ConversionDefaultValues => {
            by_model(question, formation()?, Model::DefaultValues)
        }
    }
}

/// From which speed a train stops within a distance.
#[derive(Clone, Copy)]
struct Question {
    percentage: Percentage,
    speed: Speed,
    gradient: Gradient,
    limit: Distance,
}

/// A percentage that is known and lower than any that a method covers: no speed is proved from
/// which the train stops. That is no missing fact.
fn proves_nothing(question: Question, covers: &str, of: &str) -> Finding {
    let working = format!(
        "{}, below what the method covers, {covers} ({of}): no speed is proved from which the \
         train stops within {:.0}",
        question.percentage, question.limit
    );
    at_most(None, working)
}

fn by_model(question: Question, formation: Formation, model: Model) -> Result<Finding, Missing> {
    let percentage = question.percentage.whole(Rounding::Down);
    let least = *PERCENTAGES.start();
    if percentage < least {
        let of = "conversion model, SUBSET-026-3, 3.13.3.2";
        return Ok(proves_nothing(question, &format!("at least {least} %"), of));
    }
    let train = ModelTrain::new(percentage, formation, question.speed)?;
    let conditions = Conditions {
        model,
        brake: Brake::Emergency,
        gradient: question.gradient,
    };
    let wanted = stopping_distance(&train, conditions, question.speed)?.value;
    let (speed, limit) = (question.speed, question.limit);
    let label = wanted.method.label();
    let working = format!(
        "{percentage} %, {}: from {speed:.0} {}, allowed {limit:.0} ({label}): {}",
        question.gradient,
        wanted.stop,
        in_one_line(&train, conditions, speed)
    );
    if wanted.stop.is_within(limit) {
        return Ok(kept(working));
    }
    let highest = highest_speed_within(&train, conditions, limit)?.value;
    Ok(at_most(highest, working))
}

/// The relation holds on the level only, and only from listed speeds; below the lowest of them it
/// says nothing.
fn by_relation(question: Question) -> Result<Finding, Missing> {
    let Question { speed, limit, .. } = question;
    let of = "braked-weight relation of UIC 544-1";
    if question.percentage.percent() <= 0.0 {
        return Ok(proves_nothing(question, "more than 0 %", of));
    }
    if question.gradient.0 < 0.0 {
        return Err(Missing::one("a relation for falling gradients", of));
    }
    let percentage = question.percentage.percent();
    let stops = |from| -> Result<(bool, String), Missing> {
        let found = braked_weight_relation::stopping_distance(&CONSTANTS, percentage, from)?;
        let numbers = found.steps.into_iter().map(|step| step.working);
        let numbers: Vec<String> = numbers.collect();
        Ok((found.value.stop.is_within(limit), numbers.join("; ")))
    };
    let listed = || CONSTANTS.iter().map(|constants| constants.speed);
    let working = format!("{percentage:.1} % on the level within {limit:.0}, {of}");
    let above = listed().find(|listed| *listed >= speed);
    if let Some(from) = above
        && let (true, numbers) = stops(from)?
    {
        return Ok(kept(format!("{working}: stops from {from:.0}: {numbers}")));
    }
    let mut highest = None;
    for from in listed().filter(|listed| *listed < speed) {
        if let (true, numbers) = stops(from)? {
            highest = Some((from, numbers));
        }
    }
    let below = "constants for lower speeds: no constants";
    let (highest, numbers) = needed(highest, below, of)?;
    let working = format!("{working}: stops from {highest:.0}, wanted {speed:.0}: {numbers}");
    Ok(at_most(Some(highest), working))
}
