//! What of a decision fits the one A4 page of its sheet, and what is left for the register.

use super::stored::applications;
use domain::configuration::component::PositionRef;
use domain::decision::Since;
use domain::decision::stored::FoundStored;
use domain::decision::taken::{DecidedCutOut, DecisionTaken, Found, LostAxles};

/// Lines that one A4 page holds beside what is always on it, in the sheet's type.
const LINES: usize = 30;
/// Cut-outs that are told with the titles of their positions, at most.
const IN_FULL: usize = 6;
/// Cut-outs that are named however little room there is.
const NAMED: usize = 6;
/// Reservoirs that are told one by one, at most.
const STORED: usize = 8;
/// Lines for the checks that are open.
const CHECKS: usize = 3;
/// Characters in which the checks that are open are told one by one, at most: beside how many
/// they are, these fill the lines for them.
pub(super) const CHECKS_CHARS: usize = 230;
/// Lines kept for the rules.
const RULES: usize = 4;
/// Characters of a step in one such line.
const LINE_CHARS: usize = 105;
/// Characters in a line of half the page.
const HALF_CHARS: usize = 48;
/// Characters of a label of a car, which is not kept with a decision.
const LABEL_CHARS: usize = 12;
/// Characters of a time.
const TIME_CHARS: usize = 30;
/// Characters of what works in a mode, before the axles that do not brake.
const WORKING_CHARS: usize = 96;

pub(super) struct RuleOnSheet {
    pub(super) words: String,
    pub(super) source: String,
}

fn lines(text: &str) -> usize {
    text.chars().count().div_ceil(LINE_CHARS).max(1)
}

/// What is told of each cut-out in a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Each {
    /// With the time since when it stands.
    WithTime,
    Alone,
}

/// How the cut-outs are told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct CutOutList {
    /// Whether they stand two in a line, without the titles of their positions.
    pub(super) in_short: bool,
    /// Whether each is told with its own time.
    pub(super) each_since: bool,
    /// Whether their times, which are several, are left out.
    pub(super) without_times: bool,
    /// How many are named.
    pub(super) named: usize,
    /// How many more there are.
    pub(super) more: usize,
    lines: usize,
}

impl CutOutList {
    /// As much of them as fits the page: their times are left out before any of them is.
    pub(super) fn of(found: &Found) -> Self {
        let all = found.cut_outs.len();
        let each_since =
            all_since(found).is_none() && found.cut_outs.iter().any(|one| one.since.is_some());
        let full = Self {
            in_short: false,
            each_since,
            without_times: false,
            named: all,
            more: 0,
            lines: in_full(found),
        };
        if all <= IN_FULL {
            return full;
        }
        let each = if each_since {
            Each::WithTime
        } else {
            Each::Alone
        };
        let told = Self {
            in_short: true,
            lines: in_short(&found.cut_outs, each),
            ..full
        };
        let room = LINES.saturating_sub(beside(found));
        if told.lines <= room {
            return told;
        }
        let untimed = Self {
            each_since: false,
            without_times: each_since,
            lines: in_short(&found.cut_outs, Each::Alone),
            ..told
        };
        if untimed.lines <= room {
            return untimed;
        }
        // One line says how many more there are.
        let fits = |named: &usize| in_short(&found.cut_outs[..*named], Each::Alone) < room;
        let named = (NAMED..all).rev().find(fits).unwrap_or(NAMED);
        Self {
            named,
            more: all - named,
            lines: in_short(&found.cut_outs[..named], Each::Alone) + 1,
            ..untimed
        }
    }
}

/// The lines of cut-outs in a table.
fn in_full(found: &Found) -> usize {
    let unseen = found.cut_outs.iter().filter_map(|one| one.since);
    // Of what nobody saw close two times are told.
    let unseen = unseen.filter(|since| since.not_before.is_some()).count();
    2 * found.cut_outs.len() + unseen
}

/// The lines of cut-outs two in a line, with one for the time of them all.
fn in_short(cut_outs: &[DecidedCutOut], each: Each) -> usize {
    let of = |one: &DecidedCutOut| {
        let told = format!("{} {}:  {}", one.at.car, one.at.position, one.state);
        let times = match one.since.filter(|_| each == Each::WithTime) {
            None => 0,
            Some(since) if since.not_before.is_none() => 1,
            Some(_) => 2,
        };
        let chars = told.chars().count() + LABEL_CHARS + times * TIME_CHARS;
        chars.div_ceil(HALF_CHARS)
    };
    let halves: usize = cut_outs.iter().map(of).sum();
    halves.div_ceil(2) + 1
}

/// Since when all cut-outs stand; none where they stand since several times, or it was not kept.
pub(super) fn all_since(found: &Found) -> Option<Since> {
    let first = found.cut_outs.first()?.since;
    let mut others = found.cut_outs.iter();
    first.filter(|_| others.all(|other| other.since == first))
}

/// The lines of what must be on the page beside the cut-outs.
fn beside(found: &Found) -> usize {
    let texts = found
        .cautions
        .iter()
        .chain(&found.later)
        .chain(&found.warnings);
    let texts: usize = texts.map(|text| lines(text)).sum();
    let (vacant, service) = (0 < found.vacant, found.in_service.as_ref());
    let more_lost = service.map_or(0, |service| lines_of_lost(&service.lost) - 1);
    found.cars.len().div_ceil(6)
        + texts
        + CHECKS
        + 2 * usize::from(vacant)
        + usize::from(service.is_some())
        + more_lost
        + (lines_of_lost(&found.lost) - 1)
}

/// The lines of what works in a mode, with the axles that do not brake; at least one.
fn lines_of_lost(lost: &[LostAxles]) -> usize {
    let of_car = |lost: &LostAxles| {
        let car = format!("car {} axles; ", lost.car);
        car.chars().count() + 2 * lost.axles.len()
    };
    let chars: usize = lost.iter().map(of_car).sum();
    (WORKING_CHARS + chars).div_ceil(LINE_CHARS)
}

/// The lines of what must be on the page.
fn used(found: &Found) -> usize {
    beside(found) + CutOutList::of(found).lines
}

/// Whether what must be on the page fits it.
pub(super) fn fits(found: &Found) -> bool {
    used(found) <= LINES
}

/// The lines that are left beside what must be on the page.
pub(super) fn left(found: &Found) -> usize {
    LINES.saturating_sub(used(found))
}

/// The reservoirs that fit on the page, two in a line, those first that feed brakes; and how many
/// more there are. Some lines are kept for rules.
pub(super) fn stored(found: &[FoundStored], left: usize) -> (Vec<String>, usize) {
    let room = 2 * left.saturating_sub(RULES).max(1);
    let mut sorted: Vec<&FoundStored> = found.iter().collect();
    sorted.sort_by_key(|one| one.brakes == 0);
    let shown = sorted.into_iter().take(room.min(STORED));
    let shown: Vec<String> = shown.map(reservoir).collect();
    let more = found.len() - shown.len();
    (shown, more)
}

/// "Car 4104 =BS-CM1: 10 full applications if it is still full; drain at =BS-QM2."
fn reservoir(one: &FoundStored) -> String {
    let left = match (one.brakes, one.applications) {
        (0, _) => "feeds no brake".to_owned(),
        (_, None) => "applications not known".to_owned(),
        (_, Some(count)) => applications(count),
    };
    let PositionRef { car, position } = &one.at;
    let drain = |at: &PositionRef| {
        if at.car == *car {
            at.position.to_string()
        } else {
            format!("car {} {}", at.car, at.position)
        }
    };
    let drains: Vec<String> = one.drains.iter().map(drain).collect();
    let drained = match drains.as_slice() {
        [] => "no drain cock".to_owned(),
        drains => format!("drain at {}", drains.join(" or ")),
    };
    format!("Car {car} {position}: {left}; {drained}.")
}

/// The rules that fit on the lines left, the strictest first, and how many more there are.
pub(super) fn rules(taken: &DecisionTaken, mut left: usize) -> (Vec<RuleOnSheet>, usize) {
    let found = &taken.found;
    let mut shown = Vec::new();
    for rule in &found.rules {
        let words = format!("{}: {}", rule.title, rule.working);
        let needed = lines(&format!("{words} {}", rule.source));
        if left < needed && !shown.is_empty() {
            break;
        }
        left = left.saturating_sub(needed);
        let source = rule.source.clone();
        shown.push(RuleOnSheet { words, source });
    }
    let more = found.rules.len() - shown.len();
    (shown, more)
}
