//! What stands on a car of a train under a concession: what was agreed with it may restrict the car,
//! so that it is told beside every verdict, in the words of those who agreed.

use crate::configuration::concession::Allowed;
use crate::identity::{CarNumber, ConcessionNumber, PositionCode, SettingName};
use crate::ledger::departures::DepartureKind;
use crate::ledger::dossier::Documents;
use crate::ledger::entry::Seq;
use crate::time::Day;
use serde::Serialize;
use std::collections::BTreeMap;

/// A place of a car that departs from its baseline, as a decision needs it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct DepartsThere {
    /// The place.
    pub position: PositionCode,
    /// The setting that departs, where it is one.
    pub setting: Option<SettingName>,
    /// How.
    pub kind: DepartureKind,
    /// The concession that is for it, or was until it ended.
    pub concession: Option<ConcessionNumber>,
    /// From this day on.
    pub from: Day,
    /// Until this day, which is not included; none where it goes on.
    pub until: Option<Day>,
}

impl DepartsThere {
    /// Whether it departs on a day.
    pub(super) fn is_one_on(&self, day: Day) -> bool {
        self.from <= day && self.until.is_none_or(|until| day < until)
    }
}

/// What a concession says of a place of a car where it is made use of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Conceded {
    /// Where.
    pub position: PositionCode,
    /// The concession.
    pub concession: ConcessionNumber,
    /// The entry by which it is in force.
    pub by: Seq,
    /// What it allows there.
    pub allows: Allowed,
    /// What was agreed with it.
    pub reason: String,
    /// Its last day.
    pub until: Day,
    /// Whether that is over though what it allowed is still there.
    pub ended: bool,
}

/// The same in a train.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ConcededInTrain {
    /// The car.
    pub car_number: CarNumber,
    /// Where on it, and what.
    #[serde(flatten)]
    pub conceded: Conceded,
}

/// What concessions say of the places of a car that depart on a day.
pub fn conceded(documents: &Documents, departs: &[DepartsThere], on: Day) -> Vec<Conceded> {
    let then = departs.iter().filter(|one| one.is_one_on(on));
    let known = then.filter_map(|one| {
        let concession = one.concession.as_ref()?;
        let record = documents.concessions.get(concession)?;
        Some(Conceded {
            position: one.position.clone(),
            concession: concession.clone(),
            by: record.by,
            allows: record.granted.allows.clone(),
            reason: record.granted.reason.clone(),
            until: record.until(),
            ended: record.until() < on,
        })
    });
    let mut found: Vec<Conceded> = known.collect();
    found.dedup();
    found
}

/// One sentence and what was agreed for each concession that is made use of, by number.
pub(super) fn in_words(all: &[ConcededInTrain]) -> Vec<String> {
    let mut by_number: BTreeMap<&ConcessionNumber, Vec<&ConcededInTrain>> = BTreeMap::new();
    for one in all {
        let places = by_number.entry(&one.conceded.concession).or_default();
        places.push(one);
    }
    let told = by_number.values().filter_map(|places| {
        let Conceded {
            concession,
            by,
            allows,
            reason,
            until,
            ended,
            ..
        } = &places.first()?.conceded;
        let at = places.iter().map(|one| {
            let (car, position) = (&one.car_number, &one.conceded.position);
            format!("car {car} {position}")
        });
        let at = at.collect::<Vec<_>>().join("; ");
        let stands = if *ended {
            format!("ended on {until}, and what it allowed is still there")
        } else {
            format!("is in force until {until}")
        };
        let reason = reason.trim_end_matches('.');
        Some(format!(
            "Concession {concession} ({by}) for {allows} on {at} {stands}. What was agreed with it: \
             {reason}."
        ))
    });
    told.collect()
}
