//! Air that stays stored: what it still allows, and where it is drained.

use super::answered::Answered;
use crate::page::isolations::age::age;
use domain::decision::stored::StoredIn;
use domain::decision::{Spent, Supposed};
use domain::isolation::closing::Spot;
use domain::ledger::dossier::IsolationRecord;
use domain::time::{Instant, Zone};
use domain::worked::{MissingFact, Step};

/// A reservoir that no source feeds any more.
#[derive(Debug)]
pub(crate) struct StoredRow {
    pub(crate) car: String,
    pub(crate) code: String,
    pub(crate) volume: u32,
    pub(crate) feeds: String,
    /// How many full applications; nothing where it feeds no brake or a fact is lacking.
    pub(crate) left: String,
    /// When its supply was cut, and why its air is not counted; nothing where neither is so.
    pub(crate) cut: String,
    /// Where its pressure is read.
    pub(crate) read_at: Vec<String>,
    pub(crate) missing: Vec<MissingFact>,
    pub(crate) drains: Vec<String>,
    pub(crate) steps: Vec<Step>,
}

/// Every such reservoir of the train of an answer.
pub(crate) fn rows(
    answered: &Answered,
    supposed: &[Supposed],
    (zone, now): (&Zone, Instant),
) -> Vec<StoredRow> {
    let isolations = answered.cars.iter().flat_map(|car| &car.isolations);
    let isolations: Vec<&IsolationRecord> = isolations.collect();
    let stored = answered.answer.stored_air(supposed);
    let decision = answered.answer.decision.as_ref().ok();
    let spent = decision.map_or(&[][..], |decision| &decision.spent);
    let not_counted = |one: &StoredIn| {
        let (car, position) = (&one.at.car_number, &one.at.position);
        let mut spent = spent.iter();
        let spent = spent.find(|other| other.at.car == *car && other.at.position == *position);
        spent.map(Spent::in_short)
    };
    let row = |one: &StoredIn| {
        let cut = cut(one, &isolations, (zone, now));
        let told = [(!cut.is_empty()).then_some(cut), not_counted(one)];
        let told: Vec<String> = told.into_iter().flatten().collect();
        StoredRow {
            cut: told.join("; "),
            ..row(one)
        }
    };
    stored.iter().map(row).collect()
}

fn row(stored: &StoredIn) -> StoredRow {
    let drains = stored.drains.iter();
    let (steps, missing) = match &stored.applications {
        Some(Ok(worked)) => (worked.steps.clone(), Vec::new()),
        Some(Err(missing)) => (Vec::new(), missing.0.clone()),
        None => (Vec::new(), Vec::new()),
    };
    StoredRow {
        car: stored.at.car_number.to_string(),
        code: stored.at.position.to_string(),
        volume: stored.volume_l,
        feeds: match stored.brakes {
            0 => "no brake".to_owned(),
            1 => "1 brake".to_owned(),
            brakes => format!("{brakes} brakes"),
        },
        left: left(stored).unwrap_or_default(),
        cut: String::new(),
        read_at: stored.read_at.iter().map(place).collect(),
        missing,
        drains: drains.map(place).collect(),
        steps,
    }
}

fn place(at: &Spot) -> String {
    format!("car {} {}", at.car_number, at.position)
}

/// How many full applications; none where it feeds no brake or a fact is lacking.
pub(crate) fn left(stored: &StoredIn) -> Option<String> {
    let worked = stored.applications.as_ref()?.as_ref().ok()?;
    Some(applications(worked.value))
}

/// "8 full applications if it is still full": nobody knows that who has not read its pressure.
pub(crate) fn applications(count: u32) -> String {
    match count {
        0 => "no full application".to_owned(),
        1 => "1 full application if it is still full".to_owned(),
        count => format!("{count} full applications if it is still full"),
    }
}

/// "supply cut at =BS-QM1 3 d 4 h ago", or that it is only supposed.
fn cut(
    stored: &StoredIn,
    isolations: &[&IsolationRecord],
    (zone, now): (&Zone, Instant),
) -> String {
    let one = |spot: &Spot| {
        let mut isolations = isolations.iter();
        let found = isolations.find(|one| {
            let at = &one.cut_out.at;
            at.car == spot.car_number && at.position == spot.position
        });
        let since = found.map_or("supposed".to_owned(), |isolation| {
            format!("{} ago", age(isolation, zone, now).ago)
        });
        format!("supply cut at {}: {since}", spot.position)
    };
    stored
        .supply_cut
        .iter()
        .map(one)
        .collect::<Vec<_>>()
        .join("; ")
}
