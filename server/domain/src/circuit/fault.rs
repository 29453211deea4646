//! What is wrong with the description of a circuit. Each fault names the node or the line.

use super::Place;
use crate::identity::PositionCode;
use std::fmt;
use thiserror::Error;

/// A line of a description, to find it again: its number, counted from 1, and its two ends.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct LineName {
    /// Its number in the description, from 1.
    pub number: usize,
    /// Where it comes from.
    pub from: Place,
    /// Where it goes to.
    pub to: Place,
}

impl LineName {
    /// The line by its two ends alone, for those who may have it under another number.
    pub fn by_its_ends(&self) -> String {
        format!("line {} to {}", self.from, self.to)
    }
}

impl fmt::Display for LineName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "line {} ({} to {})", self.number, self.from, self.to)
    }
}

/// A fault in the description of a circuit. With one in it, a circuit gives no answers.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CircuitFault {
    /// A node for a position that the car type has not got.
    #[error("node {0}: the car type has no such position")]
    UnknownNode(PositionCode),
    /// Two nodes for one position.
    #[error("node {0}: described twice; a position has one behaviour")]
    RepeatedNode(PositionCode),
    /// A line to or from a position that the car type has not got.
    #[error("{line}: the car type has no position {position}")]
    UnknownPosition {
        /// The line.
        line: LineName,
        /// The position.
        position: PositionCode,
    },
    /// A line to or from a position whose behaviour is not described.
    #[error("{line}: position {position} has no node; describe what it does with air")]
    PositionWithoutNode {
        /// The line.
        line: LineName,
        /// The position.
        position: PositionCode,
    },
    /// A line out of an actuator, which passes nothing on.
    #[error("{0}: comes from an actuator, which passes nothing on")]
    OutOfActuator(LineName),
    /// A line into a source, which heeds no input.
    #[error("{0}: goes into a source, which heeds no input; an all-of does")]
    IntoSource(LineName),
    /// A line that carries what nothing brings to the node it comes from.
    #[error("{0}: carries a medium that no line brings to where it comes from")]
    MediumNotBrought(LineName),
    /// A node that needs an input and has no line into it.
    #[error("node {0}: no line goes into it")]
    WithoutInput(PositionCode),
    /// More named inputs than a node may have.
    #[error("node {0}: more than {INPUTS_MAX} named inputs")]
    TooManyInputs(PositionCode),
    /// A source that is never active.
    #[error("node {0}: a source needs at least one mode")]
    SourceWithoutMode(PositionCode),
    /// An air-applied actuator that acts on no axle.
    #[error("node {0}: an air-applied actuator needs the axle it acts on")]
    WithoutAxle(PositionCode),
    /// An actuator on an axle or bogie that the car type has not got, or on an axle of
    /// another bogie.
    #[error("node {0}: the car type has no such axle on that bogie")]
    UnknownAxle(PositionCode),
    /// A value that cannot be.
    #[error("{position}: {what} {value}; expected {least} to {most}")]
    Absurd {
        /// Where.
        position: PositionCode,
        /// Of what.
        what: &'static str,
        /// The value as given.
        value: i64,
        /// The least that could be.
        least: i64,
        /// The most that could be.
        most: i64,
    },
    /// A braked weight of what is no air-applied actuator of the circuit.
    #[error("braked weight of {0}: that is no air-applied actuator of the circuit")]
    BrakedWeightOfNoActuator(PositionCode),
    /// Two braked weights for the same case.
    #[error("braked weight of {0}: given twice for one brake position and load")]
    RepeatedBrakedWeight(PositionCode),
}

impl CircuitFault {
    /// The line where it lies, if it is one of a line.
    pub fn line(&self) -> Option<&LineName> {
        match self {
            Self::UnknownPosition { line, .. }
            | Self::PositionWithoutNode { line, .. }
            | Self::OutOfActuator(line)
            | Self::IntoSource(line)
            | Self::MediumNotBrought(line) => Some(line),
            _ => None,
        }
    }

    /// The node where it lies, if it is one of a node.
    pub fn node(&self) -> Option<&PositionCode> {
        match self {
            Self::UnknownNode(position)
            | Self::RepeatedNode(position)
            | Self::WithoutInput(position)
            | Self::TooManyInputs(position)
            | Self::SourceWithoutMode(position)
            | Self::WithoutAxle(position)
            | Self::UnknownAxle(position)
            | Self::Absurd { position, .. } => Some(position),
            _ => None,
        }
    }

    /// The position whose braked weight it is about, if it is one of a braked weight.
    pub fn braked_weight(&self) -> Option<&PositionCode> {
        match self {
            Self::BrakedWeightOfNoActuator(position) | Self::RepeatedBrakedWeight(position) => {
                Some(position)
            }
            _ => None,
        }
    }
}

/// The most named inputs that one node may have.
pub const INPUTS_MAX: usize = 32;
