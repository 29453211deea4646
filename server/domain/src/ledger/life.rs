//! The life of a component from its making to now as a list: what entries say of it in the order
//! of time, and between them the stretches of which the register does not know. A gap is shown as
//! a gap; it is never taken as nothing.

use crate::configuration::component::{Condition, RemovalReason};
use crate::ledger::dossier::{ComponentRecord, Fitment, FitmentEnd, OwnFitment};
use crate::ledger::entry::Entry;
use crate::ledger::estimated::{Estimated, LastRead};
use crate::ledger::fact::Fact;
use crate::time::{Day, Instant, Zone};
use crate::units::Meter;

/// One line of a life.
#[derive(Debug, Clone, PartialEq)]
pub enum Line {
    /// What an entry says.
    Entry(Box<Entry>),
    /// How a fitment ended whose entry tells both its ends.
    CameOff(Box<CameOff>),
    /// A stretch of which something is not known.
    Gap(Gap),
}

/// The end of a fitment that one entry tells together with its beginning.
#[derive(Debug, Clone, PartialEq)]
pub struct CameOff {
    /// The entry.
    pub entry: Entry,
    /// When the fitment ended.
    pub at: Instant,
    /// The end as an entry of its own would tell it.
    pub removed: Fact,
}

impl CameOff {
    /// What an entry tells of the end of a fitment, if it tells both ends.
    fn of(entry: &Entry) -> Option<Self> {
        let Fact::Fitted(fitting) = &entry.fact else {
            return None;
        };
        let ended = fitting.ended.as_ref()?;
        Some(Self {
            entry: entry.clone(),
            at: ended.at,
            removed: Fact::Removed {
                component: fitting.component.clone(),
                from: None,
                removal: ended.removal.clone(),
            },
        })
    }
}

/// A stretch of a life of which something is not known.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// From when; none where not even that is known.
    pub from: Option<Day>,
    /// Until when; none where it goes on.
    pub until: Option<Day>,
    /// What is not known of it.
    pub lacking: Vec<Lacking>,
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
    /// What it ran on a car, by these meters, from the last reading of that until it came off: it is
    /// estimated.
    Estimated(Box<Fitment>, Vec<Meter>),
}

/// The whole life of what was on cars by `fitments` and in assemblies by `inside`. `entries` are
/// those that say something of the component, by their time; `meters` those that count for it, with
/// when those of its cars were last read. Linear in the entries and meters, times the fitments where
/// an entry tells both ends of one.
pub fn life(
    (record, fitments, inside): (&ComponentRecord, &[Fitment], &[OwnFitment]),
    entries: Vec<Entry>,
    (meters, last_read): (&[Meter], &[LastRead]),
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
        if let Some((at, gap)) = estimated(fitment, (meters, last_read), zone) {
            lines.push((at, Line::Gap(gap)));
        }
    }
    let ended = |off: &CameOff| {
        let ends = fitments.iter().map(|one| one.end.as_ref());
        let mut ends = ends.chain(inside.iter().map(|one| one.end.as_ref()));
        ends.any(|end| end.is_some_and(|end: &FitmentEnd| end.by == off.entry.seq))
    };
    let off = entries.iter().filter_map(CameOff::of).filter(ended);
    lines.extend(off.map(|off| (off.at, Line::CameOff(Box::new(off)))));
    let entries = entries.into_iter();
    lines.extend(entries.map(|entry| (entry.effective_at, Line::Entry(Box::new(entry)))));
    // A gap stands before what ended it, and what came off before what was done on it then.
    lines.sort_by_key(|(at, line)| {
        let rank = match line {
            Line::Gap(_) => 0,
            Line::CameOff(_) => 1,
            Line::Entry(_) => 2,
        };
        (*at, rank)
    });
    one_gap_a_stretch(lines)
}

/// Of one stretch there is one gap, however much of it is not known.
fn one_gap_a_stretch(lines: Vec<(Instant, Line)>) -> Vec<Line> {
    let mut told: Vec<Line> = Vec::with_capacity(lines.len());
    for (_, line) in lines {
        match (told.last_mut(), line) {
            (Some(Line::Gap(before)), Line::Gap(gap))
                if (before.from, before.until) == (gap.from, gap.until) =>
            {
                before.lacking.extend(gap.lacking);
            }
            (_, line) => told.push(line),
        }
    }
    told
}

/// What is not known of the time before a component came in. What is new, made on the day it came
/// or brought in with nothing run by every meter that counts, has no such time.
fn before_receipt(record: &ComponentRecord, meters: &[Meter], zone: &Zone) -> Vec<Gap> {
    let received = zone.day_of(record.received_at);
    let brought = record.brought.by_meter();
    let gap = |lacking| Gap {
        from: record.manufactured_on,
        until: Some(received),
        lacking: vec![lacking],
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
    let of_it = receipt.component == record.component;
    let unknown = of_it && receipt.condition == Condition::Serviceable && !receipt.has_papers();
    unknown.then(|| Gap {
        from: record.manufactured_on,
        until: Some(zone.day_of(record.received_at)),
        lacking: vec![Lacking::Papers],
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
        lacking: vec![Lacking::OtherSide(Box::new(fitment.clone()))],
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
        lacking: vec![Lacking::OnCar(Box::new(fitment.clone()), unread)],
    })
}

/// What it ran until it came off, where the car was last read before that.
fn estimated(
    fitment: &Fitment,
    (meters, last_read): (&[Meter], &[LastRead]),
    zone: &Zone,
) -> Option<(Instant, Gap)> {
    let at = fitment.end.as_ref()?.at;
    // What is unknown at the beginning is told as that.
    let begun = meters
        .iter()
        .filter(|meter| fitment.meters_from[**meter].is_some());
    let estimated: Vec<(Meter, Estimated)> = begun
        .filter_map(|meter| Some((*meter, Estimated::of(fitment, *meter, last_read)?)))
        .collect();
    let read = estimated.iter().map(|(_, one)| one.read).min()?;
    let gap = Gap {
        from: Some(zone.day_of(read.max(fitment.from))),
        until: Some(zone.day_of(at)),
        lacking: vec![Lacking::Estimated(
            Box::new(fitment.clone()),
            estimated.into_iter().map(|(meter, _)| meter).collect(),
        )],
    };
    Some((at, gap))
}
