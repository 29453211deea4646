//! What to close so that a component can be worked on.

use super::head::Head;
use super::posed::Posed;
use super::words::{SpotWords, functions, position};
use crate::frame::Frame;
use crate::page::decision::stored;
use crate::page::decision::verdicts::{mark, strongest};
use crate::respond::{PageResult, page};
use askama::Template;
use domain::configuration::car_type::Position;
use domain::decision::further::{VERDICTS_MAX, WhatToClose};
use domain::decision::stored::StoredIn;
use domain::decision::{Question, RuleSetAnswer, TrainCar};
use domain::isolation::closing::{
    ChargedAir, ChargedReservoir, ClosingSet, DeadSection, PipeAir, Spot, ToClose,
};

#[derive(Template)]
#[template(path = "further/closing.html")]
struct ClosingPage {
    frame: Frame,
    head: Head,
    car: String,
    position: String,
    found: Option<Found>,
}

/// The sets that were found.
struct Found {
    component: SpotWords,
    carries_air: bool,
    makes_pressure: bool,
    without_cock: Vec<SpotWords>,
    to_empty: Vec<ChargedRow>,
    sets: Vec<SetRow>,
    /// How many there are beyond those shown.
    more: usize,
    complete_to: Option<usize>,
    sparing_complete_to: Option<usize>,
    only_drains: bool,
}

/// A set of cocks.
struct SetRow {
    cocks: Vec<CockRow>,
    /// The greater loss of braked weight, and when it is lost.
    takes: (String, &'static str),
    /// The other.
    less: (String, &'static str),
    functions: Vec<String>,
    verdicts: Vec<VerdictRow>,
    charged: Vec<ChargedRow>,
    sections: Vec<SectionRow>,
    rests_on: Vec<SpotWords>,
    /// Whether it needs no reservoir drained, where another set does.
    spares_stored_air: bool,
    what_if: String,
}

struct CockRow {
    at: SpotWords,
    label: String,
    side: String,
    state: String,
}

/// Pipe at a side of the component. A template of its own: as loops inside those of the page, it
/// takes the compiler minutes.
#[derive(Template)]
#[template(path = "further/section.html")]
struct SectionRow {
    side: String,
    air_stays: bool,
    drains: Vec<SpotWords>,
    proving: Vec<SpotWords>,
}

struct VerdictRow {
    class: &'static str,
    mark: &'static str,
    says: String,
    rule_set: String,
    later: Option<String>,
}

struct ChargedRow {
    at: SpotWords,
    volume: u32,
    says: String,
}

pub(super) fn show(head: Head, posed: &Posed) -> PageResult {
    let at = posed.extra.position()?;
    let mut shown = ClosingPage {
        frame: head.frame.clone(),
        head,
        car: posed.extra.text("car").to_owned(),
        position: posed.extra.text("position").to_owned(),
        found: None,
    };
    if let (Some(at), Ok(question)) = (at, &posed.asking.question) {
        match question.what_to_close(&at, &posed.rule_sets()) {
            Ok(found) => shown.found = Some(Found::new(posed, question, &found)),
            Err(missing) => shown.head = shown.head.lacking(missing),
        }
    }
    page(&shown)
}

impl Found {
    /// Whether sets are listed that need no reservoir drained, beside some that do.
    fn some_spare(&self) -> bool {
        self.sets.iter().any(|set| set.spares_stored_air)
    }

    fn new(posed: &Posed, question: &Question, found: &WhatToClose) -> Self {
        let cars = &posed.asking.cars;
        let closing = &found.closing;
        let some_drain = closing.sets.iter().any(ClosingSet::drains);
        let sets = closing.sets.iter().zip(&found.verdicts).zip(&found.stored);
        Self {
            component: SpotWords::of(cars, &closing.component),
            carries_air: closing.carries_air,
            makes_pressure: closing.makes_pressure,
            without_cock: spots(cars, &closing.without_cock),
            to_empty: closing
                .to_empty
                .iter()
                .map(|one| charged_row(cars, one, &[]))
                .collect(),
            sets: sets
                .map(|((set, verdicts), stored)| SetRow {
                    spares_stored_air: some_drain && !set.drains(),
                    ..row(posed, question, set, (verdicts, stored))
                })
                .collect(),
            more: closing.sets.len().saturating_sub(VERDICTS_MAX),
            complete_to: closing.complete_to,
            sparing_complete_to: closing.sparing_complete_to,
            only_drains: closing.only_drains(),
        }
    }
}

fn row(
    posed: &Posed,
    question: &Question,
    set: &ClosingSet,
    (verdicts, stored): (&[RuleSetAnswer], &[StoredIn]),
) -> SetRow {
    let cars = &posed.asking.cars;
    let supposed = question.with(&set.impaired()).supposed;
    let at_once = (set.losses.at_once.to_string(), "at once");
    let later = (set.losses.later.to_string(), "once stored air is used up");
    let (takes, less) = if set.losses.at_once > set.losses.later {
        (at_once, later)
    } else {
        (later, at_once)
    };
    SetRow {
        cocks: set.cocks.iter().map(|cock| cock_row(cars, cock)).collect(),
        takes,
        less,
        functions: functions(&set.losses),
        verdicts: verdicts.iter().map(verdict_row).collect(),
        charged: set
            .charged
            .iter()
            .map(|one| charged_row(cars, one, stored))
            .collect(),
        sections: set
            .sections
            .iter()
            .map(|one| section_row(cars, one))
            .collect(),
        rests_on: spots(cars, &set.rests_on),
        spares_stored_air: false,
        what_if: posed.link.supposing(&supposed),
    }
}

fn spots(cars: &[TrainCar], spots: &[Spot]) -> Vec<SpotWords> {
    spots.iter().map(|at| SpotWords::of(cars, at)).collect()
}

fn section_row(cars: &[TrainCar], section: &DeadSection) -> SectionRow {
    SectionRow {
        side: format!("{}, {}", section.side, section.medium),
        air_stays: section.air == PipeAir::Stays,
        drains: spots(cars, &section.drains),
        proving: spots(cars, &section.proving),
    }
}

fn cock_row(cars: &[TrainCar], cock: &ToClose) -> CockRow {
    let position = position(cars, &cock.at);
    let label = position.and_then(Position::label_on_car);
    let side = position.and_then(|position| position.side);
    CockRow {
        at: SpotWords::of(cars, &cock.at),
        label: label.map_or(String::new(), |alias| alias.name.clone()),
        side: side.map_or(String::new(), |side| format!("{side} side seen from end 1")),
        state: cock.state.to_string(),
    }
}

fn verdict_row(answer: &RuleSetAnswer) -> VerdictRow {
    let rule_set = format!("{}, revision {}", answer.name, answer.revision);
    match &answer.verdict {
        Ok(worked) => {
            let strongest = strongest(&worked.value);
            let headline = worked.value.permission.headline();
            VerdictRow {
                class: worked.value.permission.name(),
                mark: mark(worked.value.permission),
                says: if strongest.is_empty() {
                    headline.to_owned()
                } else {
                    format!("{headline}: {strongest}")
                },
                later: answer.later_words(),
                rule_set,
            }
        }
        Err(missing) => VerdictRow {
            class: "no_verdict",
            mark: "?",
            says: missing.to_string(),
            later: answer.later_words(),
            rule_set,
        },
    }
}

fn charged_row(cars: &[TrainCar], reservoir: &ChargedReservoir, stored: &[StoredIn]) -> ChargedRow {
    let drains: Vec<String> = reservoir
        .drains
        .iter()
        .map(|drain| format!("car {} {}", drain.car_number, drain.position))
        .collect();
    let drains = drains.join(" or ");
    let says = match reservoir.air {
        ChargedAir::LetOutByTheCock => "emptied by the cock; see that it is".to_owned(),
        ChargedAir::ToBeDrained => format!("drain at {drains}{}", until_drained(reservoir, stored)),
        ChargedAir::HeldByAValve => {
            "no drain cock on it: stays charged behind a valve without command".to_owned()
        }
    };
    ChargedRow {
        at: SpotWords::of(cars, &reservoir.at),
        volume: reservoir.volume_l,
        says,
    }
}

/// What its air still allows; where that is not known, which fact is lacking.
fn until_drained(reservoir: &ChargedReservoir, stored: &[StoredIn]) -> String {
    let of_it = stored.iter().find(|one| one.at == reservoir.at);
    let left = of_it.map(|one| (stored::left(one), one.applications.as_ref()));
    match left {
        Some((Some(left), Some(Ok(worked)))) if worked.value == 0 => {
            format!("; until then {left}")
        }
        Some((Some(left), _)) => format!("; until then {left}, none with slide protection acting"),
        Some((None, Some(Err(missing)))) => {
            format!("; how many applications until then: {missing}")
        }
        _ => String::new(),
    }
}
