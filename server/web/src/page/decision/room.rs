//! What of a decision fits the one A4 page of its sheet, and what is left for the register. Counted in
//! lines: everything whose length differs from sheet to sheet, with some room to spare, since nobody
//! knows how wide the letters of a printer are.

use super::rules_told::RulesOnSheet;
use super::sheet::percentages;
use super::stored::applications;
use super::verdicts::restrictions;
use domain::configuration::car::Orientation;
use domain::configuration::component::PositionRef;
use domain::decision::stored::FoundStored;
use domain::decision::taken::{
    DecidedCar, DecidedCutOut, DecisionTaken, Found, FoundRule, LostAxles,
};
use domain::decision::{Since, counted_until};
use domain::rule_set::verdict::Imposed;
use domain::time::Zone;

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
/// Lines of the section about stored air, with two reservoirs beside each other and one line that says
/// how many more there are.
const STORED_LEAST: usize = 4;
/// Lines of two reservoirs beside each other.
const STORED_ROW: usize = 2;
/// Characters of a step in one line.
pub(super) const LINE_CHARS: usize = 112;
/// The same of bold type.
const BOLD_CHARS: usize = 100;
/// The same beside the name of a restriction.
const RESTRICTION_CHARS: usize = 105;
/// Characters of a car beside its number and type, and of the words for one that is turned.
const CAR_CHARS: usize = 3;
const TURNED_CHARS: usize = 17;
/// Characters in a line of half the page.
const HALF_CHARS: usize = 52;
/// Characters of a label of a car, which is not kept with a decision.
const LABEL_CHARS: usize = 12;
/// Characters of a time.
const TIME_CHARS: usize = 30;
/// Characters of what works in a mode, before the axles that do not brake.
const WORKING_CHARS: usize = 96;

/// In which type a sheet is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Setting {
    Usual,
    /// Smaller, where it would be more than a page otherwise.
    Small,
}

impl Setting {
    /// Lines that one A4 page holds beside what is always on it, counted as here: measured on printed
    /// sheets of the demonstration, with two lines to spare on the fullest.
    const fn lines_of_page(self) -> usize {
        match self {
            Self::Usual => 41,
            Self::Small => 53,
        }
    }

    /// The lines of so many characters, of which so many are in a line of the usual type.
    pub(super) const fn lines_of(self, count: usize, chars: usize) -> usize {
        let in_a_line = match self {
            Self::Usual => chars,
            Self::Small => chars * 11 / 10,
        };
        count.div_ceil(in_a_line)
    }

    /// The lines of a text; at least one.
    fn lines(self, text: &str, chars: usize) -> usize {
        self.lines_of(text.chars().count(), chars).max(1)
    }

    /// What its style is called.
    pub(super) const fn class(self) -> &'static str {
        match self {
            Self::Usual => "",
            Self::Small => "paper-small",
        }
    }
}

/// What is on a sheet of all that could be.
pub(super) struct Room {
    pub(super) setting: Setting,
    pub(super) list: CutOutList,
    /// Reservoirs that may still hold air, one in a line.
    pub(super) stored: Vec<String>,
    /// How many more there are.
    pub(super) more_stored: usize,
    pub(super) rules: RulesOnSheet,
    /// Whether all that must be on it fits one page.
    pub(super) one_page: bool,
}

impl Room {
    /// In the usual type, where no cut-out is told in fewer words for it and no reservoir is left out.
    pub(super) fn of(taken: &DecisionTaken) -> Self {
        let usual = Self::set(taken, Setting::Usual);
        let all_stored = usual.more_stored == 0 || usual.stored.len() == STORED;
        if usual.one_page && all_stored && !usual.list.is_shortened() {
            usual
        } else {
            Self::set(taken, Setting::Small)
        }
    }

    fn set(taken: &DecisionTaken, setting: Setting) -> Self {
        let found = &taken.found;
        let (page, beside) = (setting.lines_of_page(), setting.beside(taken));
        let list = CutOutList::of(found, page.saturating_sub(beside), setting);
        let left = page.checked_sub(beside + list.lines);
        let spare = left.unwrap_or_default();
        let (stored, more_stored) = stored(&found.stored, spare);
        let for_stored = STORED_ROW * stored.len().div_ceil(2).saturating_sub(1);
        let first = found.rules.first();
        let first = first.map_or(0, |rule| setting.lines_of_rule(rule));
        let for_rules = (spare + first).saturating_sub(for_stored);
        let rules = RulesOnSheet::of(&found.rules, for_rules, setting);
        Self {
            setting,
            list,
            stored,
            more_stored,
            rules,
            one_page: left.is_some(),
        }
    }
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
    /// As much of them as fits so many lines: their times are left out before any of them is.
    fn of(found: &Found, room: usize, setting: Setting) -> Self {
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
        if all <= IN_FULL && full.lines <= room {
            return full;
        }
        let each = if each_since {
            Each::WithTime
        } else {
            Each::Alone
        };
        let told = Self {
            in_short: true,
            lines: setting.in_short(&found.cut_outs, each),
            ..full
        };
        if told.lines <= room {
            return told;
        }
        let untimed = Self {
            each_since: false,
            without_times: each_since,
            lines: setting.in_short(&found.cut_outs, Each::Alone),
            ..told
        };
        if untimed.lines <= room {
            return untimed;
        }
        // One line says how many more there are.
        let told = |named: usize| setting.in_short(&found.cut_outs[..named], Each::Alone);
        let fits = |named: &usize| told(*named) < room;
        let named = (NAMED..all).rev().find(fits).unwrap_or(NAMED.min(all));
        Self {
            named,
            more: all - named,
            lines: told(named) + usize::from(named < all),
            ..untimed
        }
    }

    /// Whether they are told in fewer words than their number alone asks for.
    fn is_shortened(&self) -> bool {
        let few = self.named + self.more <= IN_FULL;
        self.in_short && few || self.without_times || 0 < self.more
    }
}

/// The lines of cut-outs in a table.
fn in_full(found: &Found) -> usize {
    let unseen = found.cut_outs.iter().filter_map(|one| one.since);
    // Of what nobody saw close two times are told.
    let unseen = unseen.filter(|since| since.not_before.is_some()).count();
    let count = found.cut_outs.len();
    // A third of a line between them.
    2 * count + count.div_ceil(3) + unseen
}

/// Since when all cut-outs stand; none where they stand since several times, or it was not kept.
pub(super) fn all_since(found: &Found) -> Option<Since> {
    let first = found.cut_outs.first()?.since;
    let mut others = found.cut_outs.iter();
    first.filter(|_| others.all(|other| other.since == first))
}

impl Setting {
    /// The lines of cut-outs two in a line, with one for the time of them all.
    fn in_short(self, cut_outs: &[DecidedCutOut], each: Each) -> usize {
        let of = |one: &DecidedCutOut| {
            let told = format!("{} {}:  {}", one.at.car, one.at.position, one.state);
            let times = match one.since.filter(|_| each == Each::WithTime) {
                None => 0,
                Some(since) if since.not_before.is_none() => 1,
                Some(_) => 2,
            };
            let chars = told.chars().count() + LABEL_CHARS + times * TIME_CHARS;
            self.lines_of(chars, HALF_CHARS)
        };
        let halves: usize = cut_outs.iter().map(of).sum();
        halves.div_ceil(2) + 1
    }

    /// The lines of what must be on the page beside the cut-outs.
    fn beside(self, taken: &DecisionTaken) -> usize {
        let found = &taken.found;
        let until = found
            .counted_until
            .map(|until| counted_until(until, &Zone::UTC));
        let bold = found.later.iter().chain(&until).chain(found.beside());
        let bold: usize = bold.map(|text| self.lines(text, BOLD_CHARS)).sum();
        let cautions = found.cautions.iter();
        let cautions: usize = cautions.map(|text| self.lines(text, LINE_CHARS)).sum();
        let percentages = percentages(found);
        let percentages: Vec<String> = percentages.iter().map(ToString::to_string).collect();
        let told = taken.told.iter();
        let told: usize = told.map(|told| told.who.chars().count() + TIME_CHARS).sum();
        let stored = if found.stored.is_empty() {
            0
        } else {
            STORED_LEAST
        };
        // The strictest one, and how many more there are.
        let rules = found.rules.first();
        let rules = rules.map_or(0, |rule| self.lines_of_rule(rule) + 1);
        let service = found.in_service.as_ref();
        let lost = self.lines_of_lost(&found.lost) - 1;
        // A line for each mode but one.
        let lost = lost + service.map_or(0, |service| self.lines_of_lost(&service.lost));
        self.lines_of_cars(&found.cars)
            + self.lines_of_restrictions(found)
            + bold
            + cautions
            + CHECKS
            + self.lines(&percentages.join("; "), LINE_CHARS)
            + self.lines_of(told, LINE_CHARS)
            + 2 * usize::from(0 < found.vacant)
            + lost
            + stored
            + rules
    }

    /// The lines of the cars, each with a frame.
    fn lines_of_cars(self, cars: &[DecidedCar]) -> usize {
        let letters = cars.iter().map(|car| {
            let DecidedCar {
                number,
                car_type,
                revision,
                ..
            } = car;
            let turned = match car.orientation {
                Orientation::Forward => 0,
                Orientation::Reversed => TURNED_CHARS,
            };
            format!("{number} {car_type} {revision}").chars().count() + CAR_CHARS + turned
        });
        let lines = self.lines_of(letters.sum(), LINE_CHARS);
        lines + lines.div_ceil(3)
    }

    /// The lines of what is imposed, with the room between them.
    fn lines_of_restrictions(self, found: &Found) -> usize {
        let imposed = Imposed::from(&found.restrictions);
        let all = restrictions(found.permission, &imposed);
        let lines = all.iter();
        let lines = lines.map(|(_, text)| self.lines(text, RESTRICTION_CHARS));
        lines.sum::<usize>() + all.len().div_ceil(3)
    }

    /// The lines of what works in a mode, with the axles that do not brake; at least one.
    fn lines_of_lost(self, lost: &[LostAxles]) -> usize {
        let of_car = |lost: &LostAxles| {
            let car = format!("car {} axles; ", lost.car);
            car.chars().count() + 2 * lost.axles.len()
        };
        let chars: usize = lost.iter().map(of_car).sum();
        self.lines_of(WORKING_CHARS + chars, LINE_CHARS)
    }

    /// The lines of a rule with its source.
    pub(super) fn lines_of_rule(self, rule: &FoundRule) -> usize {
        let text = format!("{}: {} {}", rule.title, rule.working, rule.source);
        self.lines(&text, LINE_CHARS)
    }
}

/// The reservoirs that fit on the page, two in a line, those first that feed brakes; and how many
/// more there are. Some lines are kept for rules.
fn stored(found: &[FoundStored], left: usize) -> (Vec<String>, usize) {
    let room = 2 * (1 + left.saturating_sub(RULES) / STORED_ROW);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_of_reservoirs_takes_two_lines_and_rules_keep_theirs() {
        let one =
            serde_json::json!({"car": "4101", "position": "=BS-CM1", "brakes": 8, "drains": []});
        let one: FoundStored = serde_json::from_value(one).expect("a reservoir");
        let found = vec![one; 5];
        for (left, shown) in [(0, 2), (RULES + 1, 2), (RULES + 2, 4), (RULES + 4, 5)] {
            let (told, more) = stored(&found, left);
            assert_eq!((told.len(), more), (shown, 5 - shown), "{left}");
        }
    }
}
