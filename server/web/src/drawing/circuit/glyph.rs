//! The symbol of each kind of position, in the manner of ISO 1219-1 (from memory, not verified
//! against the standard): drawn with flow from above to below.

use domain::circuit::Behaviour;
use domain::configuration::car_type::PositionKind;

/// A symbol. Several kinds may share one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Glyph {
    Compressor,
    Dryer,
    Filter,
    Reservoir,
    CockOpen,
    VentingCockOpen,
    CockClosed,
    DrainCock,
    CheckValve,
    DoubleCheckValve,
    ReducingValve,
    OverflowValve,
    SafetyValve,
    ControlUnit,
    MagnetValve,
    RelayValve,
    DistributorValve,
    ParkingValve,
    DumpValve,
    LevellingValve,
    BrakeController,
    EmergencyValve,
    Hose,
    Caliper,
    TreadBrakeUnit,
    ParkingCylinder,
    LoadSensor,
    PressureSwitch,
    PressureSensor,
    Gauge,
    TestPoint,
    Unit,
}

/// Whether a cock stands closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stands {
    Open,
    Closed,
}

impl Glyph {
    /// The symbol of a position.
    pub(crate) fn of(kind: PositionKind, behaviour: &Behaviour, stands: Stands) -> Self {
        use PositionKind as K;
        match kind {
            K::IsolatingCock | K::EndCock => match (stands, behaviour) {
                (Stands::Closed, _) => Self::CockClosed,
                (Stands::Open, Behaviour::Cock { venting: true }) => Self::VentingCockOpen,
                (Stands::Open, _) => Self::CockOpen,
            },
            K::DrainCock => Self::DrainCock,
            K::Filter => Self::Filter,
            K::Hose => Self::Hose,
            K::CheckValve => Self::CheckValve,
            K::DoubleCheckValve => Self::DoubleCheckValve,
            K::Reservoir => Self::Reservoir,
            K::RelayValve => Self::RelayValve,
            K::DistributorValve => Self::DistributorValve,
            K::ControlUnit => Self::ControlUnit,
            K::MagnetValve => Self::MagnetValve,
            K::ReducingValve => Self::ReducingValve,
            K::OverflowValve => Self::OverflowValve,
            K::SafetyValve => Self::SafetyValve,
            K::DumpValve => Self::DumpValve,
            K::ControlPanel | K::SpeedSensor | K::SlideProtectionUnit => Self::Unit,
            K::Caliper => Self::Caliper,
            K::TreadBrakeUnit => Self::TreadBrakeUnit,
            K::ParkingCylinder => Self::ParkingCylinder,
            K::ParkingValve => Self::ParkingValve,
            K::Compressor => Self::Compressor,
            K::AirDryer => Self::Dryer,
            K::LevellingValve => Self::LevellingValve,
            K::LoadSensor => Self::LoadSensor,
            K::PressureSwitch => Self::PressureSwitch,
            K::PressureSensor => Self::PressureSensor,
            K::Gauge => Self::Gauge,
            K::BrakeController => Self::BrakeController,
            K::EmergencyValve => Self::EmergencyValve,
            K::TestPoint => Self::TestPoint,
        }
    }

    /// Its name within a page.
    pub(crate) fn id(self) -> &'static str {
        match self {
            Self::Compressor => "iso-compressor",
            Self::Dryer => "iso-dryer",
            Self::Filter => "iso-filter",
            Self::Reservoir => "iso-reservoir",
            Self::CockOpen => "iso-cock-open",
            Self::VentingCockOpen => "iso-venting-cock-open",
            Self::CockClosed => "iso-cock-closed",
            Self::DrainCock => "iso-drain-cock",
            Self::CheckValve => "iso-check-valve",
            Self::DoubleCheckValve => "iso-double-check-valve",
            Self::ReducingValve => "iso-reducing-valve",
            Self::OverflowValve => "iso-overflow-valve",
            Self::SafetyValve => "iso-safety-valve",
            Self::ControlUnit => "iso-control-unit",
            Self::MagnetValve => "iso-magnet-valve",
            Self::RelayValve => "iso-relay-valve",
            Self::DistributorValve => "iso-distributor-valve",
            Self::ParkingValve => "iso-parking-valve",
            Self::DumpValve => "iso-dump-valve",
            Self::LevellingValve => "iso-levelling-valve",
            Self::BrakeController => "iso-brake-controller",
            Self::EmergencyValve => "iso-emergency-valve",
            Self::Hose => "iso-hose",
            Self::Caliper => "iso-caliper",
            Self::TreadBrakeUnit => "iso-tread-brake-unit",
            Self::ParkingCylinder => "iso-parking-cylinder",
            Self::LoadSensor => "iso-load-sensor",
            Self::PressureSwitch => "iso-pressure-switch",
            Self::PressureSensor => "iso-pressure-sensor",
            Self::Gauge => "iso-gauge",
            Self::TestPoint => "iso-test-point",
            Self::Unit => "iso-unit",
        }
    }

    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Compressor => "compressor",
            Self::Dryer => "air dryer",
            Self::Filter => "filter, dirt collector",
            Self::Reservoir => "reservoir",
            Self::CockOpen => "cock, open",
            Self::VentingCockOpen => "cock that vents, open",
            Self::CockClosed => "cock, closed",
            Self::DrainCock => "drain cock, normally closed",
            Self::CheckValve => "check valve",
            Self::DoubleCheckValve => "double check valve",
            Self::ReducingValve => "reducing valve",
            Self::OverflowValve => "overflow valve",
            Self::SafetyValve => "safety valve",
            Self::ControlUnit => "brake control unit",
            Self::MagnetValve => "magnet valve",
            Self::RelayValve => "relay valve",
            Self::DistributorValve => "distributor valve",
            Self::ParkingValve => "parking valve, bistable",
            Self::DumpValve => "dump valve",
            Self::LevellingValve => "levelling valve",
            Self::BrakeController => "brake controller, driver’s brake valve",
            Self::EmergencyValve => "emergency valve or push-button",
            Self::Hose => "hose",
            Self::Caliper => "caliper with its cylinder",
            Self::TreadBrakeUnit => "tread brake unit",
            Self::ParkingCylinder => "parking cylinder, spring-applied",
            Self::LoadSensor => "load sensor",
            Self::PressureSwitch => "pressure switch",
            Self::PressureSensor => "pressure sensor",
            Self::Gauge => "gauge",
            Self::TestPoint => "test point",
            Self::Unit => "sensor or electronics",
        }
    }
}
