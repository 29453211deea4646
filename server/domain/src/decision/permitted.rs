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
/// distance and a greatest speed. Computes for each gradient, each method, before and after, at
/// most one stop for every 5 km/h: 2,400 stops for three methods and 200 km/h.
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
    let speed = |by: &Result<ByMethod, Missing>, gradient| {
        let by = by.as_ref().map_err(Clone::clone)?;
        by.permitted(gradient, (within, most))
    };
    let at_least = |by: &Result<ByMethod, Missing>, found: &Result<Option<Speed>, Missing>| {
        let (Ok(by), Ok(Some(speed))) = (by, found) else {
            return false;
        };
        by.is_silent_above(*speed, most)
    };
    let pair = |pair: &&StoppingPair, gradient| {
        let (before, after) = (&pair.before.by, &pair.after.by);
        let found = [speed(before, gradient), speed(after, gradient)];
        let at_least = [at_least(before, &found[0]), at_least(after, &found[1])];
        let [before, after] = found;
        PermittedPair {
            before,
            after,
            at_least,
        }
    };
    let row = |gradient| PermittedRow {
        gradient,
        by_method: pairs.iter().map(|one| pair(one, gradient)).collect(),
    };
    Ok(PermittedTable {
        within,
        most,
        methods: pairs.iter().map(|pair| pair.method).collect(),
        rows: gradients.into_iter().map(row).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
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
}
