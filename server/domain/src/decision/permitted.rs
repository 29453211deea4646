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
    let pair = |pair: &&StoppingPair, gradient| PermittedPair {
        before: speed(&pair.before.by, gradient),
        after: speed(&pair.after.by, gradient),
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
