//! Ends of pipe that stand open because nothing is fitted there: where a drain cock, a test point, a gauge
//! or a switch belongs. Such a hole counts as a leak of the same place does: its pipe has lost its air,
//! at once, as far as the next valve or closed cock. Where it hangs on a valve, what that valve delivers
//! is lost.

use super::leaks::Pipes;
use crate::circuit::compiled::Role;
use crate::circuit::sets::{Impairments, Media};
use crate::circuit::state::{Impaired, Impairment, Marked};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

/// What the open ends of a train empty. Where there is none, linear in impairments; else in nodes and
/// lines for each, but for looking up what is a cock.
pub(crate) fn emptied(marked: &Marked<'_>) -> Vec<Impaired> {
    let ends: Vec<usize> = ends(marked).collect();
    if ends.is_empty() {
        return Vec::new();
    }
    let train = marked.train();
    let pipes = Pipes::new(marked);
    let emptied = ends.iter().flat_map(|end| pipes.emptied_by(*end));
    let emptied: BTreeSet<usize> = emptied.collect();
    // What is closed keeps what is told of it, and a dead end has what comes to it.
    let told = emptied.into_iter().filter(|node| {
        let leads_on = !train.lines_from(*node).is_empty();
        leads_on && !marked.is_blocked(*node)
    });
    let told = told.filter_map(|node| {
        let (car, position) = train.position_of(node)?;
        Some(Impaired {
            car,
            position: position.clone(),
            by: Impairment::Emptied,
        })
    });
    told.collect()
}

/// By which open end each emptied node has lost its air: of several, one. Linear in nodes and lines.
pub(crate) fn of_emptied(marked: &Marked<'_>) -> BTreeMap<usize, usize> {
    let train = marked.train();
    let mut joined: Vec<Vec<usize>> = vec![Vec::new(); train.roles().len()];
    for line in (0..train.roles().len()).flat_map(|node| train.lines_from(node)) {
        if !line.media.within(Media::AIR).is_empty() {
            joined[line.from].push(line.to);
            joined[line.to].push(line.from);
        }
    }
    let mut by = BTreeMap::new();
    for end in ends(marked) {
        let mut open = vec![end];
        while let Some(node) = open.pop() {
            for next in &joined[node] {
                let emptied = marked.impairments(*next).meets(Impairments::EMPTIED);
                let leads = emptied || train.position_of(*next).is_none();
                if leads && let Entry::Vacant(unknown) = by.entry(*next) {
                    unknown.insert(end);
                    open.push(*next);
                }
            }
        }
    }
    by
}

/// The places that end a branch of pipe and hold nothing.
fn ends(marked: &Marked<'_>) -> impl Iterator<Item = usize> {
    let train = marked.train();
    let nodes = marked.impaired().iter().copied();
    nodes.filter(move |node| {
        let absent = marked.impairments(*node).meets(Impairments::ABSENT);
        absent && train.roles()[*node] == Role::Pass && train.lines_from(*node).is_empty()
    })
}
