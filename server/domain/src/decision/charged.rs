//! Reservoirs that a cut supply leaves to themselves: which cut-out it is, and where their pressure
//! is read. What is stored there is counted from the least pressure that its pipe was kept at; how
//! much of it has leaked away since, only a reading tells.

use crate::circuit::compiled::CompiledLine;
use crate::circuit::sets::{Impairments, Media};
use crate::circuit::state::{Impairment, TrainState};
use crate::configuration::car_type::PositionKind;
use crate::isolation::CutOutState;
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

/// The cut supplies on the ways of stored air to a reservoir. Linear in lines for each of them.
pub(super) fn supply_cut(state: &TrainState<'_>, reservoir: usize) -> Vec<usize> {
    let cut = Impairments::of(Impairment::CutOut(CutOutState::SupplyCut));
    let impaired = state.impaired().iter().copied();
    let cut = impaired.filter(|node| state.impairments(*node).meets(cut));
    let leads = |node: &usize| {
        let on = |line: &CompiledLine| !state.is_blocked(line.to);
        reached(state, *node, Media::STORED, on).contains(&reservoir)
    };
    cut.filter(leads).collect()
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
