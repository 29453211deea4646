//! The life of a component from its making to now as a list: what entries say of it in the order
//! of time, and between them the stretches of which the register does not know. A gap is shown as
//! a gap; it is never taken as nothing.

use crate::configuration::component::{Condition, RemovalReason};
use crate::ledger::dossier::{ComponentRecord, Fitment};
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::time::{Day, Instant, Zone};
use crate::units::Meter;

/// One line of a life.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// What an entry says.
    Entry(Box<Entry>),
    /// A stretch of which something is not known.
    Gap(Gap),
}

/// A stretch of a life of which something is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// From when; none where not even that is known.
    pub from: Option<Day>,
    /// Until when; none where it goes on.
    pub until: Option<Day>,
    /// What is not known.
    pub lacking: Lacking,
}

/// What is not known of a stretch.
#[derive(Debug, Clone, PartialEq)]
pub enum Lacking {
    /// When it was made.
    Making,
    /// Where it was and what was done on it: the register has it from its papers at most.
    BeforeReceipt,
    /// Its papers: it was taken in as serviceable without a certificate.
    Papers,
    /// What it ran before it came in, by these meters.
    BroughtIn(Vec<Meter>),
    /// For which car it was robbed: it came off for another, and the entry does not say where it
    /// went.
    OtherSide(Box<Fitment>),
    /// What it ran on a car, by these meters, since that was not read then.
    OnCar(Box<Fitment>, Vec<Meter>),
}

/// The whole life. `entries` are those that say something of the component, by their time;
/// `meters` those that count for it. Linear in both.
pub fn life(
    (record, fitments): (&ComponentRecord, &[Fitment]),
    entries: Vec<Entry>,
    meters: &[Meter],
    zone: &Zone,
) -> Vec<Line> {
    let mut lines: Vec<(Instant, Line)> = Vec::new();
    let papers = entries
        .iter()
        .filter_map(|entry| no_papers(entry, record, zone));
    lines.extend(papers.map(|gap| (record.received_at, Line::Gap(gap))));
    for gap in before_receipt(record, meters, zone) {
        lines.push((record.received_at, Line::Gap(gap)));
    }
    for (place, fitment) in fitments.iter().enumerate() {
        if let Some((at, gap)) = other_side((fitment, fitments.get(place + 1)), zone) {
            lines.push((at, Line::Gap(gap)));
        }
        if let Some(gap) = on_car(fitment, meters, zone) {
            let at = fitment.end.as_ref().map_or(fitment.from, |end| end.at);
            lines.push((at, Line::Gap(gap)));
        }
    }
    let entries = entries.into_iter();
    lines.extend(entries.map(|entry| (entry.effective_at, Line::Entry(Box::new(entry)))));
    // A gap stands before what ended it.
    lines.sort_by_key(|(at, line)| (*at, matches!(line, Line::Entry(_))));
    lines.into_iter().map(|(_, line)| line).collect()
}

/// What is not known of the time before a component came in. What is new, made on the day it came
/// or brought in with nothing run by every meter that counts, has no such time.
fn before_receipt(record: &ComponentRecord, meters: &[Meter], zone: &Zone) -> Vec<Gap> {
    let received = zone.day_of(record.received_at);
    let brought = record.brought.by_meter();
    let gap = |lacking| Gap {
        from: record.manufactured_on,
        until: Some(received),
        lacking,
    };
    let mut gaps = Vec::new();
    if record.manufactured_on.is_none() {
        gaps.push(gap(Lacking::Making));
    }
    let unknown: Vec<Meter> = meters
        .iter()
        .copied()
        .filter(|meter| brought[*meter].is_none())
        .collect();
    let has_run = meters
        .iter()
        .any(|meter| brought[*meter].is_some_and(|amount| amount.0 != 0));
    let is_new = record.manufactured_on == Some(received);
    if !is_new && (has_run || !unknown.is_empty()) {
        gaps.push(gap(Lacking::BeforeReceipt));
    }
    if !unknown.is_empty() {
        gaps.push(gap(Lacking::BroughtIn(unknown)));
    }
    gaps
}

/// A receipt as serviceable that no certificate stands behind.
fn no_papers(entry: &Entry, record: &ComponentRecord, zone: &Zone) -> Option<Gap> {
    let Fact::ComponentReceived(receipt) = &entry.fact else {
        return None;
    };
    let unknown = receipt.condition == Condition::Serviceable && !receipt.has_papers();
    unknown.then(|| Gap {
        from: record.manufactured_on,
        until: Some(zone.day_of(record.received_at)),
        lacking: Lacking::Papers,
    })
}

/// Where it was robbed for another car without both sides in one entry: until it was fitted again.
fn other_side(
    (fitment, next): (&Fitment, Option<&Fitment>),
    zone: &Zone,
) -> Option<(Instant, Gap)> {
    let end = fitment.end.as_ref()?;
    // What is moved goes to no location.
    if end.reason != Some(RemovalReason::Robbed) || end.to.is_none() {
        return None;
    }
    let gap = Gap {
        from: Some(zone.day_of(end.at)),
        until: next.map(|next| zone.day_of(next.from)),
        lacking: Lacking::OtherSide(Box::new(fitment.clone())),
    };
    Some((next.map_or(end.at, |next| next.from), gap))
}

fn on_car(fitment: &Fitment, meters: &[Meter], zone: &Zone) -> Option<Gap> {
    let ended = fitment.end.is_some();
    let unread = |meter: &&Meter| {
        let until = ended && fitment.meters_until[**meter].is_none();
        fitment.meters_from[**meter].is_none() || until
    };
    let unread: Vec<Meter> = meters.iter().filter(unread).copied().collect();
    if unread.is_empty() {
        return None;
    }
    Some(Gap {
        from: Some(zone.day_of(fitment.from)),
        until: fitment.end.as_ref().map(|end| zone.day_of(end.at)),
        lacking: Lacking::OnCar(Box::new(fitment.clone()), unread),
    })
}
