//! Reservoirs that nothing feeds any more: what keeps air from them, what lives on them, and where
//! their pressure is read. What is stored there is counted from the least pressure that its pipe was kept at; how
//! much of it has leaked away since, only a reading tells.

use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::sets::{Impairments, Media};
use crate::circuit::state::TrainState;
use crate::circuit::train::TrainCircuit;
use crate::configuration::car_type::PositionKind;
use crate::isolation::closing::{is_cock, is_plain_pipe};

/// Where the pressure of a reservoir is read: the test points and gauges that hang on it with
/// nothing between but plain pipe. Linear in lines.
pub(super) fn read_at(state: &TrainState<'_>, reservoir: usize) -> Vec<usize> {
    let train = state.train();
    let shows = |node: usize| {
        let kind = train.kind(node);
        matches!(kind, Some(PositionKind::TestPoint | PositionKind::Gauge))
    };
    // Nothing flows on from what shows pressure; a closed place or a check valve parts pressures.
    let on = |line: &CompiledLine| {
        let to = line.to;
        let joined = shows(to) || is_plain_pipe(train, to) || is_cock(train, to);
        joined && !state.is_blocked(to) && !shows(line.from)
    };
    let reached = reached(state, reservoir, Media::AIR, on);
    reached.into_iter().filter(|node| shows(*node)).collect()
}

/// The cut-outs that keep air from a reservoir: those from which it would flow there if they were
/// not. Linear in lines for each of them.
pub(super) fn cut_by(state: &TrainState<'_>, reservoir: usize) -> Vec<usize> {
    let impaired = state.impaired().iter().copied();
    let stops = impaired.filter(|node| {
        let not_recorded = Impairments::ABSENT.and(Impairments::EMPTIED);
        let is_cut_out = !state.impairments(*node).are_all_in(not_recorded);
        is_cut_out && *node != reservoir && state.is_blocked(*node)
    });
    let leads = |node: &usize| {
        let on = |line: &CompiledLine| !state.is_blocked(line.to);
        reached(state, *node, Media::STORED, on).contains(&reservoir)
    };
    stops.filter(leads).collect()
}

/// The actuators and load sensors that air from a reservoir reaches, ascending, whatever else it
/// takes for them to work. Linear in lines.
pub(super) fn lives_on(state: &TrainState<'_>, reservoir: usize) -> Vec<usize> {
    let train = state.train();
    let on = |line: &CompiledLine| !state.is_blocked(line.to);
    let mut reached = reached(state, reservoir, Media::ALL, on);
    let lives = |node: usize| {
        train.roles()[node].is_actuator() || train.kind(node) == Some(PositionKind::LoadSensor)
    };
    reached.retain(|node| lives(*node));
    reached
}

/// Whether a reservoir can be filled from a node. Linear in lines.
pub(super) fn may_fill(train: &TrainCircuit, node: usize) -> bool {
    let mut seen = vec![false; train.roles().len()];
    let mut open = vec![node];
    while let Some(node) = open.pop() {
        if train.roles()[node] == Role::Reservoir {
            return true;
        }
        for line in train.lines_from(node) {
            let stored = !line.media.within(Media::STORED).is_empty();
            if stored && !std::mem::replace(&mut seen[line.to], true) {
                open.push(line.to);
            }
        }
    }
    false
}

/// The nodes to which air flows from a node along lines that lead on, ascending.
fn reached(
    state: &TrainState<'_>,
    from: usize,
    media: Media,
    leads_on: impl Fn(&CompiledLine) -> bool,
) -> Vec<usize> {
    let train = state.train();
    let mut seen = vec![false; train.roles().len()];
    seen[from] = true;
    let mut open = vec![from];
    let mut reached = Vec::new();
    while let Some(node) = open.pop() {
        for line in train.lines_from(node) {
            let carries = !line.media.within(media).is_empty();
            if carries && !seen[line.to] && leads_on(line) {
                seen[line.to] = true;
                reached.push(line.to);
                open.push(line.to);
            }
        }
    }
    reached.sort_unstable();
    reached
}
