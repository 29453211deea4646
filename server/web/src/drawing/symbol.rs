//! One symbol for each group of kinds, in plain shapes: a cock is two triangles, a valve a
//! square, a reservoir a capsule, air treatment a diamond, after the habits of ISO 1219-1
//! (from memory, not verified).

use domain::configuration::car_type::PositionKind;
use domain::due::state::State;

/// The symbol of a position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Symbol {
    Cock,
    Valve,
    Electric,
    Reservoir,
    Treatment,
    Compressor,
    Actuator,
    Hose,
    Measuring,
}

impl Symbol {
    /// The symbol of a kind.
    pub(crate) fn of(kind: PositionKind) -> Self {
        use PositionKind as K;
        match kind {
            K::IsolatingCock | K::EndCock | K::DrainCock => Self::Cock,
            K::CheckValve
            | K::DoubleCheckValve
            | K::RelayValve
            | K::DistributorValve
            | K::ReducingValve
            | K::OverflowValve
            | K::SafetyValve
            | K::LevellingValve
            | K::EmergencyValve => Self::Valve,
            K::ControlPanel
            | K::ControlUnit
            | K::SlideProtectionUnit
            | K::MagnetValve
            | K::DumpValve
            | K::ParkingValve
            | K::BrakeController => Self::Electric,
            K::Reservoir => Self::Reservoir,
            K::Filter | K::AirDryer => Self::Treatment,
            K::Compressor => Self::Compressor,
            K::Caliper | K::TreadBrakeUnit | K::ParkingCylinder => Self::Actuator,
            K::Hose => Self::Hose,
            K::SpeedSensor
            | K::LoadSensor
            | K::PressureSwitch
            | K::PressureSensor
            | K::Gauge
            | K::TestPoint => Self::Measuring,
        }
    }

    /// Its name within a page.
    pub(crate) fn id(self) -> &'static str {
        match self {
            Self::Cock => "symbol-cock",
            Self::Valve => "symbol-valve",
            Self::Electric => "symbol-electric",
            Self::Reservoir => "symbol-reservoir",
            Self::Treatment => "symbol-treatment",
            Self::Compressor => "symbol-compressor",
            Self::Actuator => "symbol-actuator",
            Self::Hose => "symbol-hose",
            Self::Measuring => "symbol-measuring",
        }
    }

    /// What it stands for.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Cock => "cock",
            Self::Valve => "valve worked by air or hand",
            Self::Electric => "valve or unit worked electrically",
            Self::Reservoir => "reservoir",
            Self::Treatment => "filter or dryer",
            Self::Compressor => "compressor",
            Self::Actuator => "caliper, tread brake unit or parking cylinder",
            Self::Hose => "hose",
            Self::Measuring => "sensor, switch, gauge or test point",
        }
    }
}

/// How a position stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Standing {
    /// Whether it holds a component.
    pub(crate) presence: Presence,
    /// Whether it is cut out. Apart from due work: neither implies the other.
    pub(crate) cut_out: bool,
    /// The worst state of the work due on it; none where it has no tasks, or is not told.
    pub(crate) due: Option<State>,
}

/// Whether a position holds a component.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Presence {
    /// It holds one.
    Fitted,
    /// It holds none.
    Empty,
}

impl Standing {
    /// The classes by which the style sheet draws it.
    pub(crate) fn class(self) -> String {
        let presence = match self.presence {
            Presence::Fitted => "fitted",
            Presence::Empty => "empty",
        };
        let due = self.due.map_or("not_due", State::name);
        let cut_out = if self.cut_out { " cut-out" } else { "" };
        format!("{presence} drawn-{due}{cut_out}")
    }

    /// The mark beside the symbol, the same as beside the state's word in tables.
    pub(crate) fn mark(self) -> &'static str {
        match self.due {
            Some(State::Overdue) => "▲",
            Some(State::InLateTolerance) => "◆",
            Some(State::Due) => "●",
            Some(State::InWindow) => "◐",
            Some(State::Unknown) => "?",
            Some(State::NotDue | State::NoDate) | None => "",
        }
    }

    /// Whether somebody should look at it.
    pub(crate) fn stands_out(self) -> bool {
        let due = matches!(
            self.due,
            Some(State::Overdue | State::InLateTolerance | State::Due)
        );
        self.cut_out || due || self.presence == Presence::Empty
    }
}
