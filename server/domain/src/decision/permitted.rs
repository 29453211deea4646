//! Speed by gradient: the highest speed from which the train still stops within the signalling
//! distance, method by method.

use super::{StoppingPair, Way};
use crate::braking::stopping_distance::Method;
use crate::braking::stopping_distance::by_method::ByMethod;
use crate::units::{Distance, Gradient, Speed};
use crate::worked::Missing;

/// The gradients of the table beside the one asked for, from the steepest fall.
pub const GRADIENTS: [Gradient; 9] = [
    Gradient(-40.0),
    Gradient(-30.0),
    Gradient(-20.0),
    Gradient(-15.0),
    Gradient(-10.0),
    Gradient(-5.0),
    Gradient(0.0),
    Gradient(5.0),
    Gradient(10.0),
];

/// What is permitted on one gradient by one method.
#[derive(Debug, Clone, PartialEq)]
pub struct PermittedPair {
    /// With everything as it should be; none where the train does not even stop from 5 km/h.
    pub before: Result<Option<Speed>, Missing>,
    /// As it is.
    pub after: Result<Option<Speed>, Missing>,
    /// Whether the method says nothing of higher speeds, before and after: from some of them the
    /// train may stop too.
    pub at_least: [bool; 2],
}

/// A row of the table.
#[derive(Debug, Clone, PartialEq)]
pub struct PermittedRow {
    /// The gradient.
    pub gradient: Gradient,
    /// One for each method of the table.
    pub by_method: Vec<PermittedPair>,
}

/// The table.
#[derive(Debug, Clone, PartialEq)]
pub struct PermittedTable {
    /// The signalling distance within which the train must stop.
    pub within: Distance,
    /// The greatest speed that every car allows, beyond which no speed is tried.
    pub most: Speed,
    /// The methods, in the order of their columns.
    pub methods: Vec<Method>,
    /// The rows, from the steepest fall.
    pub rows: Vec<PermittedRow>,
}

/// Computes the table for some of the methods of a decision. No answer without a signalling
/// distance and a greatest speed. Computes for each method, before and after, on the steepest fall
/// at most one stop for every 5 km/h, and on each gentler gradient those that it permits more.
pub fn permitted_table(
    pairs: &[&StoppingPair],
    way: &Way,
    most: Option<Speed>,
) -> Result<PermittedTable, Missing> {
    let lacking = |what: &str, of: &str| Missing::one(what, of);
    let within = way.signalling_distance;
    let within = within.ok_or_else(|| lacking("signalling distance", "the question"))?;
    let most = most.ok_or_else(|| lacking("greatest speed", "the train"))?;
    let mut gradients = GRADIENTS.to_vec();
    gradients.extend(way.gradient);
    gradients.sort_by(|one, other| one.0.total_cmp(&other.0));
    gradients.dedup();
    let column = |pair: &&StoppingPair| {
        let [before, after] = [&pair.before, &pair.after]
            .map(|side| downhill_first(&side.by, &gradients, (within, most)));
        before.into_iter().zip(after)
    };
    let mut columns: Vec<_> = pairs.iter().map(column).collect();
    let row = |gradient| PermittedRow {
        gradient,
        by_method: columns
            .iter_mut()
            .filter_map(Iterator::next)
            .map(|(before, after)| PermittedPair {
                at_least: [before.at_least, after.at_least],
                before: before.speed,
                after: after.speed,
            })
            .collect(),
    };
    Ok(PermittedTable {
        within,
        most,
        methods: pairs.iter().map(|pair| pair.method).collect(),
        rows: gradients.iter().copied().map(row).collect(),
    })
}

/// A cell of the table, before or after.
struct Side {
    speed: Result<Option<Speed>, Missing>,
    at_least: bool,
}

/// What one method permits on some gradients, the steepest fall first: each begins where the one
/// before it ended.
fn downhill_first(
    by: &Result<ByMethod, Missing>,
    gradients: &[Gradient],
    (within, most): (Distance, Speed),
) -> Vec<Side> {
    let mut known = None;
    let side = |gradient: &Gradient| {
        let speed = by.as_ref().map_err(Clone::clone);
        let speed = speed.and_then(|by| by.permitted_above(known, *gradient, (within, most)));
        known = speed.as_ref().ok().copied().flatten().or(known);
        let at_least = match (by, &speed) {
            (Ok(by), Ok(Some(speed))) => by.is_silent_above(*speed, most),
            _ => false,
        };
        Side { speed, at_least }
    };
    gradients.iter().map(side).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::braking::stopping_distance::conversion_model::{
        Formation, Model, ModelPosition, ModelTrain,
    };
    use crate::decision::Stopping;

    fn by_relation(percent: f64) -> StoppingPair {
        let side = || Stopping {
            by: Ok(ByMethod::Relation(percent)),
            distance: Err(Missing::one("speed", "the question")),
        };
        StoppingPair {
            method: Method::BrakedWeightRelation,
            before: side(),
            after: side(),
        }
    }

    /// The cell on the level, within 1300 m.
    fn level(percent: f64, most: f64) -> (Option<Speed>, bool) {
        let way = Way {
            signalling_distance: Some(Distance(1300.0)),
            ..Way::default()
        };
        let pair = by_relation(percent);
        let table = permitted_table(&[&pair], &way, Some(Speed(most))).expect("a table");
        let mut rows = table.rows.iter();
        let row = rows.find(|row| row.gradient == Gradient(0.0));
        let cell = &row.expect("the level").by_method[0];
        let after = cell.after.clone().expect("an answer on the level");
        (after, cell.at_least[1])
    }

    /// UIC 544-1, constants for 100 and 120 km/h only: 83634/(153 + 19) = 486 m.
    #[test]
    fn the_last_speed_with_constants_is_no_limit_where_the_train_may_run_faster() {
        assert_eq!(level(153.0, 160.0), (Some(Speed(120.0)), true));
        assert_eq!(level(153.0, 120.0), (Some(Speed(120.0)), false));
        assert_eq!(level(153.0, 110.0), (Some(Speed(100.0)), true));
        // 83634/(40 + 19) = 1418 m from 120 km/h, 52840/(40 + 10) = 1057 m from 100 km/h.
        assert_eq!(level(40.0, 160.0), (Some(Speed(100.0)), false));
        assert_eq!(level(20.0, 160.0), (None, false));
    }

    /// One row begins where the one before it ended; each cell asked for alone says the same.
    #[test]
    fn each_cell_is_what_its_method_permits_when_asked_alone() {
        let within = (Distance(700.0), Speed(160.0));
        let formation = Formation {
            position: ModelPosition::PassengerP,
            length: Distance(300.0),
        };
        for percent in (35..=200).step_by(15) {
            let train = ModelTrain::new(percent, formation, within.1).expect("a train");
            let by = || Ok(ByMethod::Model(train, Model::DefaultValues));
            let gradients = GRADIENTS.as_slice();
            let column = downhill_first(&by(), gradients, within);
            for (gradient, side) in gradients.iter().zip(column) {
                let alone = by().and_then(|by| by.permitted(*gradient, within));
                assert_eq!(side.speed, alone, "{percent} % on {gradient}");
            }
        }
    }
}
