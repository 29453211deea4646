//! What is fitted to a car of a train and yet is not as it must be: assemblies without what they
//! need, and components that were found unfit where they are.

use crate::configuration::component::Condition;
use crate::configuration::filled::FilledPositions;
use crate::configuration::part::Vacancy;
use crate::identity::{CarNumber, PartNumber, PositionCode};
use crate::ledger::dossier::Documents;
use serde::Serialize;

/// What is wrong at a position of a car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fault {
    /// Nothing is there, inside an assembly that does not go on a car without it.
    Missing,
    /// What is there was found in this condition.
    Unfit(Condition),
}

/// A position of a car where something is not as it must be though the assembly or the component
/// is fitted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Shortcoming {
    /// Where.
    pub position: PositionCode,
    /// What.
    pub fault: Fault,
}

/// The same in a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ShortcomingInTrain {
    /// The car.
    pub car_number: CarNumber,
    /// Where on it, and what.
    #[serde(flatten)]
    pub shortcoming: Shortcoming,
}

/// What is known of a component on a car besides that it is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FittedTold {
    /// Where it is.
    pub position: PositionCode,
    /// Its part.
    pub part: PartNumber,
    /// Its condition.
    pub condition: Condition,
}

/// The shortcomings of a car, given what is told of the components on it, the same once or more
/// often, and all its positions that are filled. Linear in what is told, times the places inside.
pub fn shortcomings(
    documents: &Documents,
    told: &[FittedTold],
    filled: &FilledPositions,
) -> Vec<Shortcoming> {
    let mut found: Vec<Shortcoming> = Vec::new();
    let mut add = |position: PositionCode, fault| {
        let shortcoming = Shortcoming { position, fault };
        if !found.contains(&shortcoming) {
            found.push(shortcoming);
        }
    };
    for one in told {
        if one.condition != Condition::Serviceable {
            add(one.position.clone(), Fault::Unfit(one.condition));
        }
        let inner = documents.part(&one.part).into_iter();
        let needed = inner
            .flat_map(|part| &part.positions)
            .filter(|inner| inner.vacancy == Vacancy::Forbidden)
            .filter_map(|inner| one.position.followed_by(&inner.code));
        for code in needed.filter(|code| !filled.contains(code)) {
            add(code, Fault::Missing);
        }
    }
    found
}

/// The positions among those given that hold an assembly in which something needed is missing, at
/// whatever level: such an assembly cannot be counted on.
pub fn incomplete<'p>(
    positions: impl Iterator<Item = &'p PositionCode>,
    shortcomings: &[Shortcoming],
) -> Vec<PositionCode> {
    let missing = shortcomings
        .iter()
        .filter(|one| one.fault == Fault::Missing);
    let missing: Vec<&PositionCode> = missing.map(|one| &one.position).collect();
    let holds = |position: &&PositionCode| missing.iter().any(|inner| inner.is_inside(position));
    positions.filter(holds).cloned().collect()
}
