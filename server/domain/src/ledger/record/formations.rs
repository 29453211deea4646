//! Formations of units and trains that were recorded by mistake: taken back, or another in their place.

use super::cars;
use crate::identity::{TrainId, UnitNumber};
use crate::ledger::command::Command;
use crate::ledger::dossier::Dossier;
use crate::ledger::entry::{Entry, Seq};
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;

/// A formation is withdrawn while another of the same unit or train is left, or replaced by another
/// of the same. The cars of what stands then are in no other unit.
pub(super) fn may_be_replaced(
    dossier: &Dossier,
    entry: &Entry,
    command: &Command,
) -> Result<(), Refusal> {
    let refused = |given: &str, allowed: &str| Refusal::Impossible {
        field: "corrects",
        given: format!("{}, {given}", entry.seq),
        allowed: allowed.to_owned(),
    };
    if !all_is_kept(dossier, entry) {
        return Err(refused(
            "which forms a unit or train",
            "a formation of which it is kept what else was recorded; for those from before, rebuild the register first",
        ));
    }
    let withdrawn = command.fact == Fact::Withdrawn;
    let only_one = || {
        refused(
            "which alone tells how it was formed",
            "another formation in its place, or how it is formed now as a new entry",
        )
    };
    match (&entry.fact, &command.fact) {
        (Fact::UnitFormed(unit), right) => {
            if matches!(right, Fact::UnitFormed(other) if other.number != unit.number) {
                return Err(refused(
                    "which is about another unit",
                    "that of the same unit",
                ));
            }
            let left = dossier.unit_without(&unit.number, entry.seq);
            if withdrawn && left.is_none() {
                return Err(only_one());
            }
            let stands = left.filter(|((since, _), _)| withdrawn || command.effective_at < *since);
            let places = stands.into_iter().flat_map(|(_, unit)| &unit.cars);
            let mut records = places.filter_map(|place| dossier.cars.get(&place.car));
            records.try_for_each(|record| cars::of_no_other(record, &unit.number))
        }
        (Fact::TrainFormed(train), right) => {
            if matches!(right, Fact::TrainFormed(other) if other.id != train.id) {
                return Err(refused(
                    "which is about another train",
                    "that of the same train",
                ));
            }
            if withdrawn && dossier.train_without(&train.id, entry.seq).is_none() {
                return Err(only_one());
            }
            Ok(())
        }
        _ => Ok(()),
    }
}

/// Whether all that was told of a unit or train is found.
fn all_is_kept(dossier: &Dossier, entry: &Entry) -> bool {
    let first: Option<Seq> = match &entry.fact {
        Fact::UnitFormed(unit) => dossier.units.get(&unit.number).map(|known| known.id),
        Fact::TrainFormed(train) => dossier.trains.get(&train.id).map(|known| known.id),
        _ => None,
    };
    let mentions = dossier.mentions.get(&entry.seq);
    mentions.is_some_and(|mentions| first.is_some_and(|first| mentions.kept_after < first))
}

/// What is left of what was told of the unit or train stands; where nothing is left, whatever takes
/// its place will.
pub(super) fn undo(dossier: &mut Dossier, entry: &Entry) {
    match &entry.fact {
        Fact::UnitFormed(unit) => undo_unit(dossier, entry.seq, &unit.number),
        Fact::TrainFormed(train) => undo_train(dossier, entry.seq, &train.id),
        _ => {}
    }
    dossier.drop_told(entry);
}

fn undo_unit(dossier: &mut Dossier, entry: Seq, number: &UnitNumber) {
    let known = dossier.units.get(number);
    if known.is_none_or(|known| known.by != entry) {
        return;
    }
    let left = dossier.unit_without(number, entry);
    if let Some((when, unit)) = left.map(|(when, unit)| (when, unit.clone())) {
        cars::put_unit(dossier, when, &unit);
    } else if let Some(known) = dossier.units.get_mut(number) {
        known.formed_at = Instant::EARLIEST;
    }
}

fn undo_train(dossier: &mut Dossier, entry: Seq, id: &TrainId) {
    let known = dossier.trains.get(id);
    if known.is_none_or(|known| known.by != entry) {
        return;
    }
    let left = dossier.train_without(id, entry);
    if let Some((when, train)) = left.map(|(when, train)| (when, train.clone())) {
        cars::put_train(dossier, when, &train);
    } else if let Some(known) = dossier.trains.get_mut(id) {
        known.formed_at = Instant::EARLIEST;
    }
}
