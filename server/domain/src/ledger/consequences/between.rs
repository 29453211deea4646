//! What differs between two pictures of what an entry can change.

use super::{
    Again, CameOrWent, Certainty, Consequences, DepartureMoved, DepartureTold, DueMoved,
    FoundBefore, FoundPart, Listed, Reconsidered, UsageMoved, Verdict, VerdictMoved,
};
use crate::configuration::car::OrderedCar;
use crate::configuration::component::{ComponentRef, Subject};
use crate::decision::taken::{DecidedCutOut, Found};
use crate::identity::{ConcessionNumber, TaskCode};
use crate::ledger::dossier::DecisionRecord;
use crate::ledger::entry::Seq;
use crate::time::Day;
use crate::units::{Amount, Meter};
use crate::worked::Missing;
use std::collections::{BTreeMap, BTreeSet};

/// What an entry can change, as it is at one moment. Amounts that are not listed are nought.
#[derive(Debug, Clone, Default)]
pub struct Picture {
    /// The dates of tasks.
    pub due: BTreeMap<(Subject, TaskCode), Option<Day>>,
    /// What components have run.
    pub usage: BTreeMap<(ComponentRef, Meter), Option<Amount>>,
    /// Departures from the baseline, each with the concession for it.
    pub departures: BTreeMap<DepartureTold, Option<ConcessionNumber>>,
    /// What is found for decisions of the past, each at its moment.
    pub verdicts: BTreeMap<Seq, Again>,
}

impl Consequences {
    /// What differs between two pictures, with the decisions that were looked at and how many more
    /// were not. Linear in the pictures.
    pub fn between(
        before: &Picture,
        after: &Picture,
        (decisions, not_looked_at): (&[DecisionRecord], usize),
    ) -> Self {
        let mut verdicts = Listed::of(verdicts_moved(before, after, decisions));
        verdicts.more += not_looked_at;
        Self {
            due: Listed::of(due_moved(before, after)),
            usage: Listed::of(usage_moved(before, after)),
            departures: Listed::of(departures_moved(before, after)),
            verdicts,
            ..Self::default()
        }
    }
}

fn due_moved(before: &Picture, after: &Picture) -> Vec<DueMoved> {
    let all: BTreeSet<_> = before.due.keys().chain(after.due.keys()).collect();
    let dates = all.into_iter().map(|(subject, task)| {
        let key = (subject.clone(), task.clone());
        let at = |picture: &Picture| picture.due.get(&key).copied().flatten();
        DueMoved {
            subject: subject.clone(),
            task: task.clone(),
            before: at(before),
            after: at(after),
        }
    });
    let mut moved: Vec<DueMoved> = dates.filter(|one| one.before != one.after).collect();
    moved.sort_by_key(|one| {
        let first = [one.before, one.after].into_iter().flatten().min();
        (first.is_none(), first)
    });
    moved
}

fn usage_moved(before: &Picture, after: &Picture) -> Vec<UsageMoved> {
    let all: BTreeSet<_> = before.usage.keys().chain(after.usage.keys()).collect();
    let amounts = all.into_iter().map(|key| {
        let at = |picture: &Picture| picture.usage.get(key).copied().unwrap_or(Some(Amount(0)));
        UsageMoved {
            component: key.0.clone(),
            meter: key.1,
            before: at(before),
            after: at(after),
        }
    });
    amounts.filter(|one| one.before != one.after).collect()
}

fn departures_moved(before: &Picture, after: &Picture) -> Vec<DepartureMoved> {
    let (before, after) = (&before.departures, &after.departures);
    let came = not_in(after, before, CameOrWent::Came);
    came.chain(not_in(before, after, CameOrWent::Went))
        .collect()
}

/// The departures of one picture that another has not.
fn not_in(
    these: &BTreeMap<DepartureTold, Option<ConcessionNumber>>,
    others: &BTreeMap<DepartureTold, Option<ConcessionNumber>>,
    change: CameOrWent,
) -> impl Iterator<Item = DepartureMoved> {
    let alone = these
        .iter()
        .filter(move |(departure, _)| !others.contains_key(*departure));
    alone.map(move |(departure, concession)| DepartureMoved {
        departure: departure.clone(),
        change,
        concession: concession.clone(),
    })
}

/// A decision is told where another thing is found now than was found before the entry, also where
/// that is again what it found, and where nothing can be found at all.
fn verdicts_moved(
    before: &Picture,
    after: &Picture,
    decisions: &[DecisionRecord],
) -> Vec<VerdictMoved> {
    let moved = decisions.iter().filter_map(|record| {
        let again = after.verdicts.get(&record.id)?;
        let was = before.verdicts.get(&record.id).map(|was| &was.found);
        if let (Some(Ok(before)), Ok(after)) = (was, &again.found)
            && before == after
        {
            return None;
        }
        let taken = &record.taken;
        Some(VerdictMoved {
            decision: record.id,
            train: taken.train.clone(),
            at: record.at,
            decided_by: taken.decided_by.clone(),
            told: (&taken.found).into(),
            now: reconsidered(&again.found),
            before: was.and_then(|was| found_before(&taken.found, was, &again.found)),
            others: match &again.found {
                Ok(found) => others_of_one_verdict(&taken.found, found),
                Err(_) => Vec::new(),
            },
            cars: other_cars(&taken.found, &again.found),
            revision: Some(&again.revision)
                .filter(|revision| **revision != taken.revision)
                .cloned(),
            certainty: Certainty::Certain,
        })
    });
    moved.collect()
}

fn reconsidered(found: &Result<Found, Missing>) -> Reconsidered {
    match found {
        Ok(found) => Reconsidered::Found(found.into()),
        Err(why) => Reconsidered::NoAnswer(why.to_string()),
    }
}

/// What was found before an entry, where that is something else than a decision told.
fn found_before(
    told: &Found,
    before: &Result<Found, Missing>,
    now: &Result<Found, Missing>,
) -> Option<FoundBefore> {
    let same = before.as_ref().is_ok_and(|before| {
        Verdict::from(before) == Verdict::from(told) && other_parts(told, before).is_empty()
    });
    (!same).then(|| FoundBefore {
        found: reconsidered(before),
        changed: match (before, now) {
            (Ok(before), Ok(now)) => others_of_one_verdict(before, now),
            _ => Vec::new(),
        },
    })
}

/// What is found otherwise, where the verdict in few words is the same.
fn others_of_one_verdict(told: &Found, now: &Found) -> Vec<FoundPart> {
    if Verdict::from(told) == Verdict::from(now) {
        other_parts(told, now)
    } else {
        Vec::new()
    }
}

/// What is found otherwise than it was told.
fn other_parts(told: &Found, now: &Found) -> Vec<FoundPart> {
    let brakes = |found: &Found| (found.lost.clone(), found.operative, found.percentage);
    let beside = |found: &Found| {
        // Earlier decisions have what becomes of the verdict first among the warnings.
        let warnings = found.later.iter().chain(&found.warnings);
        let warnings: Vec<String> = warnings.cloned().collect();
        (found.stored.clone(), found.cautions.clone(), warnings)
    };
    let parts = [
        (FoundPart::Cars, told.cars != now.cars),
        (FoundPart::CutOuts, other_cut_outs(told, now)),
        (FoundPart::Brakes, brakes(told) != brakes(now)),
        (
            FoundPart::Restrictions,
            told.restrictions != now.restrictions,
        ),
        (FoundPart::Rules, told.rules != now.rules),
        (FoundPart::Cautions, beside(told) != beside(now)),
    ];
    let others = parts.into_iter().filter(|(_, differs)| *differs);
    others.map(|(part, _)| part).collect()
}

/// Whether others are cut out, or since another time. Earlier decisions do not have since when.
fn other_cut_outs(told: &Found, now: &Found) -> bool {
    let same = |(told, now): (&DecidedCutOut, &DecidedCutOut)| {
        let since = told.since.is_none() || told.since == now.since;
        (&told.at, told.state) == (&now.at, now.state) && since
    };
    let mut both = told.cut_outs.iter().zip(&now.cut_outs);
    told.cut_outs.len() != now.cut_outs.len() || !both.all(same)
}

/// The cars for which something is found now, where they are others than were known.
fn other_cars(told: &Found, now: &Result<Found, Missing>) -> Vec<OrderedCar> {
    let of = |found: &Found| -> Vec<OrderedCar> {
        let cars = found.cars.iter();
        cars.map(|car| OrderedCar {
            car: car.number.clone(),
            orientation: car.orientation,
        })
        .collect()
    };
    let now = now.as_ref().map(of).unwrap_or_default();
    if now == of(told) { Vec::new() } else { now }
}

#[cfg(test)]
mod tests {
    use super::super::TOLD_MAX;
    use super::*;
    use crate::configuration::component::PositionRef;
    use crate::ledger::departures::DepartureKind;

    fn component(serial: &str) -> ComponentRef {
        ComponentRef {
            part: "P-1".parse().expect("a part"),
            serial: serial.parse().expect("a serial"),
        }
    }

    #[test]
    fn what_differs_is_told_and_what_does_not_is_left_out() {
        let day = |text: &str| text.parse::<Day>().expect("a day");
        let task = |text: &str| text.parse::<TaskCode>().expect("a task");
        let subject = Subject::Component(component("1"));
        let mut before = Picture::default();
        before
            .due
            .insert((subject.clone(), task("T1")), Some(day("2029-05-01")));
        before.due.insert((subject.clone(), task("T2")), None);
        before
            .usage
            .insert((component("1"), Meter::Odometer), Some(Amount::whole(900)));
        let mut after = before.clone();
        let same = Consequences::between(&before, &after, (&[], 0));
        assert!(same.is_nothing());
        after
            .due
            .insert((subject.clone(), task("T2")), Some(day("2029-02-01")));
        after.due.remove(&(subject, task("T1")));
        after.usage.insert((component("1"), Meter::Odometer), None);
        after
            .usage
            .insert((component("2"), Meter::Odometer), Some(Amount(0)));
        let told = Consequences::between(&before, &after, (&[], 0));
        let tasks: Vec<&str> = told.due.told.iter().map(|one| one.task.as_str()).collect();
        assert_eq!(tasks, ["T2", "T1"], "the earliest first");
        let used = &told.usage.told;
        assert_eq!(used.len(), 1, "what ran nothing has not changed");
        assert_eq!(
            (used[0].before, used[0].after),
            (Some(Amount::whole(900)), None)
        );
    }

    #[test]
    fn a_departure_is_told_with_its_concession_and_not_for_that_alone() {
        let departure = DepartureTold {
            at: PositionRef {
                car: "4101".parse().expect("a car"),
                position: "=B-Q1".parse().expect("a position"),
            },
            setting: None,
            kind: DepartureKind::NotApproved,
            from: Some("2029-05-01".parse().expect("a day")),
            until: None,
        };
        let with = |concession: Option<&str>| Picture {
            departures: [(
                departure.clone(),
                concession.map(|number| number.parse().expect("a concession")),
            )]
            .into(),
            ..Picture::default()
        };
        let between = |before: &Picture, after: &Picture| {
            Consequences::between(before, after, (&[], 0))
                .departures
                .told
        };
        let (none, allowed) = (Picture::default(), with(Some("C-1")));
        let came = between(&none, &allowed);
        let told = came[0].concession.as_ref().map(ToString::to_string);
        assert_eq!(
            (came[0].change, told.as_deref()),
            (CameOrWent::Came, Some("C-1"))
        );
        assert_eq!(between(&allowed, &none)[0].change, CameOrWent::Went);
        assert!(between(&with(None), &allowed).is_empty());
    }

    #[test]
    fn a_long_list_is_told_in_part_and_its_rest_is_counted() {
        let mut after = Picture::default();
        for serial in 1..=TOLD_MAX + 5 {
            let key = (component(&serial.to_string()), Meter::Odometer);
            after.usage.insert(key, Some(Amount(7)));
        }
        let told = Consequences::between(&Picture::default(), &after, (&[], 3));
        assert_eq!((told.usage.told.len(), told.usage.more), (TOLD_MAX, 5));
        assert_eq!(told.verdicts.count(), 3, "those not looked at");
        let body = serde_json::to_string(&told).expect("JSON");
        let read: Consequences = serde_json::from_str(&body).expect("the same");
        assert_eq!(read, told);
        assert_eq!(
            serde_json::to_string(&Consequences::default()).expect("JSON"),
            "{}"
        );
    }
}
