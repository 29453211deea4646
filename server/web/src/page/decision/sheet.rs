//! The sheet of a decision: one A4 page for the cab. Everything on it is what the entry says, so
//! that it can be proved later; a what-if has no entry and therefore no sheet.

use super::decided::{VoidWords, doubted_since, entry_link, runs_elsewhere, void};
use super::follow::OpenChecks;
use super::room::{CutOutList, Room, Setting, all_since};
use super::rules_told::RulesOnSheet;
use super::verdicts::{mark, restrictions};
use crate::address;
use crate::failure::Failure;
use crate::frame::Frame;
use crate::respond::{PageResult, page};
use crate::session::SignedIn;
use crate::state::WebState;
use askama::Template;
use axum::extract::{Path, State};
use domain::configuration::car::Orientation;
use domain::configuration::car_type::{CarType, Position};
use domain::decision::asked::AskedField;
use domain::decision::check_code::CheckCode;
use domain::decision::taken::{
    DecidedCar, DecidedCutOut, DecisionTaken, Found, FoundCounts, LostAxles, OfAll,
};
use domain::decision::{Since, counted_until};
use domain::ledger::dossier::Documents;
use domain::ledger::entry::Seq;
use domain::rule_set::verdict::Imposed;
use domain::time::Zone;
use domain::units::Kilograms;
use std::fmt;
use std::slice;
use store::read::decisions::{Proof, ProvenDecision};

use super::answered::rule_sets;

#[derive(Template)]
#[template(path = "decision/sheet.html")]
struct SheetPage {
    frame: Frame,
    sheet: Sheet,
}

/// What stands on a sheet.
struct Sheet {
    train: String,
    href: String,
    code: String,
    entry: (String, i64),
    decided_at: String,
    decided_by: String,
    recorded_by: String,
    void: Option<VoidWords>,
    /// The entry told since that changes what it rested on.
    told_late: Option<(String, i64)>,
    /// The last entry told since by which something on its cars is to be judged again.
    doubted: Option<(String, i64)>,
    genuine: bool,
    class: &'static str,
    mark: &'static str,
    headline: &'static str,
    restrictions: Vec<(&'static str, String)>,
    rule_set: String,
    issuer: String,
    cars: Vec<CarOnSheet>,
    cut_outs: Vec<CutOutOnSheet>,
    /// How they are told: in fewer words, or only the first, where there are many.
    list: CutOutList,
    /// Since when all of them stand, where that is one time.
    all_since: Option<String>,
    /// In which type it is set.
    setting: Setting,
    /// Whether all that must be on it fits one page.
    one_page: bool,
    /// What the verdict becomes once stored air is used up.
    later: Option<String>,
    /// Until when stored air is counted in it.
    counted_until: Option<String>,
    /// The positions without a component, or with an incomplete one.
    vacant: Option<String>,
    percentages: Vec<PercentageOnSheet>,
    /// What works, mode by mode.
    working: Vec<WorkingOnSheet>,
    /// The gradient on which the springs keep the train, where it was kept.
    holding: Option<(String, String)>,
    asked: Vec<(String, String)>,
    rules: RulesOnSheet,
    cautions: Vec<String>,
    /// The day on which a season of its rules begins or has ended, where they know one.
    turns_on: Option<String>,
    /// What must be known beside the verdict.
    warnings: Vec<String>,
    told: Vec<(String, String)>,
    /// Reservoirs that may still hold air, one in a line.
    stored: Vec<String>,
    /// How many more there are.
    more_stored: usize,
    /// The checks after the cut-outs, as far as they are known now.
    checks: Option<OpenChecks>,
    /// When the sheet was made, which the checks speak of.
    made_at: String,
}

struct CarOnSheet {
    number: String,
    car_type: String,
    reversed: bool,
}

/// A brake percentage with the sums that it follows from.
pub(super) struct PercentageOnSheet {
    /// Of which state of the train.
    of: &'static str,
    /// "100 · 303.4 t / 239.7 t".
    working: String,
    value: String,
}

impl fmt::Display for PercentageOnSheet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} = {}", self.of, self.working, self.value)
    }
}

/// What works in one mode of braking.
struct WorkingOnSheet {
    mode: &'static str,
    operative: [(&'static str, OfAll); 3],
    lost: String,
}

struct CutOutOnSheet {
    car: String,
    code: String,
    title: String,
    /// What stands on the car, where anything does.
    label: Option<String>,
    state: String,
    /// Since when, where that was kept.
    since: Option<String>,
}

/// Positions without a component, or with an incomplete one, that are named, at most.
const VACANT_NAMED: usize = 8;
/// `GET /decisions/{entry}`
pub(crate) async fn show(
    State(state): State<WebState>,
    signed_in: SignedIn,
    Path(entry): Path<i64>,
) -> PageResult {
    let mut view = state.store.view().await?;
    let found = view.decision(Seq(entry)).await?;
    let proven = found.ok_or_else(|| Failure::NotFound {
        what: "decision recorded by entry",
        name: entry.to_string(),
    })?;
    let told = view.told_after(slice::from_ref(&proven.record)).await?;
    let mut sheet = sheet(&proven, &view.documents, &state);
    // Also of one that is void by now: they are to hear of that.
    let told = told.get(&proven.record.id).map(|told| {
        let who = format!("everybody who must be, by {}", told.by);
        (who, state.zone.show(told.at))
    });
    sheet.told.extend(told);
    if sheet.void.is_none() {
        sheet.void = runs_elsewhere(&mut view, &proven.record.taken.train).await?;
    }
    sheet.doubted = doubted_since(&proven.record, &view.doubted().await?);
    if sheet.void.is_none() {
        sheet.checks = OpenChecks::of_train(&mut view, &proven.record, state.when()).await?;
    }
    page(&SheetPage {
        sheet,
        frame: Frame::new(&state, &signed_in),
    })
}

fn sheet(proven: &ProvenDecision, documents: &Documents, state: &WebState) -> Sheet {
    let record = &proven.record;
    let taken = &record.taken;
    let found = &taken.found;
    let zone = &state.zone;
    let imposed = Imposed::from(&found.restrictions);
    let key = (taken.rule_set.clone(), taken.revision.clone());
    let issued = documents.rule_sets.get(&key);
    let Room {
        setting,
        list,
        stored,
        more_stored,
        rules,
        one_page,
    } = Room::of(taken);
    Sheet {
        train: taken.train.to_string(),
        href: address::train(&taken.train),
        code: CheckCode::of(record.id, &proven.hash).to_string(),
        entry: entry_link(record.id),
        decided_at: zone.show(record.at),
        decided_by: taken.decided_by.to_string(),
        recorded_by: record.recorded_by.to_string(),
        void: void(
            record,
            &rule_sets(documents, state.today()),
            (zone, state.now()),
        ),
        told_late: record.told_late.map(entry_link),
        doubted: None,
        genuine: proven.proof == Proof::Holds,
        class: found.permission.name(),
        mark: mark(found.permission),
        headline: found.permission.headline(),
        restrictions: restrictions(found.permission, &imposed),
        rule_set: format!("{}, revision {}", taken.rule_set, taken.revision),
        issuer: issued.map_or(String::new(), |set| set.document.issuer.clone()),
        cars: found.cars.iter().map(car).collect(),
        cut_outs: cut_outs(found, list.named, documents, zone),
        list,
        all_since: all_since(found).map(|since| since_words(since, zone)),
        setting,
        one_page,
        later: found.later.clone(),
        counted_until: found.counted_until.map(|until| counted_until(until, zone)),
        vacant: vacant(found),
        percentages: percentages(found),
        working: working(found),
        holding: found
            .holding
            .map(|kept| (per_mille(kept.after), per_mille(kept.before))),
        asked: asked(taken),
        rules,
        cautions: found.cautions.clone(),
        turns_on: issued
            .and_then(|set| set.document.turns_after(zone.day_of(record.at)))
            .map(|day| day.to_string()),
        warnings: found.beside().cloned().collect(),
        told: told(taken, zone),
        stored,
        more_stored,
        checks: None,
        made_at: zone.show(state.now()),
    }
}

fn car(car: &DecidedCar) -> CarOnSheet {
    CarOnSheet {
        number: car.number.to_string(),
        car_type: format!("{} {}", car.car_type, car.revision),
        reversed: car.orientation == Orientation::Reversed,
    }
}

/// So many of the cut-outs, the first in the train.
fn cut_outs(found: &Found, named: usize, documents: &Documents, zone: &Zone) -> Vec<CutOutOnSheet> {
    let of = |cut_out: &DecidedCutOut| {
        let car_type = car_type(found, cut_out, documents);
        let position = car_type.and_then(|car_type| car_type.position(&cut_out.at.position));
        // Nobody finds a part of the code on a car.
        let label = position.and_then(Position::label_on_car);
        CutOutOnSheet {
            car: cut_out.at.car.to_string(),
            code: cut_out.at.position.to_string(),
            label: label.map(|alias| alias.name.clone()),
            title: position.map_or(String::new(), |position| position.title.clone()),
            state: cut_out.state.to_string(),
            since: cut_out.since.map(|since| since_words(since, zone)),
        }
    };
    found.cut_outs.iter().take(named).map(of).collect()
}

/// "2026-11-25 11:00 +00:00", or between which times where nobody saw it change.
fn since_words(since: Since, zone: &Zone) -> String {
    let at = zone.show(since.at);
    match since.not_before {
        None => at,
        Some(before) => format!("between {} and {at}", zone.show(before)),
    }
}

fn car_type<'d>(
    found: &Found,
    cut_out: &DecidedCutOut,
    documents: &'d Documents,
) -> Option<&'d CarType> {
    let car = found.cars.iter().find(|car| car.number == cut_out.at.car)?;
    let key = (car.car_type.clone(), car.revision.clone());
    documents.car_types.get(&key).map(|known| &*known.document)
}

pub(super) fn percentages(found: &Found) -> Vec<PercentageOnSheet> {
    let Some(percentage) = &found.percentage else {
        return Vec::new();
    };
    let shown = |of, braked_weight: Kilograms| {
        Some(PercentageOnSheet {
            of,
            working: format!("100 · {braked_weight} / {}", percentage.mass),
            value: percentage.of(braked_weight)?.to_string(),
        })
    };
    let later = percentage.later.filter(|later| *later != percentage.after);
    let all = [
        shown("with everything as it should be", percentage.before),
        shown("as it is", percentage.after),
        later.and_then(|later| shown("once stored air is used up", later)),
    ];
    all.into_iter().flatten().collect()
}

/// What works in service braking, where that was kept, and in emergency braking.
fn working(found: &Found) -> Vec<WorkingOnSheet> {
    let of = |mode, operative: &FoundCounts, lost: &[LostAxles]| WorkingOnSheet {
        mode,
        operative: [
            ("axles", operative.axles),
            ("bogies", operative.bogies),
            ("cars", operative.cars),
        ],
        lost: in_words(lost),
    };
    let service = found.in_service.as_ref();
    let service = service.map(|it| of("service", &it.operative, &it.lost));
    let emergency = of("emergency", &found.operative, &found.lost);
    service.into_iter().chain([emergency]).collect()
}

fn in_words(lost: &[LostAxles]) -> String {
    let of_car = |lost: &LostAxles| {
        let axles: Vec<String> = lost.axles.iter().map(ToString::to_string).collect();
        format!("car {} axles {}", lost.car, axles.join(" "))
    };
    let cars: Vec<String> = lost.iter().map(of_car).collect();
    match cars.as_slice() {
        [] => "none".to_owned(),
        cars => cars.join("; "),
    }
}

/// "2 positions without a component or incomplete, counted as delivering nothing: 4106 =BS2-XT1,
/// 4107 =BS1-XT1". Which is incomplete stands among the warnings.
fn vacant(found: &Found) -> Option<String> {
    let count = match found.vacant {
        0 => return None,
        1 => "1 position".to_owned(),
        several => format!("{several} positions"),
    };
    let at = found.vacant_at.iter().take(VACANT_NAMED);
    let mut at: Vec<String> = at.map(|at| format!("{} {}", at.car, at.position)).collect();
    match found.vacant_at.len().saturating_sub(VACANT_NAMED) {
        0 => {}
        more => at.push(format!("{more} more")),
    }
    let which = if at.is_empty() {
        String::new()
    } else {
        format!(": {}", at.join(", "))
    };
    Some(format!(
        "{count} without a component or incomplete, counted as delivering nothing{which}."
    ))
}

fn per_mille(tenths: u32) -> String {
    format!("{}.{} ‰", tenths / 10, tenths % 10)
}

/// The question field by field, with what was assumed marked.
pub(crate) fn asked(taken: &DecisionTaken) -> Vec<(String, String)> {
    let shown = |field: &AskedField| {
        let text = taken.asked.get(field).map_or("", String::as_str);
        let value = match (text, field.unit()) {
            ("", _) => "not known".to_owned(),
            (text, Some(unit)) => format!("{text} {unit}"),
            (text, None) => text.replace('_', " "),
        };
        let assumed = if taken.assumed.contains(field) {
            " (assumed)"
        } else {
            ""
        };
        (field.to_string(), format!("{value}{assumed}"))
    };
    AskedField::ALL.iter().map(shown).collect()
}

fn told(taken: &DecisionTaken, zone: &Zone) -> Vec<(String, String)> {
    let told = taken.told.iter();
    told.map(|told| (told.who.clone(), zone.show(told.at)))
        .collect()
}
