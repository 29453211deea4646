//! Where the pipe or wire of an actuator ends that nothing feeds: at a car that is coupled and has
//! none that meets it.

use super::cause::{Cause, CauseKind, cause};
use super::effect::{ActuatorEffect, AppliedBy, Deliveries};
use crate::circuit::compiled::{CompiledLine, Role};
use crate::circuit::delivers::Delivering;
use crate::circuit::sets::Media;
use crate::circuit::state::Marked;
use std::collections::BTreeSet;

impl<D: Delivering> Deliveries<D> {
    /// Of actuators that nothing feeds, where their pipe or wire ends within the train.
    pub(super) fn tell_where_lines_end(
        &self,
        marked: &Marked<'_>,
        actuators: &mut [ActuatorEffect],
    ) {
        let unfed = |why: &[Cause]| why.iter().any(|one| one.kind == CauseKind::NothingFeedsIt);
        if !actuators.iter().any(|actuator| unfed(&actuator.why)) {
            return;
        }
        let lines = LinesInto::of(marked);
        for actuator in actuators.iter_mut().filter(|one| unfed(&one.why)) {
            let delivery = match actuator.applied_by {
                AppliedBy::Air => self.to_air_applied.as_ref(),
                AppliedBy::Spring => Some(&self.to_springs),
            };
            let ends = delivery.map(|delivery| lines.ends(delivery, actuator.node));
            let ends = ends.unwrap_or_default();
            if !ends.is_empty() {
                // Once for an end, whatever else hangs on it.
                let mut told = BTreeSet::new();
                let each = ends.into_iter();
                let each = each.filter(|one| told.insert((one.car, one.kind)));
                actuator.why = each.collect();
            }
        }
    }
}

/// The lines of a train by the node they lead to.
struct LinesInto<'s> {
    marked: &'s Marked<'s>,
    lines: Vec<Vec<CompiledLine>>,
}

impl<'s> LinesInto<'s> {
    /// Linear in nodes and lines.
    fn of(marked: &'s Marked<'s>) -> Self {
        let train = marked.train();
        let mut lines = vec![Vec::new(); train.roles().len()];
        for line in (0..lines.len()).flat_map(|node| train.lines_from(node)) {
            if !line.media.is_empty() {
                lines[line.to].push(*line);
            }
        }
        Self { marked, lines }
    }

    /// Where what an actuator lacks would have to come in and does not, in the order of the train.
    /// Linear in nodes and lines.
    fn ends(&self, delivery: &impl Delivering, actuator: usize) -> BTreeSet<Cause> {
        let train = self.marked.train();
        let mut seen = vec![Media::NONE; self.lines.len()];
        let mut open = vec![(actuator, Media::ALL)];
        let mut ends = BTreeSet::new();
        while let Some((node, lacking)) = open.pop() {
            ends.extend(self.cut_short(node));
            let role = train.roles()[node];
            for line in &self.lines[node] {
                let through = matches!(role, Role::AllOf(_)) && delivery.is_filled(line);
                if through || !delivery.is_open(line) {
                    continue;
                }
                let wanted = if role.is_pipe() {
                    lacking.within(line.media)
                } else {
                    line.media
                };
                let from = line.from;
                let comes = !delivery.media(from).within(wanted).is_empty();
                let new = wanted.without(seen[from]);
                if !comes && !new.is_empty() && !matches!(train.roles()[from], Role::Source(_)) {
                    seen[from] = seen[from].and(new);
                    open.push((from, new));
                }
            }
        }
        ends
    }

    /// What is the matter at a port that meets none though a car is coupled there. It is told of
    /// the first position that hangs on it.
    fn cut_short(&self, node: usize) -> Option<Cause> {
        let train = self.marked.train();
        let end = train.cut_short_at(node)?;
        let out = train.lines_from(node).iter().map(|line| line.to);
        let into = self.lines[node].iter().map(|line| line.from);
        let hangs = out
            .chain(into)
            .filter(|node| train.position_of(*node).is_some())
            .min()?;
        cause(self.marked, hangs, CauseKind::NothingComesInBy(end))
    }
}
