//! The checks after the cut-outs of a train as the page lists them: who confirmed which, what is
//! still open, and the form by which one is confirmed.

use crate::form::new_command;
use domain::decision::checks::Check;
use domain::decision::follow_up::{Done, FollowUp, Followed, follow_up};
use domain::ledger::entry::Seq;
use domain::time::Zone;
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

/// What the register knows of the cut-outs in force on some cars, formed by an entry.
pub(crate) fn followed(cars: &[CarInTrain], formed_by: Option<Seq>) -> Followed<'_> {
    let restored = cars.iter().filter_map(|car| car.restored_by).max();
    Followed {
        isolations: cars.iter().flat_map(|car| &car.isolations).collect(),
        confirmed: cars.iter().flat_map(|car| &car.confirmed).collect(),
        changed_by: restored.max(formed_by),
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

fn words(done: Done<'_>, zone: &Zone) -> String {
    match done {
        Done::Open => "Open.".to_owned(),
        Done::Outdated(before) => format!(
            "Open again: something was changed since {} confirmed it on {}.",
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
