//! Both sides of a move, a swap or a component robbed for another car, in words.

use crate::address;
use domain::configuration::component::{ComponentRef, RemovalReason};
use domain::configuration::host::{Host, HostPosition};
use domain::ledger::dossier::{Fitment, FitmentEnd, OwnFitment};
use domain::ledger::entry::{Entry, Seq};
use domain::ledger::fact::Fact;
use std::collections::BTreeMap;
use store::read::sides::Side;

/// The entries of fitments on a car that brought a component from, or took it to, another position.
pub(crate) fn of_fitments(on_cars: &[Fitment]) -> Vec<Seq> {
    let moved = |end: &Option<FitmentEnd>| {
        let end = end.as_ref()?;
        (end.to.is_none() && end.reason.is_some()).then_some(end.by)
    };
    let came = |from: bool, by: Seq| (!from).then_some(by);
    let own = on_cars.iter().filter(|one| one.id.is_own());
    let own = own.flat_map(|one| {
        [
            moved(&one.end),
            came(one.from_location.is_some(), one.fitted_by),
        ]
    });
    let mut entries: Vec<Seq> = own.flatten().collect();
    entries.sort_unstable();
    entries.dedup();
    entries
}

/// What entries moved, for pages that show one end of it.
#[derive(Debug, Default)]
pub(crate) struct Sides(pub(crate) BTreeMap<Seq, Vec<Side>>);

/// Another end of a move.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct OtherEnd {
    /// The other position, and its page.
    pub(crate) at: (String, String),
    /// What came the other way, and its page.
    pub(crate) in_exchange: Option<(String, String)>,
}

impl Sides {
    /// What the entries of a component's life moved: itself by where they put it, and what it changed
    /// places with.
    pub(crate) fn of_life(
        component: &ComponentRef,
        fitments: &[OwnFitment],
        entries: &[Entry],
    ) -> Self {
        let mut sides = BTreeMap::new();
        for entry in entries {
            let other = match &entry.fact {
                Fact::Moved { .. } => None,
                Fact::Swapped { first, second, .. } if first == component => Some(second),
                Fact::Swapped { first, .. } => Some(first),
                _ => continue,
            };
            let ended = |own: &&OwnFitment| own.end.as_ref().is_some_and(|end| end.by == entry.seq);
            let from = fitments.iter().find(ended).map(|own| own.at.clone());
            let to = fitments.iter().find(|own| own.fitted_by == entry.seq);
            let Some((from, to)) = from.zip(to.map(|own| own.at.clone())) else {
                continue;
            };
            let side = |component: &ComponentRef, from: &HostPosition, to: &HostPosition| Side {
                component: component.clone(),
                from: Some(from.clone()),
                to: to.clone(),
            };
            let itself = side(component, &from, &to);
            let other = other.map(|other| side(other, &to, &from));
            sides.insert(entry.seq, std::iter::once(itself).chain(other).collect());
        }
        Self(sides)
    }

    /// Where a component went by an entry that took it off a position.
    pub(crate) fn went(&self, component: &ComponentRef, by: Seq) -> Option<OtherEnd> {
        self.end(component, by, |side| Some(&side.to))
    }

    /// From which position a component came by an entry that put it on another.
    pub(crate) fn came(&self, component: &ComponentRef, by: Seq) -> Option<OtherEnd> {
        self.end(component, by, |side| side.from.as_ref())
    }

    fn end<'a>(
        &'a self,
        component: &ComponentRef,
        by: Seq,
        at: fn(&'a Side) -> Option<&'a HostPosition>,
    ) -> Option<OtherEnd> {
        let sides = self.0.get(&by)?;
        let side = sides.iter().find(|side| side.component == *component)?;
        side.from.as_ref()?;
        let other = sides.iter().find(|side| side.component != *component);
        Some(OtherEnd {
            at: linked(at(side)?),
            in_exchange: other.map(|other| {
                let other = &other.component;
                (other.to_string(), address::component(other))
            }),
        })
    }
}

fn linked(at: &HostPosition) -> (String, String) {
    (at.to_string(), address::place(at))
}

/// What happened at a position: its code, its page, and the words.
type Told = (String, String, String);

/// What an entry did to one host: it lost, it got, or both.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct HostSide {
    /// The host, and its page.
    pub(crate) host: (String, String),
    /// What happened at its positions.
    pub(crate) positions: Vec<Told>,
}

/// What a move or swap did to each host, in words: both sides of one entry.
pub(crate) fn told(fact: &Fact, sides: &[Side]) -> Vec<HostSide> {
    let robbed = match fact {
        Fact::Moved { reason, .. } | Fact::Swapped { reason, .. } => {
            *reason == RemovalReason::Robbed
        }
        _ => return Vec::new(),
    };
    let mut hosts: Vec<(&Host, Vec<Told>)> = Vec::new();
    let mut tell = |at: &HostPosition, host, words: String| {
        let (name, link) = (at.position.to_string(), address::place(at));
        match hosts.iter_mut().find(|(known, _)| *known == host) {
            Some((_, positions)) => positions.push((name, link, words)),
            None => hosts.push((host, vec![(name, link, words)])),
        }
    };
    for side in sides {
        let Some(from) = &side.from else { continue };
        let taken = |other: &&Side| other.to == *from;
        let instead = sides.iter().find(taken).map_or_else(
            || "and nothing took its place".to_owned(),
            |other| format!("and {} took its place", other.component),
        );
        let verb = if robbed { "was robbed of" } else { "lost" };
        let words = format!(
            "{verb} {}, which went to {}, {instead}",
            side.component, side.to
        );
        tell(from, &from.host, words);
        let words = format!("got {}, which came from {from}", side.component);
        tell(&side.to, &side.to.host, words);
    }
    hosts
        .into_iter()
        .map(|(host, positions)| HostSide {
            host: match host {
                Host::Car(car) => (format!("car {car}"), address::car(car)),
                Host::Assembly(one) => (one.to_string(), address::component(one)),
            },
            positions,
        })
        .collect()
}
