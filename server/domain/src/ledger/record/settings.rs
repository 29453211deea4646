//! Settings of positions: what a car type asks for, and what was set on a car.

use super::cars::known_car;
use super::{Text, plausible_text};
use crate::configuration::car_type::Position;
use crate::configuration::concession::Allowed;
use crate::configuration::setting::{
    SETTINGS_MAX, Setting, SettingHow, SettingMade, SettingRecord,
};
use crate::due::at_once::AtOnceCause;
use crate::ledger::command::Command;
use crate::ledger::dossier::{Dossier, PlaceOnCar};
use crate::ledger::entry::Entry;
use crate::ledger::fact::Fact;
use crate::refusal::Refusal;
use crate::time::Instant;
use std::collections::BTreeSet;

/// Checks the settings that a car type asks for at a position.
pub(super) fn check_declared(position: &Position) -> Result<(), Refusal> {
    let settings = &position.settings;
    let names: BTreeSet<_> = settings.iter().map(Setting::name).collect();
    if names.len() == settings.len() && settings.len() <= SETTINGS_MAX {
        return Ok(());
    }
    Err(Refusal::Impossible {
        field: "settings",
        given: format!("{} settings at {}", settings.len(), position.code),
        allowed: format!("at most {SETTINGS_MAX}, each by another name"),
    })
}

/// Checks that the baseline of the day asks for a setting there, that the value is one it allows,
/// unless it was found so, that something was there to be set, and that a value which somebody made
/// and which is not the one wanted has a reason.
pub(super) fn check_made(
    dossier: &Dossier,
    made: &SettingMade,
    command: &Command,
) -> Result<(), Refusal> {
    let moment = command.effective_at;
    let place = place(dossier, made, moment)?;
    let setting = declared(&place.position, made)?;
    check_value(dossier, setting, (made, moment))?;
    let asked = !place.position.approved.is_empty();
    let mut there = dossier.fitments_at(&made.at);
    if asked && !there.any(|one| one.period().holds(moment)) {
        return Err(Refusal::Impossible {
            field: "position",
            given: format!(
                "{} at {}, when nothing was fitted there",
                made.at,
                moment.told()
            ),
            allowed: "a time at which the component that is set is there".to_owned(),
        });
    }
    if made.how == SettingHow::Found || made.value == setting.wanted() {
        return Ok(());
    }
    plausible_text("reason", &command.reason, Text::Needed)
}

/// What is found is a fact, whatever is allowed. What is made must be allowed, by the baseline or
/// else by a concession in force for the place.
fn check_value(
    dossier: &Dossier,
    setting: &Setting,
    (made, moment): (&SettingMade, Instant),
) -> Result<(), Refusal> {
    let impossible = |allowed| Refusal::Impossible {
        field: "value",
        given: format!("{} of {}", made.value, made.setting),
        allowed,
    };
    if !setting.is_of_kind(&made.value) {
        return Err(impossible(setting.kind()));
    }
    if made.how == SettingHow::Found || setting.admits(&made.value) {
        return Ok(());
    }
    let what = Allowed::SettingOutOfRange(made.setting.clone());
    let allowed = (&what, Some(&made.value));
    let known = dossier.documents.concession_for(allowed, &made.at);
    let day = dossier.zone.day_of(moment);
    if known.is_some_and(|known| known.holds(moment, day)) {
        return Ok(());
    }
    Err(impossible(format!(
        "{}, or another value under a concession; what is found so is recorded as found",
        setting.allowed()
    )))
}

fn place(dossier: &Dossier, made: &SettingMade, moment: Instant) -> Result<PlaceOnCar, Refusal> {
    let documents = &dossier.documents;
    let record = known_car(dossier, &made.at.car)?;
    let design = documents.car_type(&record.car, dossier.zone.day_of(moment));
    let place = design.and_then(|design| documents.place(design, &made.at.position));
    place.ok_or_else(|| Refusal::Unknown {
        what: "position",
        name: made.at.to_string(),
    })
}

fn declared<'a>(position: &'a Position, made: &SettingMade) -> Result<&'a Setting, Refusal> {
    position.setting(&made.setting).ok_or_else(|| {
        let names = position.settings.iter().map(|one| one.name().as_str());
        let names: Vec<&str> = names.collect();
        Refusal::Impossible {
            field: "setting",
            given: format!("{} at {}", made.setting, made.at),
            allowed: match names.as_slice() {
                [] => "nothing: the baseline asks for no setting there".to_owned(),
                names => names.join(", "),
            },
        }
    })
}

pub(super) fn fold_made(dossier: &mut Dossier, entry: &Entry, made: &SettingMade) {
    let record = SettingRecord {
        by: entry.seq,
        recorded_by: entry.actor.clone(),
        since: entry.effective_at,
        made: made.clone(),
    };
    dossier.settings.insert(entry.seq, record);
    changed(dossier, entry, made);
}

/// Takes back that a setting was made; what was told before is told again.
pub(super) fn undo(dossier: &mut Dossier, entry: &Entry) {
    if let Fact::SettingMade(made) = &entry.fact {
        dossier.settings.remove(&entry.seq);
        changed(dossier, entry, made);
    }
}

fn changed(dossier: &mut Dossier, entry: &Entry, made: &SettingMade) {
    dossier.changes.settings.insert(entry.seq);
    dossier.changes.departs_at(&made.at);
    dossier.touched(&made.at.car, AtOnceCause::Set);
}
