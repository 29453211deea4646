//! What each brake must show with nothing commanded, and the air that stays stored, as programs
//! get them.

use super::compared::{StepBody, steps};
use super::decided::MissingBody;
use domain::decision::Decision;
use domain::decision::stored::StoredIn;
use domain::isolation::closing::Spot;
use domain::isolation::part_state::PartReport;
use serde::Serialize;
use utoipa::ToSchema;

/// What a brake must show with nothing commanded and the parking brake released, as it follows
/// from what is recorded. Nobody has seen it.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct BrakeStateBody {
    /// The car.
    car: String,
    /// The bogie it acts on; null where it acts on none.
    bogie: Option<u8>,
    /// Its position.
    position: String,
    /// `main_brake` or `parking_brake`.
    function: &'static str,
    /// `applied`, `released`, `isolated` or `unknown`, which counts as not released.
    state: &'static str,
}

impl BrakeStateBody {
    pub(super) fn all(decision: &Decision) -> Vec<Self> {
        decision.part_states().iter().map(Self::from).collect()
    }
}

impl From<&PartReport> for BrakeStateBody {
    fn from(part: &PartReport) -> Self {
        Self {
            car: part.car_number.to_string(),
            bogie: part.bogie,
            position: part.position.to_string(),
            function: part.function.name(),
            state: part.state.name(),
        }
    }
}

/// A position of a car.
#[derive(Debug, Serialize, ToSchema)]
struct BrakePlaceBody {
    /// The car.
    car: String,
    /// The position.
    position: String,
}

impl From<&Spot> for BrakePlaceBody {
    fn from(spot: &Spot) -> Self {
        Self {
            car: spot.car_number.to_string(),
            position: spot.position.to_string(),
        }
    }
}

/// A reservoir that no source feeds any more and that may still hold air.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct StoredBody {
    /// The reservoir.
    at: BrakePlaceBody,
    /// Its volume in litres.
    volume_l: u32,
    /// Where it is drained; empty where the circuit has no drain cock on it.
    drains: Vec<BrakePlaceBody>,
    /// Where its pressure is read; empty where the circuit has no test point and no gauge on it.
    read_at: Vec<BrakePlaceBody>,
    /// The cut-outs that cut its supply while it was charged.
    supply_cut: Vec<BrakePlaceBody>,
    /// How many air-applied brakes it feeds.
    brakes: usize,
    /// How many full applications of all of them its air still allows if it is still full; 0 where no
    /// demand makes any of them apply; null where it feeds no brake or a fact is lacking.
    full_applications: Option<u32>,
    /// The steps, in the order taken.
    steps: Vec<StepBody>,
    /// Why there is no answer.
    missing: Vec<MissingBody>,
}

impl From<&StoredIn> for StoredBody {
    fn from(stored: &StoredIn) -> Self {
        let found = stored.applications.as_ref();
        let worked = found.and_then(|found| found.as_ref().ok());
        let missing = found.and_then(|found| found.as_ref().err());
        Self {
            at: (&stored.at).into(),
            volume_l: stored.volume_l,
            drains: stored.drains.iter().map(BrakePlaceBody::from).collect(),
            read_at: stored.read_at.iter().map(BrakePlaceBody::from).collect(),
            supply_cut: stored.supply_cut.iter().map(BrakePlaceBody::from).collect(),
            brakes: stored.brakes,
            full_applications: worked.map(|worked| worked.value),
            steps: worked.map_or(Vec::new(), |worked| steps(&worked.steps)),
            missing: missing.map_or(Vec::new(), MissingBody::all),
        }
    }
}
