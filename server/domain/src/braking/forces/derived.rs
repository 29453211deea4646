//! The braked weight that a retarding force comes to: the deceleration it gives, the distance of
//! that deceleration in the frame of the braked-weight relation, and the percentage that the
//! distance proves. It stands beside the assessed braked weight and never in its place.

use super::SOURCE;
use crate::braking::stopping_distance::braked_weight_relation::{
    CONSTANTS, RESPONSE, distance_of_deceleration, percentage,
};
use crate::units::{Deceleration, Kilograms, Kilonewtons, Speed};
use crate::worked::{Missing, Step, Worked};

/// The speed of the relation: the register's own choice of the two that have constants.
const AT: Speed = Speed(120.0);
/// The speed for what does not run as fast.
const AT_SLOWER: Speed = Speed(100.0);

/// The braked weight of a vehicle, rounded down to a kilogram and never below nil. No answer
/// without a force and a mass above nil.
pub fn braked_weight(
    force: Kilonewtons,
    (mass, rotating): (Kilograms, Kilograms),
    speed_max: Speed,
) -> Result<Worked<Kilograms>, Missing> {
    let from = if speed_max < AT { AT_SLOWER } else { AT };
    let dynamic = (mass + rotating).tonnes();
    let deceleration = Deceleration(force.0 / dynamic);
    let missing = || Missing::one("a force and a mass above nil", "braked weight from forces");
    if mass <= Kilograms(0) || dynamic <= 0.0 {
        return Err(missing());
    }
    let distance = distance_of_deceleration(from, deceleration).ok_or_else(missing)?;
    let proven = percentage(&CONSTANTS, distance, from)?;
    let value = Kilograms::of_tonnes(proven.value * mass.tonnes() / 100.0);
    let mut steps = vec![
        Step::published(
            "deceleration",
            format!("{force:.2} / {dynamic} t = {deceleration:.4}"),
            SOURCE,
        ),
        Step::published(
            "its distance in the frame of the relation",
            format!("from {from:.0} with a response of {RESPONSE}: {distance}"),
            "Regulation (EU) 321/2013, table C.3, note 2",
        ),
    ];
    steps.extend(proven.steps);
    let working = format!("{:.2} % of {mass} = {value}", proven.value);
    let source = "UIC 544-1, braked weight; at 120 km/h, or 100 km/h for what runs slower than \
                  that: the register's own choice";
    steps.push(Step::published(
        "braked weight from forces",
        working,
        source,
    ));
    Ok(Worked { value, steps })
}
