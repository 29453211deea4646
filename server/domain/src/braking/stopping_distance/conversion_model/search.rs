//! The model asked the other way round: from which speed a train stops within a distance, and
//! which percentage it needs.

use super::distance::{stop, stopping_distance};
use super::{Conditions, Formation, ModelTrain, PERCENTAGES, SPEED_MAX};
use crate::braking::stopping_distance::permitted::{self, SPEED_STEP_KM_H};
use crate::units::{Distance, Speed};
use crate::worked::{Missing, Step, Worked};

/// The highest speed up to some speed, and to 200 km/h, from which the train stops within a
/// distance, without the working; from a speed that is known to be one of them.
pub fn permitted(
    train: &ModelTrain,
    conditions: Conditions,
    (limit, most, known): (Distance, Speed, Option<Speed>),
) -> Option<Speed> {
    let most = Speed(most.0.min(SPEED_MAX.0));
    let stop = |speed| stop(train, conditions, speed);
    permitted::highest_speed_from(known, (limit, most), stop)
}

/// The highest speed, in steps of 5 km/h up to 200, from which the train stops within a distance;
/// `None` when it does not even from 5 km/h. At most 40 stops are computed.
pub fn highest_speed_within(
    train: &ModelTrain,
    conditions: Conditions,
    limit: Distance,
) -> Result<Worked<Option<Speed>>, Missing> {
    let value = permitted(train, conditions, (limit, SPEED_MAX, None));
    let shown = value.unwrap_or(Speed(f64::from(SPEED_STEP_KM_H)));
    let mut steps = stopping_distance(train, conditions, shown)?.steps;
    let found = value.map_or("none".to_owned(), |speed| format!("{speed:.0}"));
    let working =
        format!("in steps of {SPEED_STEP_KM_H} km/h, stopping within {limit:.0}: {found}");
    steps.push(Step::published(
        "highest speed",
        working,
        "SUBSET-026-3, A.3.7 to A.3.9, speeds tried upward",
    ));
    Ok(Worked { value, steps })
}

const SMALLEST_SOURCE: &str = "SUBSET-026-3, A.3.7 to A.3.9, percentages tried from 30 upward";

/// The smallest whole percentage from 30 to 250 with which a train stops from a speed within a
/// distance; `None` when none is enough. The answer 30 is the model's lower end, not a minimum.
/// At most 221 stops are computed.
pub fn smallest_percentage_within(
    formation: Formation,
    conditions: Conditions,
    from: Speed,
    limit: Distance,
) -> Result<Worked<Option<u32>>, Missing> {
    let mut value = None;
    let mut steps = Vec::new();
    for percentage in PERCENTAGES {
        let train = ModelTrain::new(percentage, formation, from)?;
        if stop(&train, conditions, from).is_within(limit) {
            steps = stopping_distance(&train, conditions, from)?.steps;
            value = Some(percentage);
            break;
        }
    }
    let found = value.map_or("none".to_owned(), |percent| format!("{percent} %"));
    let working = format!("stopping from {from:.0} within {limit:.0}: {found}");
    let what = "smallest brake percentage";
    steps.push(Step::published(what, working, SMALLEST_SOURCE));
    Ok(Worked { value, steps })
}
