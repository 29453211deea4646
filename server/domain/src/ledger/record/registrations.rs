//! Registrations of cars that were recorded by mistake: taken back while nothing else is recorded
//! of the car, which then is not in the register, and its number and vehicle number are free. What was
//! known of it stays for the past.

use super::cars;
use super::correction::rests;
use crate::configuration::car::Car;
use crate::ledger::command::Command;
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::ledger::proposal::Proposal;
use crate::refusal::Refusal;

/// A registration is withdrawn only where it brought the car in, and nothing else that stands names the
/// car: all that would rest on it. What it is registered with is changed by a new entry.
pub(super) fn may_be_withdrawn(
    dossier: &Dossier,
    (entry, car): (&Entry, &Car),
    command: &Command,
) -> Result<(), Refusal> {
    let refused = |given: &str, allowed: &str| {
        Err(Refusal::Impossible {
            field: "corrects",
            given: format!("{}, {given}", entry.seq),
            allowed: allowed.to_owned(),
        })
    };
    if command.fact != Fact::Withdrawn {
        return refused(
            "which registers a car",
            "its withdrawal; or what the car is registered with now, as a new entry",
        );
    }
    if cars::known_car(dossier, &car.number)?.id != entry.seq {
        return refused(
            "which is not what brought its car in",
            "what the car is registered with now, as a new entry",
        );
    }
    let mentions = dossier.mentions.get(&entry.seq);
    let Some(mentions) = mentions.filter(|mentions| mentions.kept_after < entry.seq) else {
        return refused(
            "which brought a car in",
            "a registration of which it is kept what else was recorded about the car; for those from before, rebuild the register first",
        );
    };
    let others = mentions.entries.iter();
    // That it was proposed is how it came in.
    let others = others.filter(|one| !matches!(one.fact, Fact::Proposed(Proposal::Car(_))));
    named_by_none(entry, others.filter(|other| other.names_car(&car.number)))
}

/// What an entry brought in stays while others name it: they are withdrawn first, where they can be.
pub(super) fn named_by_none<'a>(
    entry: &Entry,
    others: impl Iterator<Item = &'a Entry>,
) -> Result<(), Refusal> {
    let others: Vec<&Entry> = others.collect();
    let goes_first = |other: &Entry| {
        other.fact.is_correctable() && !matches!(other.fact, Fact::CarRegistered(_))
    };
    if let Some(stays) = others.iter().find(|other| !goes_first(other)) {
        return Err(Refusal::Contradicts {
            what: format!("a withdrawal of {}", entry.seq),
            by: stays.seq,
            since: stays.effective_at.into(),
            allowed: "that entry names it and is never withdrawn, so it stays in the register; record what is true of it now as a new entry",
        });
    }
    match others.first() {
        Some(other) => Err(rests(entry, other.seq, other.effective_at)),
        None => Ok(()),
    }
}

/// What was registered is not there any more.
pub(super) fn undo(dossier: &mut Dossier, car: &Car) {
    dossier.cars.remove(&car.number);
    dossier.changes.cars.remove(&car.number);
}

/// Folds the withdrawal of a registration: of the car stays what was known.
pub(super) fn fold_withdrawn(dossier: &mut Dossier, entry: &Entry) {
    let target = entry.corrects.and_then(|seq| dossier.corrected.get(&seq));
    let Some((target, _)) = target else { return };
    if matches!(&*dossier.made_true(&target.fact), Fact::CarRegistered(_)) {
        // A car is named by the entry that brought it in.
        let car = target.seq;
        dossier.changes.cars_gone.insert(car, entry.seq);
    }
}
