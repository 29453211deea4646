//! Where pressure may stay though nothing commands it any more: behind a valve whose command was cut
//! off with air shut in, while the brake was on.

use super::cause::{Trail, may_hold_on, trails};
use crate::circuit::Medium;
use crate::circuit::Mode;
use crate::circuit::delivers::{Air, Delivery};
use crate::circuit::sets::{Impairments, Media, Modes};
use crate::circuit::state::{Impaired, TrainState};
use crate::circuit::train::TrainCircuit;
use crate::worked::Missing;

/// What exists only while a brake is on.
const APPLIED: Media = Media::of(Medium::PilotPressure).and(Media::of(Medium::CylinderPressure));

/// The nodes of a train, commanded in a mode, that may stay under pressure: what
/// [`super::effect::ActuatorEffect::may_drag`] tells of brakes, and of the pipes to them. Nothing
/// stays where a place in between has surely let it out. Linear in nodes and lines for each
/// impairment, and in nodes where none holds anything on.
pub(super) fn may_stay_on(
    commanded: &TrainCircuit,
    mode: Mode,
    impaired: &[Impaired],
) -> Result<Vec<usize>, Missing> {
    let state = commanded.impaired(impaired)?;
    let holds = |node: &usize| may_hold_on(state.marked(), *node);
    if !state.impaired().iter().any(holds) {
        return Ok(Vec::new());
    }
    let delivery = Delivery::new(&state, Modes::of(mode), Air::Stored);
    let reached = trails(state.marked(), &delivery, Trail::Dead);
    let applied = applied(commanded);
    let stays = |node: &usize| {
        !is_let_out(&state, *node, applied[*node]) && reached.by(*node).iter().any(holds)
    };
    Ok((0..applied.len()).filter(stays).collect())
}

/// What lines bring to each node of what exists only while a brake is on.
fn applied(train: &TrainCircuit) -> Vec<Media> {
    let mut applied = vec![Media::NONE; train.roles().len()];
    for line in (0..applied.len()).flat_map(|node| train.lines_from(node)) {
        applied[line.to] = applied[line.to].and(line.media.within(APPLIED));
    }
    applied
}

/// Whether a node has none of it, or takes none.
fn is_let_out(state: &TrainState<'_>, node: usize, applied: Media) -> bool {
    let loose = Impairments::VENTS.and(Impairments::DISABLES);
    let left = applied.without(state.emptied(node, Air::Retained));
    left.is_empty() || state.impairments(node).meets(loose)
}
