//! The design of a car: bogies, axles, masses, positions, circuit and assessed braked weights.

use super::brake_forces::BrakeForces;
use super::part::StatesApproved;
use super::setting::Setting;
use crate::circuit::{Circuit, End};
use crate::identity::{CarTypeName, FleetName, PartNumber, PositionCode, Revision, SettingName};
use crate::units::Kilograms;
use crate::words::word_list;
use serde::{Deserialize, Serialize};

word_list! {
    /// How a car is loaded: the three load conditions of Regulation (EU) 1302/2014, 4.2.4.5.2(6).
    LoadState, "load state" {
        /// Design mass in working order.
        Minimum = "minimum",
        /// Design mass under normal payload.
        Normal = "normal",
        /// Maximum braking load.
        Maximum = "maximum",
    }
}

word_list! {
    /// The load that the brake control takes when its load signal is lost.
    AssumedLoad, "load assumed without a load signal" {
        /// Design mass in working order: it brakes too little when the car is laden.
        Minimum = "minimum",
        /// Normal payload.
        Normal = "normal",
        /// Maximum braking load: it brakes too much when the car is empty, and wheels may slide.
        Maximum = "maximum",
        /// The last load that was signalled, whatever is taken on or set down since.
        LastValue = "last_value",
    }
}

word_list! {
    /// How quickly the brake is set to act.
    BrakePosition, "brake position" {
        /// Passenger.
        P = "P",
        /// Rapid.
        R = "R",
        /// Goods.
        G = "G",
        /// Electro-pneumatic control by wire.
        Ep = "EP",
    }
}

word_list! {
    /// What belongs at a position.
    PositionKind, "position kind" {
        /// A cock that isolates.
        IsolatingCock = "isolating_cock",
        /// A cock at the end of the car.
        EndCock = "end_cock",
        /// A cock that drains water or air.
        DrainCock = "drain_cock",
        /// An air filter.
        Filter = "filter",
        /// A coupling hose.
        Hose = "hose",
        /// A valve that lets air pass one way.
        CheckValve = "check_valve",
        /// A shuttle valve: the higher of two pressures passes.
        DoubleCheckValve = "double_check_valve",
        /// An air reservoir.
        Reservoir = "reservoir",
        /// A valve that repeats a pilot pressure with more air.
        RelayValve = "relay_valve",
        /// A distributor valve, commanded by the brake pipe.
        DistributorValve = "distributor_valve",
        /// A brake control unit.
        ControlUnit = "control_unit",
        /// A panel that carries valves with their pipework.
        ControlPanel = "control_panel",
        /// A magnet valve.
        MagnetValve = "magnet_valve",
        /// A valve that reduces pressure.
        ReducingValve = "reducing_valve",
        /// A valve that passes air on only above its opening pressure.
        OverflowValve = "overflow_valve",
        /// A valve that limits pressure for safety.
        SafetyValve = "safety_valve",
        /// A dump valve of the wheel-slide protection.
        DumpValve = "dump_valve",
        /// A speed sensor of the wheel-slide protection.
        SpeedSensor = "speed_sensor",
        /// The electronics of the wheel-slide protection, of a car or of one bogie.
        SlideProtectionUnit = "slide_protection_unit",
        /// A disc brake caliper with its cylinder.
        Caliper = "caliper",
        /// A tread brake unit.
        TreadBrakeUnit = "tread_brake_unit",
        /// A spring-applied parking brake cylinder.
        ParkingCylinder = "parking_cylinder",
        /// A valve that applies and releases the parking brake.
        ParkingValve = "parking_valve",
        /// An air compressor.
        Compressor = "compressor",
        /// An air dryer.
        AirDryer = "air_dryer",
        /// A levelling valve of the air suspension.
        LevellingValve = "levelling_valve",
        /// A load-sensing device.
        LoadSensor = "load_sensor",
        /// A pressure switch.
        PressureSwitch = "pressure_switch",
        /// A pressure sensor.
        PressureSensor = "pressure_sensor",
        /// A pressure gauge.
        Gauge = "gauge",
        /// A driver's brake controller or brake valve.
        BrakeController = "brake_controller",
        /// A valve that vents the brake pipe or opens the emergency line.
        EmergencyValve = "emergency_valve",
        /// A point where a test gauge is joined.
        TestPoint = "test_point",
    }
}

word_list! {
    /// Side of the car, seen from end 1 towards end 2.
    Side, "side" {
        /// Left, seen from end 1.
        Left = "left",
        /// Right, seen from end 1.
        Right = "right",
    }
}

word_list! {
    /// What a vehicle is.
    VehicleKind, "vehicle kind" {
        /// A locomotive.
        Locomotive = "locomotive",
        /// Any other vehicle.
        Car = "car",
    }
}

word_list! {
    /// From where a vehicle's hand brake is worked.
    HandBrake, "hand brake" {
        /// From inside the vehicle.
        Inside = "inside",
        /// From outside, or it cannot be reached while running, or there is none.
        OutsideOrNone = "outside_or_none",
    }
}

/// A bogie with its axles, numbered from end 1.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bogie {
    /// Its number, from 1 at end 1.
    pub number: u8,
    /// The axles it carries, by their number from end 1.
    pub axles: Vec<Axle>,
}

/// A wheelset.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Axle {
    /// Its number, from 1 at end 1, counted through the car.
    pub number: u8,
    /// Its distance from end 1 in millimetres.
    pub along_mm: u32,
}

impl Axle {
    /// What would be allowed where it does not stand on its side of another axle: their numbers
    /// rise from end 1.
    pub fn misplaced_by(&self, other: &Self) -> Option<String> {
        let (number, along) = (other.number, other.along_mm);
        if number < self.number && self.along_mm <= along {
            return Some(format!("further along than axle {number} at {along} mm"));
        }
        let before = self.number < number && along <= self.along_mm;
        before.then(|| format!("less far along than axle {number} at {along} mm"))
    }
}

/// Whether a place lies within a car of some length; else what would be allowed.
pub fn within_car(along_mm: u32, length_mm: u32) -> Result<(), String> {
    if along_mm <= length_mm {
        return Ok(());
    }
    Err(format!("at most {length_mm} mm, the length of the car"))
}

/// A place on a car type where exactly one component belongs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Position {
    /// Its code, unique within the car type.
    pub code: PositionCode,
    /// What it is, in words: "isolating cock, cylinders of bogie 1".
    pub title: String,
    /// What belongs there.
    pub kind: PositionKind,
    /// The bogie it is on or acts on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bogie: Option<u8>,
    /// The axle it acts on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub axle: Option<u8>,
    /// The end it is at, for end equipment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end: Option<End>,
    /// The side from which it is reached.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<Side>,
    /// Its distance from end 1 in millimetres.
    pub along_mm: u32,
    /// Parts approved there.
    pub approved: Vec<PartNumber>,
    /// The modification states asked for there; of a part that is not named, any.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub states: Vec<StatesApproved>,
    /// The settings that belong to its configuration, each by another name.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub settings: Vec<Setting>,
    /// Other names of the place, each with its source.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub aliases: Vec<Alias>,
}

/// The source of a name that stands on the car beside the position.
pub const CAR_LABEL: &str = "car label";

/// Another name of a position: on a drawing, in a spares book, on the car's label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Alias {
    /// The name.
    pub name: String,
    /// Where the name is used.
    pub source: String,
}

/// The mass of a car in a load state.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CarMass {
    /// The load state.
    pub load: LoadState,
    /// The static mass.
    pub mass: Kilograms,
}

/// The braked weight of one actuator, as assessed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct AssessedBrakedWeight {
    /// The actuator.
    pub position: PositionCode,
    /// The brake position it holds for.
    pub brake_position: BrakePosition,
    /// The load state it holds for.
    pub load: LoadState,
    /// The braked weight.
    pub braked_weight: Kilograms,
}

/// The design of a car with one baseline revision.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CarType {
    /// Its name.
    pub name: CarTypeName,
    /// The revision of its baseline.
    pub revision: Revision,
    /// The fleet it belongs to.
    pub fleet: FleetName,
    /// What it is, in words.
    pub title: String,
    /// Whether it is a locomotive.
    pub vehicle_kind: VehicleKind,
    /// From where its hand or parking brake is worked, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hand_brake: Option<HandBrake>,
    /// What the brake control takes for the load when the load signal is lost, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub load_signal_lost: Option<AssumedLoad>,
    /// The brake position in which trains of such cars run as a rule, if that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub usual_brake_position: Option<BrakePosition>,
    /// Length over couplers in millimetres.
    pub length_mm: u32,
    /// Highest speed in km/h.
    pub speed_max_km_h: u16,
    /// The most kilometres that a reading may add in a day; more must be confirmed.
    pub daily_km_max: u32,
    /// Bogies from end 1.
    pub bogies: Vec<Bogie>,
    /// Masses by load state; a state that is not listed is unknown.
    pub masses: Vec<CarMass>,
    /// Positions, in the order of the drawing.
    pub positions: Vec<Position>,
    /// The brake circuit.
    pub circuit: Circuit,
    /// Braked weights as assessed.
    pub braked_weights: Vec<AssessedBrakedWeight>,
    /// Its brakes as forces, as far as they are known.
    #[serde(default, skip_serializing_if = "BrakeForces::is_unknown")]
    pub forces: BrakeForces,
}

impl PositionKind {
    /// Whether it belongs to the wheel-slide protection and passes neither air nor demand, so that
    /// no circuit need describe it: what it does is to protect axles.
    pub const fn is_slide_electronics(self) -> bool {
        matches!(self, Self::SpeedSensor | Self::SlideProtectionUnit)
    }
}

impl Position {
    /// Its setting of that name. Linear in its settings, which are few.
    pub fn setting(&self, name: &SettingName) -> Option<&Setting> {
        self.settings.iter().find(|one| one.name() == name)
    }

    /// The name that stands on the car beside it, where one is known.
    pub fn label_on_car(&self) -> Option<&Alias> {
        let on_car = |alias: &&Alias| alias.source.trim().eq_ignore_ascii_case(CAR_LABEL);
        self.aliases.iter().find(on_car)
    }

    /// By what name it is spoken of beside its code: the one on the car, else the first.
    pub fn spoken_name(&self) -> Option<&Alias> {
        self.label_on_car().or(self.aliases.first())
    }

    /// Whether it is called so: by its code or another of its names, in capitals or not.
    pub fn is_called(&self, name: &str) -> bool {
        let is = |known: &str| known.to_lowercase() == name.to_lowercase();
        is(self.code.as_str()) || self.aliases.iter().any(|alias| is(&alias.name))
    }
}

impl CarType {
    /// The position of that code. Linear in the number of positions.
    pub fn position(&self, code: &PositionCode) -> Option<&Position> {
        self.positions
            .iter()
            .find(|position| position.code == *code)
    }

    /// The mass in a load state, if known.
    pub fn mass(&self, load: LoadState) -> Option<Kilograms> {
        self.masses
            .iter()
            .find(|mass| mass.load == load)
            .map(|mass| mass.mass)
    }

    /// All axles with the number of their bogie, from end 1.
    pub fn axles(&self) -> impl Iterator<Item = (u8, &Axle)> {
        self.bogies
            .iter()
            .flat_map(|b| b.axles.iter().map(move |axle| (b.number, axle)))
    }
}
