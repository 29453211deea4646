//! The braked weights that forces come to, beside the assessed ones: of the car types as they
//! are designed, with everything as it should be. Neither ever stands in for the other.

use super::gathered::{Gathered, GroupInCase, TypeForces, Wheels};
use crate::braking::forces::derived::braked_weight;
use crate::configuration::car_type::CarType;
use crate::decision::Question;
use crate::identity::{ActuatorGroupName, CarTypeName, PositionCode, Revision};
use crate::units::{Kilograms, Kilonewtons, Speed};
use crate::worked::{Missing, Worked};
use serde::Serialize;

/// The braked weight of a group.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupBrakedWeight {
    /// The group.
    pub name: ActuatorGroupName,
    /// Its actuators.
    pub actuators: usize,
    /// The force of each at the rail.
    pub each: Kilonewtons,
    /// As it follows from forces: the share of the car's by force, rounded down.
    pub from_forces: Kilograms,
    /// As assessed; none where an actuator of it is not assessed in the case asked.
    pub assessed: Option<Kilograms>,
}

/// The braked weight of a car of one type.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TypeBrakedWeight {
    /// The car type.
    pub car_type: CarTypeName,
    /// Its revision.
    pub revision: Revision,
    /// As it follows from forces.
    pub from_forces: Worked<Kilograms>,
    /// As assessed.
    pub assessed: Option<Kilograms>,
    /// Group by group.
    pub groups: Vec<GroupBrakedWeight>,
}

/// Those of each car type that brakes, in the order in which they come in the train.
pub(super) fn all(
    gathered: &Gathered<'_>,
    question: &Question,
) -> Result<Vec<TypeBrakedWeight>, Missing> {
    let braked = gathered.types.iter().filter(|of| !of.groups.is_empty());
    braked.map(|of| of_type(of, question)).collect()
}

fn of_type(of: &TypeForces<'_>, question: &Question) -> Result<TypeBrakedWeight, Missing> {
    let car_type = of.car_type;
    let force =
        |group: &GroupInCase<'_>| group.each(Wheels::New).0 * group.group.positions.len() as f64;
    let total = Kilonewtons(of.groups.iter().map(force).sum());
    let mass = car_type.mass(question.load).unwrap_or_default();
    let speed_max = Speed(f64::from(car_type.speed_max_km_h));
    let from_forces = braked_weight(total, (mass, of.rotating), speed_max)?;
    let of_group = |group: &GroupInCase<'_>| GroupBrakedWeight {
        name: group.group.name.clone(),
        actuators: group.group.positions.len(),
        each: group.each(Wheels::New),
        from_forces: Kilograms::of_tonnes(from_forces.value.tonnes() * force(group) / total.0),
        assessed: assessed(car_type, &group.group.positions, question),
    };
    let groups: Vec<GroupBrakedWeight> = of.groups.iter().map(of_group).collect();
    Ok(TypeBrakedWeight {
        car_type: car_type.name.clone(),
        revision: car_type.revision.clone(),
        assessed: groups.iter().map(|group| group.assessed).sum(),
        from_forces,
        groups,
    })
}

fn assessed(
    car_type: &CarType,
    positions: &[PositionCode],
    question: &Question,
) -> Option<Kilograms> {
    let of = |position: &PositionCode| {
        let mut weights = car_type.braked_weights.iter();
        let found = weights.find(|weight| {
            weight.brake_position == question.brake_position
                && weight.load == question.load
                && weight.position == *position
        });
        found.map(|weight| weight.braked_weight)
    };
    positions.iter().map(of).sum()
}
