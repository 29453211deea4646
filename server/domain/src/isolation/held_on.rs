//! Where pressure may stay though nothing commands it any more: behind a valve whose command was cut
//! off with air shut in, while the brake was on.

use super::cause::{Trail, may_hold_on, trails};
use crate::circuit::Medium;
use crate::circuit::Mode;
use crate::circuit::compiled::{CompiledLine, Role};
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
    let filled = filled(&state);
    let loose = Impairments::VENTS.and(Impairments::DISABLES);
    let stays = |node: &usize| {
        filled[*node]
            && !state.impairments(*node).meets(loose)
            && reached.by(*node).iter().any(holds)
    };
    Ok((0..filled.len()).filter(stays).collect())
}

/// Whether what exists only while a brake is on comes to each node from the valve that makes it, with
/// no place between that lets it out. Linear in nodes and lines.
fn filled(state: &TrainState<'_>) -> Vec<bool> {
    let train = state.train();
    let roles = train.roles();
    let lines = || (0..roles.len()).flat_map(|node| train.lines_from(node));
    let carries = |line: &&CompiledLine| !line.media.within(APPLIED).is_empty();
    let mut piloted = vec![false; roles.len()];
    for line in lines().filter(carries) {
        piloted[line.to] = true;
    }
    let makes = |node: &usize| {
        let valve = matches!(roles[*node], Role::AllOf(_) | Role::Source(_));
        valve && !piloted[*node]
    };
    let mut filled = vec![false; roles.len()];
    let mut open: Vec<usize> = (0..roles.len()).filter(makes).collect();
    while let Some(node) = open.pop() {
        for line in train.lines_from(node).iter().filter(carries) {
            let lets_out = state.impairments(line.to).meets(Impairments::VENTS);
            if !lets_out && !std::mem::replace(&mut filled[line.to], true) {
                open.push(line.to);
            }
        }
    }
    filled
}
