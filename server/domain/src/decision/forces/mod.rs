//! What the brakes of a train are worth as forces, before and after the cut-outs: what retards
//! it, the braked weights that this comes to, and what it asks of adhesion and of discs.

mod braked_weights;
mod gathered;
pub mod limits;

pub use braked_weights::{GroupBrakedWeight, TypeBrakedWeight};

use super::Question;
use crate::braking::forces::retarding::Retarding;
use crate::isolation::effect::Effect;
use crate::worked::{Missing, Step, Worked};
use gathered::{Gathered, Wheels};
use limits::{Limits, limits};
use serde::Serialize;

/// The brakes of a train as forces.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Forces {
    /// What retards it with everything as it should be, with the steps that led to it.
    pub before: (Retarding, Vec<Step>),
    /// What retards it as it is.
    pub after: (Retarding, Vec<Step>),
    /// The braked weights that the forces of each car type come to, beside the assessed ones.
    pub braked_weights: Vec<TypeBrakedWeight>,
    /// What a stop asks of adhesion and discs.
    #[serde(with = "crate::worked::answer")]
    pub limits: Result<Worked<Limits>, Missing>,
}

/// Computes the forces of a train in emergency braking, sound and as it is. A fact of a brake
/// that is lacking gives no answer, even of one that is cut out. Near linear in actuators.
pub(super) fn forces(
    question: &Question,
    sound: &Effect,
    left: &Effect,
) -> Result<Forces, Missing> {
    let gathered = Gathered::of(question)?;
    let before = gathered.working(sound);
    let after = gathered.working(left);
    Ok(Forces {
        before: gathered.retarding(&before, Wheels::New)?,
        after: gathered.retarding(&after, Wheels::New)?,
        braked_weights: braked_weights::all(&gathered, question)?,
        limits: limits(&gathered, question, (&before, &after)),
    })
}
