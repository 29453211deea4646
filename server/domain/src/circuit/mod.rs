//! A car type's brake as a circuit: positions and car-end ports joined by lines. The effect of
//! a cut-out is computed from it and from nothing else.

pub mod check;
pub mod compiled;
pub(crate) mod delivers;
mod draft;
pub mod fault;
mod lines_out;
pub(crate) mod scenarios;
pub(crate) mod sets;
pub mod state;
pub mod text;
pub mod train;

use crate::identity::PositionCode;
use crate::unreadable::Unreadable;
use crate::words::word_list;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

word_list! {
    /// What the brake is asked to do.
    Mode, "mode" {
        /// Braking on demand while running.
        Service = "service",
        /// The shortest stop, commanded by losing the emergency line or the brake pipe.
        Emergency = "emergency",
        /// Standing without anybody acting: the parking brake.
        Holding = "holding",
    }
}

word_list! {
    /// What a line carries.
    Medium, "medium" {
        /// Air of the main reservoir pipe and the supply reservoirs.
        MainAir = "main_air",
        /// Charging air of the brake pipe.
        BrakePipeAir = "brake_pipe_air",
        /// The demand to brake that the brake pipe carries: its reduction.
        BrakePipeDemand = "brake_pipe_demand",
        /// Pressure that pilots a relay valve.
        PilotPressure = "pilot_pressure",
        /// Pressure in the brake cylinders.
        CylinderPressure = "cylinder_pressure",
        /// Air of the air suspension.
        SuspensionAir = "suspension_air",
        /// Air that keeps the parking brake released.
        ParkingAir = "parking_air",
        /// A demand to brake by wire.
        ElectricalDemand = "electrical_demand",
    }
}

word_list! {
    /// An end of a car. End 1 is the end that the drawings begin from, never the leading end.
    End, "end" {
        /// The end that drawings and position numbers begin from.
        End1 = "end1",
        /// The other end.
        End2 = "end2",
    }
}

impl End {
    /// The other end.
    #[must_use]
    pub fn opposite(self) -> End {
        match self {
            End::End1 => End::End2,
            End::End2 => End::End1,
        }
    }
}

/// A node of a circuit: a position, or a port where a pipe or wire leaves the car. Written
/// `=BS-Q1` or `end1:main_pipe`; ports of coupled cars meet when their pipes bear one name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum Place {
    /// A position of the car type.
    Position(PositionCode),
    /// A pipe or wire at an end of the car.
    Port {
        /// At which end.
        end: End,
        /// Which pipe or wire, in lower case letters and underscores.
        pipe: String,
    },
}

/// The greatest length of a pipe's name.
const PIPE_MAX_CHARS: usize = 40;

impl Place {
    /// The position; none for a port.
    pub fn position(&self) -> Option<&PositionCode> {
        match self {
            Self::Position(code) => Some(code),
            Self::Port { .. } => None,
        }
    }
}

impl FromStr for Place {
    type Err = Unreadable;
    fn from_str(text: &str) -> Result<Self, Unreadable> {
        let Some((end, pipe)) = text.split_once(':') else {
            return text.parse().map(Place::Position);
        };
        let end = end.parse()?;
        let fits = (1..=PIPE_MAX_CHARS).contains(&pipe.len());
        if !fits || !pipe.bytes().all(|b| b.is_ascii_lowercase() || b == b'_') {
            let expected = "a port such as end1:main_pipe, the pipe in lower case letters";
            return Err(Unreadable::new("port", text, expected));
        }
        Ok(Place::Port {
            end,
            pipe: pipe.to_owned(),
        })
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Place::Position(code) => code.fmt(f),
            Place::Port { end, pipe } => write!(f, "{}:{pipe}", end.name()),
        }
    }
}

impl TryFrom<String> for Place {
    type Error = Unreadable;
    fn try_from(text: String) -> Result<Self, Unreadable> {
        text.parse()
    }
}

impl From<Place> for String {
    fn from(place: Place) -> String {
        place.to_string()
    }
}

/// When a node delivers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", tag = "behaviour")]
pub enum Behaviour {
    /// Delivering in the named modes: a compressor in all, a brake controller in service, an
    /// emergency valve in emergency, a parking control valve whenever it keeps brakes released.
    Source {
        /// The modes in which it delivers.
        modes: Vec<Mode>,
    },
    /// Filter, hose, check valve, dump valve: delivers, medium by medium, what any line brings.
    Pass,
    /// As a pass while open; closed, it delivers nothing.
    Cock {
        /// Whether closing it empties what lies downstream.
        venting: bool,
    },
    /// As a pass, and stores main air.
    Reservoir {
        /// Its volume in litres.
        volume_l: u32,
    },
    /// Relay valve, distributor: delivers when every named input has a delivering line.
    AllOf,
    /// Shuttle valve (double check valve): delivers when one input delivers.
    AnyOf,
    /// Presses pads or blocks when its input delivers.
    AirApplied,
    /// Presses by a spring when its input does not deliver.
    SpringApplied {
        /// The force it holds with at the rail, in newtons.
        holding_force_n: u32,
    },
}

impl Behaviour {
    /// Whether the node brakes or holds.
    pub fn is_actuator(&self) -> bool {
        matches!(self, Self::AirApplied | Self::SpringApplied { .. })
    }
}

/// A node with its behaviour.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Node {
    /// Which position. Ports need no node of their own: each passes what reaches it.
    pub position: PositionCode,
    /// When it delivers.
    #[serde(flatten)]
    pub behaviour: Behaviour,
}

/// A line from one node to a named input of another. A pipe that flows both ways is two lines.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Line {
    /// Where it comes from.
    pub from: Place,
    /// Where it goes to.
    pub to: Place,
    /// The input it joins there: "in", "supply", "pilot".
    pub input: String,
    /// What it carries.
    pub medium: Medium,
    /// The modes in which it is open; empty means all.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub modes: Vec<Mode>,
}

/// The whole circuit of a car type.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Circuit {
    /// Its nodes, one for each position that air or demand passes.
    pub nodes: Vec<Node>,
    /// Its lines.
    pub lines: Vec<Line>,
}
