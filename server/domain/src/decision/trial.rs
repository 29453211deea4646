//! Swapping a suspected component to see whether the fault goes with it: which components of a train
//! can change places for that.

use super::TrainCar;
use crate::configuration::car_type::PositionKind;
use crate::configuration::component::{ComponentRef, Condition, PositionRef};
use crate::isolation::closing::Spot;
use crate::isolation::fault_finding::{Candidate, Suspected};
use crate::ledger::entry::Seq;

/// How many swaps are proposed.
pub const TRIALS_MAX: usize = 10;

/// A component as it is fitted on a train.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FittedAt {
    /// Where.
    pub at: PositionRef,
    /// What.
    pub component: ComponentRef,
    /// Its condition.
    pub condition: Condition,
    /// The entry that put it there.
    pub by: Seq,
}

/// A swap that tells whether a component is at fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trial {
    /// Where the suspected component is.
    pub at: Spot,
    /// The suspected component.
    pub component: ComponentRef,
    /// Where a like one is that is not suspected, the nearest.
    pub other_at: PositionRef,
    /// That one.
    pub other: ComponentRef,
}

/// The swaps that tell whether a suspected component is at fault, in the order of the suspects: each
/// with a like one, serviceable and at a place that is not suspected. Linear in the suspects times
/// what is fitted.
pub fn trials(cars: &[TrainCar], candidates: &[Candidate], fitted: &[FittedAt]) -> Vec<Trial> {
    let mut suspects: Vec<&Spot> = Vec::new();
    for candidate in candidates.iter().filter(|one| is_of_the_part(one)) {
        if !suspects.contains(&&candidate.at) {
            suspects.push(&candidate.at);
        }
    }
    let trials = suspects
        .into_iter()
        .filter(|spot| kind(cars, spot).is_some_and(is_swapped))
        .filter_map(|spot| trial(cars, (spot, candidates), fitted));
    trials.take(TRIALS_MAX).collect()
}

fn trial(
    cars: &[TrainCar],
    (spot, candidates): (&Spot, &[Candidate]),
    fitted: &[FittedAt],
) -> Option<Trial> {
    let is_at =
        |spot: &Spot, at: &PositionRef| spot.car_number == at.car && spot.position == at.position;
    let serviceable = |one: &&FittedAt| one.condition == Condition::Serviceable;
    let sound = fitted.iter().filter(serviceable);
    let here = sound.clone().find(|one| is_at(spot, &one.at))?;
    let suspected = |at: &PositionRef| candidates.iter().any(|one| is_at(&one.at, at));
    let apart = |at: &PositionRef| {
        let place = cars.iter().position(|car| car.number == at.car);
        place.map(|place| place.abs_diff(spot.car))
    };
    let like = sound.filter(|one| one.component.part == here.component.part && !suspected(&one.at));
    let other = like.min_by_key(|one| (apart(&one.at), &one.at))?;
    Some(Trial {
        at: spot.clone(),
        component: here.component.clone(),
        other_at: other.at.clone(),
        other: other.component.clone(),
    })
}

/// Whether the component itself would be at fault: a cock that stands wrong is looked at, and what is
/// open to the outside is heard.
fn is_of_the_part(candidate: &Candidate) -> bool {
    use Suspected::{Failed, StuckApplied, StuckOn, StuckOpen, StuckReleased};
    matches!(
        candidate.suspected,
        Failed | StuckReleased | StuckOn | StuckOpen | StuckApplied
    )
}

fn kind(cars: &[TrainCar], spot: &Spot) -> Option<PositionKind> {
    let car = cars.get(spot.car)?;
    let position = car.circuit.car_type().position(&spot.position)?;
    Some(position.kind)
}

/// What is swapped to find a fault: valves, sensors and electronics that are taken off by themselves,
/// and neither pipework nor what moves the pads. Common practice, no source.
fn is_swapped(kind: PositionKind) -> bool {
    use PositionKind::{
        CheckValve, ControlPanel, ControlUnit, DistributorValve, DoubleCheckValve, DumpValve,
        LevellingValve, LoadSensor, MagnetValve, OverflowValve, ParkingValve, PressureSensor,
        PressureSwitch, ReducingValve, RelayValve, SlideProtectionUnit, SpeedSensor,
    };
    matches!(
        kind,
        CheckValve
            | ControlPanel
            | ControlUnit
            | DistributorValve
            | DoubleCheckValve
            | DumpValve
            | LevellingValve
            | LoadSensor
            | MagnetValve
            | OverflowValve
            | ParkingValve
            | PressureSensor
            | PressureSwitch
            | ReducingValve
            | RelayValve
            | SlideProtectionUnit
            | SpeedSensor
    )
}
