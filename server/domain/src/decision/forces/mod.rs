//! What the brakes of a train are worth as forces, before and after the cut-outs: what retards
//! it, the braked weights that this comes to, and what it asks of adhesion and of discs.

mod braked_weights;
mod gathered;
pub mod limits;

pub use braked_weights::{GroupBrakedWeight, TypeBrakedWeight};

use super::Question;
use crate::braking::forces::retarding::Retarding;
use crate::circuit::train::TrainCircuit;
use crate::isolation::brake_percentage::Braked;
use crate::worked::{Missing, Step, Worked};
use gathered::Gathered;
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

/// What retards a train in emergency braking with some of its brakes working. A fact of a brake
/// that is lacking gives no answer, even of one that does not work. Linear in actuators.
pub(super) fn retarding(
    question: &Question,
    circuit: &TrainCircuit,
    left: &Braked,
) -> Result<(Retarding, Vec<Step>), Missing> {
    let gathered = Gathered::of(question)?;
    gathered.retarding(&gathered.working(circuit, left)?)
}

/// Computes the forces of a train in emergency braking, sound and as it is. A fact of a brake
/// that is lacking gives no answer, even of one that is cut out. Near linear in actuators.
pub(super) fn forces(
    question: &Question,
    circuit: &TrainCircuit,
    (sound, left): (&Braked, &Braked),
) -> Result<Forces, Missing> {
    let gathered = Gathered::of(question)?;
    let (sound, left) = (
        gathered.working(circuit, sound)?,
        gathered.working(circuit, left)?,
    );
    let (before, after) = (gathered.retarding(&sound)?, gathered.retarding(&left)?);
    let limits = limits(&gathered, question, (&sound, &left), (&before.0, &after.0));
    Ok(Forces {
        braked_weights: braked_weights::all(&gathered, question)?,
        limits,
        before,
        after,
    })
}
