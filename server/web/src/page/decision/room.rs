//! What of a decision fits the one A4 page of its sheet, and what is left for the register.

use super::stored::applications;
use domain::configuration::component::PositionRef;
use domain::decision::Since;
use domain::decision::stored::FoundStored;
use domain::decision::taken::{DecisionTaken, Found};

/// Lines that one A4 page holds beside what is always on it, in the sheet's type.
pub(super) const LINES: usize = 30;
/// Cut-outs that are told with the titles of their positions, at most.
const IN_FULL: usize = 6;
/// Reservoirs that are told one by one, at most.
const STORED: usize = 8;
/// Lines for the checks that are open.
const CHECKS: usize = 3;
/// Lines kept for the rules.
const RULES: usize = 4;
/// Characters of a step in one such line.
const LINE_CHARS: usize = 105;

pub(super) struct RuleOnSheet {
    pub(super) words: String,
    pub(super) source: String,
}

fn lines(text: &str) -> usize {
    text.chars().count().div_ceil(LINE_CHARS).max(1)
}

/// Whether there are too many cut-outs for a table with their titles.
pub(super) fn in_short(found: &Found) -> bool {
    found.cut_outs.len() > IN_FULL
}

/// Since when all cut-outs stand; none where they stand since several times, or it was not kept.
pub(super) fn all_since(found: &Found) -> Option<Since> {
    let first = found.cut_outs.first()?.since;
    let mut others = found.cut_outs.iter();
    first.filter(|_| others.all(|other| other.since == first))
}

/// The lines of what must be on the page.
pub(super) fn used(found: &Found) -> usize {
    let texts = found
        .cautions
        .iter()
        .chain(&found.later)
        .chain(&found.warnings);
    let texts: usize = texts.map(|text| lines(text)).sum();
    let cut_outs = found.cut_outs.len();
    let kept = found.cut_outs.iter().any(|one| one.since.is_some());
    let unseen = found.cut_outs.iter().filter_map(|one| one.since);
    let unseen = unseen.filter(|since| since.not_before.is_some()).count();
    let cut_outs = match (in_short(found), all_since(found)) {
        // Of what nobody saw close two times are told.
        (false, _) => 2 * cut_outs + unseen,
        (true, Some(_)) => cut_outs.div_ceil(2) + 1,
        // With its time each takes two lines of half the page.
        (true, None) if kept => cut_outs,
        (true, None) => cut_outs.div_ceil(2),
    };
    let (vacant, service) = (0 < found.vacant, found.in_service.is_some());
    cut_outs
        + found.cars.len().div_ceil(6)
        + texts
        + CHECKS
        + usize::from(vacant)
        + usize::from(service)
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
