//! The checks after the cut-outs of a train as the page lists them: who confirmed which, what is
//! still open, and the form by which one is confirmed.

use super::answered::train_cars;
use super::room::CHECKS_CHARS;
use crate::failure::Failure;
use crate::form::new_command;
use domain::configuration::component::PositionRef;
use domain::decision::answer::{When, ask};
use domain::decision::checks::{Check, CheckKind};
use domain::decision::decide;
use domain::decision::follow_up::{Done, FollowUp, Followed, follow_up};
use domain::ledger::dossier::DecisionRecord;
use domain::ledger::entry::Seq;
use domain::time::Zone;
use store::read::View;
use store::read::formations::CarInTrain;

/// A check in the list.
pub(crate) struct CheckRow {
    pub(crate) text: String,
    pub(crate) source: String,
    /// Whether it is done, in words; nothing for what is only supposed.
    pub(crate) done: Option<DoneWords>,
    /// How it is confirmed, by those who may.
    pub(crate) confirm: Option<Confirm>,
}

/// Whether a check is done.
pub(crate) struct DoneWords {
    pub(crate) is_open: bool,
    pub(crate) words: String,
}

/// What a form that confirms a check brings along.
pub(crate) struct Confirm {
    pub(crate) name: String,
    pub(crate) car: String,
    pub(crate) position: String,
    pub(crate) isolation: i64,
    pub(crate) check: &'static str,
    pub(crate) command: String,
}

/// What the register knows of the cut-outs in force on some cars, formed by an entry, and decided
/// about by another.
pub(crate) fn followed(
    cars: &[CarInTrain],
    formed_by: Option<Seq>,
    decided: Option<Seq>,
) -> Followed<'_> {
    let restored = cars.iter().filter_map(|car| car.restored_by).max();
    Followed {
        isolations: cars.iter().flat_map(|car| &car.isolations).collect(),
        confirmed: cars.iter().flat_map(|car| &car.confirmed).collect(),
        changed_by: restored.max(formed_by),
        decided,
    }
}

/// The checks of a what-if, which nobody can have done.
pub(crate) fn supposed(checks: &[Check]) -> Vec<CheckRow> {
    checks.iter().map(plain).collect()
}

fn plain(check: &Check) -> CheckRow {
    CheckRow {
        text: check.text.clone(),
        source: check.source.to_string(),
        done: None,
        confirm: None,
    }
}

/// The checks of a train as it stands.
pub(crate) fn rows(checks: &[Check], followed: &Followed<'_>, zone: &Zone) -> Vec<CheckRow> {
    let row = |(place, one): (usize, FollowUp<'_>)| CheckRow {
        done: Some(DoneWords {
            is_open: one.done.is_open(),
            words: words(one.done, zone),
        }),
        confirm: one.done.is_open().then(|| confirm(&one, place)),
        ..plain(one.check)
    };
    let all = follow_up(checks, followed).into_iter();
    all.enumerate().map(row).collect()
}

/// The checks after the cut-outs of a train, as the register knows them now.
pub(crate) struct OpenChecks {
    /// How many there are.
    pub(crate) all: usize,
    /// How many of them nobody has confirmed, or not since the last change.
    pub(crate) open: usize,
    /// Those, in short.
    pub(crate) which: String,
    /// The same in few lines: where they are many, of how many positions.
    pub(crate) in_few_lines: String,
}

impl OpenChecks {
    /// Of these checks.
    pub(crate) fn of(checks: &[Check], followed: &Followed<'_>) -> Self {
        let all = follow_up(checks, followed);
        let open = all.iter().filter(|one| one.done.is_open());
        let open: Vec<&Check> = open.map(|one| one.check).collect();
        Self {
            all: all.len(),
            open: open.len(),
            which: in_short(&open, named),
            in_few_lines: in_few_lines(&open),
        }
    }

    /// Of a train as it stands, on the question that a decision about it answers. None where the register
    /// lacks something for it. Five statements, and one more where a place holds nothing.
    pub(crate) async fn of_train(
        view: &mut View,
        decided: &DecisionRecord,
        (at, day): When,
    ) -> Result<Option<Self>, Failure> {
        let taken = &decided.taken;
        let Some(train) = view.train(&taken.train).await? else {
            return Ok(None);
        };
        let vehicles = &train.formation.vehicles;
        let cars = view.formation(vehicles, Some(day)).await??;
        let placed = train_cars(&cars, &view.documents, day);
        let question = ask(taken.words(), placed, Vec::new(), (&[], (at, day)))?.question;
        let followed = followed(&cars, Some(train.by), Some(decided.id));
        let found = question.and_then(|question| decide(&question, &[]));
        Ok(found.ok().map(|found| Self::of(&found.checks, &followed)))
    }
}

/// "right car and place: car 4102 =BS1-QM1; the others apply and release", with the positions as
/// told.
fn in_short(open: &[&Check], told: fn(&[&PositionRef]) -> String) -> String {
    let of_kind = |kind: &CheckKind| {
        let these = open.iter().filter(|check| check.kind == *kind);
        let mut these = these.peekable();
        these.peek()?;
        let places: Vec<&PositionRef> = these.flat_map(|check| &check.of).collect();
        let what = short(*kind);
        Some(match places.as_slice() {
            [] => what.to_owned(),
            places => format!("{what}: {}", told(places)),
        })
    };
    let kinds = CheckKind::ALL.iter().filter_map(of_kind);
    kinds.collect::<Vec<_>>().join("; ")
}

fn named(places: &[&PositionRef]) -> String {
    let name = |at: &&PositionRef| format!("car {} {}", at.car, at.position);
    places.iter().map(name).collect::<Vec<_>>().join(", ")
}

fn counted(places: &[&PositionRef]) -> String {
    match places.len() {
        1 => "1 position".to_owned(),
        several => format!("{several} positions"),
    }
}

fn in_few_lines(open: &[&Check]) -> String {
    let which = in_short(open, named);
    if which.chars().count() <= CHECKS_CHARS {
        which
    } else {
        let counts = in_short(open, counted);
        format!("{counts}; one by one on the page of the train")
    }
}

const fn short(kind: CheckKind) -> &'static str {
    match kind {
        CheckKind::RightPlace => "right car and place",
        CheckKind::PressureRead => "pressure of the reservoir read",
        CheckKind::PadsFree => "pads or blocks free",
        CheckKind::ReArming => "re-arming of the spring",
        CheckKind::OthersWork => "the others apply and release",
        CheckKind::Continuous => "continuous to the last vehicle",
        CheckKind::CountedAgain => "counted again",
        CheckKind::EveryoneTold => "everyone told",
    }
}

fn words(done: Done<'_>, zone: &Zone) -> String {
    match done {
        Done::Open => "Open.".to_owned(),
        Done::Outdated(before) => format!(
            "Open again: something was changed or decided since {} confirmed it on {}.",
            before.person,
            zone.show(before.at)
        ),
        Done::Confirmed(by) => {
            format!("Confirmed by {} on {}.", by.person, zone.show(by.at))
        }
    }
}

fn confirm(one: &FollowUp<'_>, place: usize) -> Confirm {
    let at = &one.isolation.cut_out.at;
    Confirm {
        name: format!("check-{}", place + 1),
        car: at.car.to_string(),
        position: at.position.to_string(),
        isolation: one.isolation.id.0,
        check: one.check.kind.name(),
        command: new_command(),
    }
}
