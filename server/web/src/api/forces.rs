//! What the brakes are worth as forces, as programs get it.

use super::decided::MissingBody;
use domain::configuration::brake_forces::DemandSharing;
use domain::decision::Decision;
use domain::decision::forces::limits::{Asked, AxleAdhesion, GroupHeat};
use domain::decision::forces::{Forces, GroupBrakedWeight, TypeBrakedWeight};
use domain::units::Thousandths;
use serde::Serialize;
use utoipa::ToSchema;

/// What the brakes are worth as forces in emergency braking. The stopping distance by forces is
/// among the stopping distances.
#[derive(Debug, Default, Serialize, ToSchema)]
pub(super) struct ForcesBody {
    /// Braked weights of the car types with nothing cut out, beside the assessed ones, which are
    /// those that the brake percentage counts.
    braked_weights: Vec<BrakedWeightBody>,
    /// `not_shared` or `over_the_train`: what brakes do when others are cut out, and so which of
    /// the two cases after holds; null where the car types do not agree or do not say.
    demand_sharing: Option<&'static str>,
    /// The adhesion that each axle uses that still brakes, on worn wheels.
    adhesion: Vec<AdhesionBody>,
    /// The energy into each disc or wheel in one stop, in megajoules.
    heat: Vec<HeatBody>,
    /// Why there are no forces, or no adhesion and heat.
    missing: Vec<MissingBody>,
}

/// The braked weight of a car type.
#[derive(Debug, Serialize, ToSchema)]
struct BrakedWeightBody {
    /// The car type.
    car_type: String,
    /// Its revision.
    revision: String,
    /// From forces, in kilograms.
    from_forces_kg: i64,
    /// As assessed, in kilograms.
    assessed_kg: Option<i64>,
    /// Group by group.
    groups: Vec<GroupBody>,
}

/// The braked weight of a group of actuators.
#[derive(Debug, Serialize, ToSchema)]
struct GroupBody {
    /// The group.
    group: String,
    /// How many actuators it has.
    actuators: usize,
    /// The force of each at the rail, in kilonewtons.
    force_each_kn: f64,
    /// From forces, in kilograms.
    from_forces_kg: i64,
    /// As assessed, in kilograms.
    assessed_kg: Option<i64>,
}

/// The adhesion of an axle.
#[derive(Debug, Serialize, ToSchema)]
struct AdhesionBody {
    /// The car.
    car: String,
    /// The axle.
    axle: u8,
    /// With nothing cut out.
    before: f64,
    /// As it is, each brake doing what it did.
    not_shared: f64,
    /// As it is, the brakes that are left doing the work of all.
    shared: f64,
    /// The most that the car type allows.
    limit: Option<f64>,
}

/// The heat of a group.
#[derive(Debug, Serialize, ToSchema)]
struct HeatBody {
    /// The car.
    car: String,
    /// The group.
    group: String,
    /// `disc` or `tread`.
    acts_on: &'static str,
    /// With nothing cut out.
    before: f64,
    /// As it is, each brake doing what it did.
    not_shared: f64,
    /// As it is, the brakes that are left doing the work of all.
    shared: f64,
    /// The most that the car type allows.
    limit: Option<f64>,
}

impl ForcesBody {
    pub(super) fn of(decision: &Decision) -> Self {
        match &decision.forces {
            Ok(forces) => Self::known(forces),
            Err(missing) => Self {
                missing: MissingBody::all(missing),
                ..Self::default()
            },
        }
    }

    fn known(forces: &Forces) -> Self {
        let limits = forces.limits.as_ref().map(|worked| &worked.value);
        let found = limits.ok();
        let sharing = found.and_then(|limits| limits.sharing);
        let weights = forces.braked_weights.iter();
        Self {
            braked_weights: weights.map(BrakedWeightBody::from).collect(),
            demand_sharing: sharing.map(DemandSharing::name),
            adhesion: found.map_or(Vec::new(), |limits| {
                limits.axles.iter().map(AdhesionBody::from).collect()
            }),
            heat: found.map_or(Vec::new(), |limits| {
                limits.heat.iter().map(HeatBody::from).collect()
            }),
            missing: limits.err().map_or(Vec::new(), MissingBody::all),
        }
    }
}

impl From<&TypeBrakedWeight> for BrakedWeightBody {
    fn from(of: &TypeBrakedWeight) -> Self {
        Self {
            car_type: of.car_type.to_string(),
            revision: of.revision.to_string(),
            from_forces_kg: of.from_forces.value.0,
            assessed_kg: of.assessed.map(|weight| weight.0),
            groups: of.groups.iter().map(GroupBody::from).collect(),
        }
    }
}

impl From<&GroupBrakedWeight> for GroupBody {
    fn from(of: &GroupBrakedWeight) -> Self {
        Self {
            group: of.name.to_string(),
            actuators: of.actuators,
            force_each_kn: of.each.0,
            from_forces_kg: of.from_forces.0,
            assessed_kg: of.assessed.map(|weight| weight.0),
        }
    }
}

impl From<&AxleAdhesion> for AdhesionBody {
    fn from(of: &AxleAdhesion) -> Self {
        let Asked {
            before,
            not_shared,
            shared,
        } = of.used;
        Self {
            car: of.car.to_string(),
            axle: of.axle,
            before,
            not_shared,
            shared,
            limit: of.limit.map(Thousandths::real),
        }
    }
}

impl From<&GroupHeat> for HeatBody {
    fn from(of: &GroupHeat) -> Self {
        Self {
            car: of.car.to_string(),
            group: of.group.to_string(),
            acts_on: of.acts_on.name(),
            before: of.each.before.0,
            not_shared: of.each.not_shared.0,
            shared: of.each.shared.0,
            limit: of.limit.map(|limit| limit.0),
        }
    }
}
