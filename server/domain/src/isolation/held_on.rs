//! Where pressure may stay though nothing commands it any more: the one rule of brakes that cannot
//! be said to be off.
//!
//! It stays where air was shut in while the brake was on, behind a cock that does not vent, a valve
//! whose command was cut off or one that passes air uncommanded. And it stays, or comes by a leak of the pipe, where a valve was
//! cut off from its brake pipe with its reservoir charged: closed so, a brake is cut out only once
//! the reservoir is drained (common practice, no source). Nothing stays where a place in between
//! has surely let it out.

use super::cause::{Reached, Trail, trails};
use crate::circuit::Medium;
use crate::circuit::Mode;
use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::delivers::{Air, Delivering, Delivery};
use crate::circuit::sets::{Impairments, Media, Modes};
use crate::circuit::state::{Impaired, Marked};
use crate::circuit::train::TrainCircuit;
use crate::worked::Missing;

/// What exists only while a brake is on.
const APPLIED: Media = Media::of(Medium::PilotPressure).and(Media::of(Medium::CylinderPressure));
/// What leaves a brake off for certain.
const LOOSE: Impairments = Impairments::VENTS.and(Impairments::HAND_RELEASED);

/// The nodes of a train that may stay under pressure.
#[derive(Debug, Default)]
pub(super) struct HeldOn {
    /// One of each node; empty where none may.
    nodes: Vec<bool>,
}

impl HeldOn {
    /// Of a train braked in a mode while stored air lasts, with the trails of what is dead in it.
    /// Linear in nodes and lines where anything can hold, else in impaired nodes.
    pub(super) fn of(marked: &Marked<'_>, delivery: &impl Delivering, reached: &Reached) -> Self {
        let charged = left_charged(marked, delivery, reached);
        let mut held = Self::shut_in(marked, reached);
        if charged.is_empty() {
            return held;
        }
        let train = marked.train();
        held.nodes.resize(train.roles().len(), false);
        spread(train, &mut held.nodes, charged, |line| {
            let others = delivery.unfilled(line.to) & !line.input;
            let loose = marked.impairments(line.to).meets(LOOSE);
            delivery.is_open(line) && !marked.is_blocked(line.to) && others == 0 && !loose
        });
        held
    }

    /// Where air was shut in while the brake was on.
    fn shut_in(marked: &Marked<'_>, reached: &Reached) -> Self {
        let holds = |node: usize| may_hold_on(marked, node);
        let holding = marked
            .impaired()
            .iter()
            .copied()
            .filter(|node| holds(*node));
        let behind = reached.each().iter().filter(|(_, by)| holds(*by));
        let mut held: Vec<usize> = holding.chain(behind.map(|(node, _)| *node)).collect();
        held.retain(|node| !marked.impairments(*node).meets(LOOSE));
        if held.is_empty() {
            return Self::default();
        }
        let filled = filled(marked);
        let mut nodes = vec![false; filled.len()];
        for node in held {
            nodes[node] = filled[node];
        }
        Self { nodes }
    }

    /// Whether a node may stay under pressure.
    pub(super) fn has(&self, node: usize) -> bool {
        self.nodes.get(node) == Some(&true)
    }

    /// The nodes that may.
    pub(super) fn nodes(&self) -> impl Iterator<Item = usize> {
        let nodes = self.nodes.iter().enumerate();
        nodes.filter_map(|(node, held)| held.then_some(node))
    }
}

/// Whether a brake cut off there may be held on: pressure was trapped, or a valve passes air though
/// nothing commands it. A cock that leaves what lies behind it charged leaves a brake on where what
/// lies behind it exists only while a brake is on; where that is supply, it leaves only supply.
fn may_hold_on(state: &Marked<'_>, node: usize) -> bool {
    let impairments = state.impairments(node);
    let train = state.train();
    let all_of = matches!(train.roles()[node], Role::AllOf(_));
    let mut lines = train.lines_from(node).iter();
    let leaves_applied = impairments.meets(Impairments::SUPPLY_CUT)
        && lines.any(|line| !line.media.within(APPLIED).is_empty());
    impairments.meets(Impairments::TRAPPED)
        || leaves_applied
        || all_of && impairments.meets(Impairments::BYPASSED)
}

/// The nodes of a train, commanded in a mode, that may stay under pressure by what was shut in, once
/// the brake was on. A leak may bring on other brakes too, which tells no fault from another. Linear
/// in nodes and lines for each impairment, and in impairments where none holds anything on.
pub(super) fn may_stay_on(
    commanded: &TrainCircuit,
    mode: Mode,
    impaired: &[Impaired],
) -> Result<HeldOn, Missing> {
    let state = commanded.impaired(impaired)?;
    let marked = state.marked();
    let holds = |node: &usize| may_hold_on(marked, *node);
    if !marked.impaired().iter().any(holds) {
        return Ok(HeldOn::default());
    }
    let delivery = Delivery::new(&state, Modes::of(mode), Air::Stored);
    let reached = trails(marked, &delivery, Trail::Dead);
    Ok(HeldOn::shut_in(marked, &reached))
}

/// The nodes of a train, commanded in a mode, that may stay or come under pressure. Linear in nodes
/// and lines for each impairment.
pub(super) fn may_be_on(
    commanded: &TrainCircuit,
    mode: Mode,
    impaired: &[Impaired],
) -> Result<HeldOn, Missing> {
    let state = commanded.impaired(impaired)?;
    let delivery = Delivery::new(&state, Modes::of(mode), Air::Stored);
    let reached = trails(state.marked(), &delivery, Trail::Dead);
    Ok(HeldOn::of(state.marked(), &delivery, &reached))
}

/// The valves that were cut off from their brake pipe and have all else that they apply with.
fn left_charged(marked: &Marked<'_>, delivery: &impl Delivering, reached: &Reached) -> Vec<usize> {
    let roles = marked.train().roles();
    let piped = marked.train().piped().iter();
    let cut_off = piped.filter(|(node, demand)| {
        let lacks = delivery.unfilled(*node);
        let only_demand = lacks != 0 && lacks & !demand == 0;
        let by_a_pipe = |by: usize| !matches!(roles[by], Role::Source(_));
        only_demand
            && marked.impairments(*node) == Impairments::NONE
            && reached.by(*node).any(by_a_pipe)
    });
    cut_off.map(|(node, _)| *node).collect()
}

/// Whether what exists only while a brake is on comes to each node from the valve that makes it, with
/// no place between that lets it out; what is fed by something else counts as filled. Linear in nodes
/// and lines.
fn filled(marked: &Marked<'_>) -> Vec<bool> {
    let train = marked.train();
    let roles = train.roles();
    let mut fed = vec![false; roles.len()];
    for line in (0..roles.len()).flat_map(|node| train.lines_from(node)) {
        fed[line.to] |= !line.media.within(APPLIED).is_empty();
    }
    let makes = |node: &usize| {
        let valve = matches!(roles[*node], Role::AllOf(_) | Role::Source(_));
        valve && !fed[*node]
    };
    let all = (0..roles.len()).filter(makes).collect();
    let mut filled: Vec<bool> = fed.iter().map(|fed| !fed).collect();
    spread(train, &mut filled, all, |line| {
        !marked.impairments(line.to).meets(Impairments::VENTS)
    });
    filled
}

/// Follows what exists only while a brake is on from some nodes along the lines that it enters.
fn spread(
    train: &TrainCircuit,
    seen: &mut [bool],
    mut open: Vec<usize>,
    enters: impl Fn(&CompiledLine) -> bool,
) {
    while let Some(node) = open.pop() {
        let lines = train.lines_from(node).iter();
        for line in lines.filter(|line| !line.media.within(APPLIED).is_empty()) {
            if !seen[line.to] && enters(line) {
                seen[line.to] = true;
                open.push(line.to);
            }
        }
    }
}
