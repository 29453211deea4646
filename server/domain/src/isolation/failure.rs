//! How a single position fails, and a pipe in which something leaks.

use super::CutOutState;
use super::closing::Spot;
use crate::circuit::Medium;
use crate::identity::{CarNumber, PositionCode};
use serde::Serialize;
use std::fmt;

/// How a position fails.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fails {
    /// A cock is closed, everything else delivers nothing.
    To(CutOutState),
    /// It leaks, so that the pipe that it stands in loses all its air.
    Leaks {
        /// What the pipe carries, where that is one thing.
        medium: Option<Medium>,
        /// The other hoses and drain cocks of that pipe, whose leaking does the same.
        likewise: Vec<Spot>,
    },
}

impl Fails {
    /// The name in files and answers.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::To(state) => state.name(),
            Self::Leaks { .. } => "leaks",
        }
    }

    /// Of a leak, the pipe in words.
    pub const fn pipe(&self) -> Option<&'static str> {
        let Self::Leaks { medium, .. } = self else {
            return None;
        };
        Some(match medium {
            Some(Medium::MainAir) => "main air pipe",
            Some(Medium::BrakePipeAir) => "brake pipe",
            Some(Medium::PilotPressure) => "pilot pipe",
            Some(Medium::CylinderPressure) => "brake cylinder pipe",
            Some(Medium::SuspensionAir) => "air suspension pipe",
            Some(Medium::ParkingAir) => "parking brake pipe",
            Some(Medium::BrakePipeDemand | Medium::ElectricalDemand) | None => "pipe",
        })
    }

    /// Of a leak, where else in its pipe it may be: ", or one of 19 more"; else nothing.
    pub fn elsewhere(&self) -> String {
        match self {
            Self::To(_) => String::new(),
            Self::Leaks { likewise, .. } => match likewise.len() {
                0 => String::new(),
                1 => ", or another in its pipe".to_owned(),
                others => format!(", or one of {others} more"),
            },
        }
    }
}

impl fmt::Display for Fails {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::To(state) => state.fmt(f),
            Self::Leaks { .. } => f.write_str("leaks"),
        }
    }
}

/// A position that fails.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Failure {
    /// The car's place in the train, from 0.
    pub car: usize,
    /// The car's number.
    pub car_number: CarNumber,
    /// The position.
    pub position: PositionCode,
    /// How.
    pub how: Fails,
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            car_number,
            position,
            how,
            ..
        } = self;
        match how.pipe() {
            None => write!(f, "{car_number} {position} {how}"),
            Some(pipe) => {
                let elsewhere = how.elsewhere();
                write!(f, "{pipe} {how} ({car_number} {position}{elsewhere})")
            }
        }
    }
}
