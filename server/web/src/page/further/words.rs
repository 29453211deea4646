//! Positions and losses in words.

use domain::configuration::car_type::Position;
use domain::decision::TrainCar;
use domain::isolation::closing::Spot;
use domain::isolation::losses::{Function, FunctionLoss, Losses};
use domain::isolation::observed::{During, LookedAt, Seen};

/// A position of a car in words.
#[derive(Debug, Clone)]
pub(crate) struct SpotWords {
    pub(crate) car: String,
    pub(crate) code: String,
    pub(crate) title: String,
}

impl SpotWords {
    /// A position of a train.
    pub(crate) fn of(cars: &[TrainCar], spot: &Spot) -> Self {
        let position = position(cars, spot);
        Self {
            car: spot.car_number.to_string(),
            code: spot.position.to_string(),
            title: position.map_or(String::new(), |position| position.title.clone()),
        }
    }
}

/// The position at a spot.
pub(crate) fn position<'a>(cars: &'a [TrainCar], spot: &Spot) -> Option<&'a Position> {
    let car = cars.get(spot.car)?;
    car.circuit.car_type().position(&spot.position)
}

/// Where somebody looks, in words.
pub(crate) fn looked_at(cars: &[TrainCar], at: &LookedAt) -> String {
    match at {
        LookedAt::Position(spot) => {
            let words = SpotWords::of(cars, spot);
            format!("car {} {}, {}", words.car, words.code, words.title)
        }
        LookedAt::Bogie {
            car_number, bogie, ..
        } => format!("car {car_number}, bogie {bogie}"),
    }
}

/// What was seen, in words.
pub(crate) const fn seen(seen: Seen) -> &'static str {
    match seen {
        Seen::Pressure => "there is pressure",
        Seen::NoPressure => "there is no pressure",
        Seen::Braking => "the brake is on",
        Seen::NotBraking => "the brake is off",
    }
}

/// What the brake was doing, in words.
pub(crate) const fn during(during: During) -> &'static str {
    match during {
        During::Service => "with the service brake applied",
        During::Emergency => "with the emergency brake applied",
        During::Released => "with the brake released",
        During::Parked => "with the parking brake applied",
    }
}

/// What else is lost, in words.
pub(crate) fn functions(losses: &Losses) -> Vec<String> {
    losses.functions.iter().copied().map(function).collect()
}

fn function(loss: FunctionLoss) -> String {
    let (one, many) = match loss.function {
        Function::ServiceBrake => (
            "service brake, kept in emergency",
            "service brakes, kept in emergency",
        ),
        Function::RunningFree => ("parking brake drags", "parking brakes drag"),
        Function::Holding => ("parking brake does not hold", "parking brakes do not hold"),
        Function::LoadSignal => ("load signal", "load signals"),
        Function::SlideProtection => (
            "axle without slide protection",
            "axles without slide protection",
        ),
        Function::Suspension => (
            "levelling valve without air",
            "levelling valves without air",
        ),
        Function::AirSupply => (
            "compressor that feeds nothing",
            "compressors that feed nothing",
        ),
    };
    let words = if loss.lost == 1 { one } else { many };
    format!("{} {words}", loss.lost)
}
