//! Who decided about a train, and whether that still stands, in a few words.

use super::verdicts::mark;
use crate::address;
use crate::failure::Failure;
use domain::identity::TrainId;
use domain::ledger::dossier::DecisionRecord;
use domain::ledger::entry::Seq;
use domain::rule_set::RuleSet;
use domain::rule_set::verdict::Permission;
use domain::time::{Instant, Zone};
use store::read::View;
use store::read::decisions::ToldAfter;
use store::read::doubted::Doubted;
use store::read::formations::CarInTrain;

/// What is said where nobody was told.
const NOBODY: &str = "nobody yet";

/// The last decision about a train.
pub(crate) struct DecidedLine {
    /// The train it was taken about, where that is another: its cars run in this one now.
    pub(crate) other_train: Option<String>,
    /// Whether it stands, or why it does not.
    pub(crate) void: Option<VoidWords>,
    /// The entry told since that changes what it rested on: its address and number.
    pub(crate) told_late: Option<(String, i64)>,
    /// The last entry told since by which something on its cars is to be judged again: its address and
    /// number.
    pub(crate) doubted: Option<(String, i64)>,
    /// The mark of its verdict.
    pub(crate) mark: &'static str,
    pub(crate) headline: String,
    pub(crate) by: String,
    pub(crate) at: String,
    pub(crate) told: String,
    pub(crate) rule_set: String,
    /// Its sheet.
    pub(crate) href: String,
}

/// Why a decision is void.
pub(crate) struct VoidWords {
    pub(crate) because: String,
    /// The entry since which it is: its address and number.
    pub(crate) entry: Option<(String, i64)>,
}

/// Of the last decisions, the newest first, the one that is to be known of a train that an entry
/// formed: the last about it; or one about another train that became void as this one was formed of
/// its cars, since whoever was told of it is to hear so.
pub(crate) fn last<'d>(
    decisions: &'d [DecisionRecord],
    (train, formed_by): (&TrainId, Seq),
) -> Option<&'d DecisionRecord> {
    let mut decisions = decisions.iter();
    decisions.find(|record| {
        record.taken.train == *train || record.void.is_some_and(|void| void.by == formed_by)
    })
}

/// A decision about a train in words, given the rule sets in force and the time.
pub(crate) fn line(
    record: &DecisionRecord,
    train: &TrainId,
    in_force: &[&RuleSet],
    (zone, now): (&Zone, Instant),
) -> DecidedLine {
    let taken = &record.taken;
    let told: Vec<String> = taken
        .told
        .iter()
        .map(|told| format!("{} ({})", told.who, zone.show(told.at)))
        .collect();
    DecidedLine {
        other_train: (taken.train != *train).then(|| taken.train.to_string()),
        void: void(record, in_force, (zone, now)),
        told_late: record.told_late.map(entry_link),
        doubted: None,
        mark: mark(taken.found.permission),
        headline: headline(record),
        by: taken.decided_by.to_string(),
        at: zone.show(record.at),
        told: match told.as_slice() {
            [] => NOBODY.to_owned(),
            told => told.join(", "),
        },
        rule_set: format!("{} revision {}", taken.rule_set, taken.revision),
        href: address::decision(record.id),
    }
}

impl DecidedLine {
    /// Adds what is told since a decision and leaves something on the cars to be judged again.
    pub(crate) fn doubt(&mut self, decided: Seq, cars: &[CarInTrain]) {
        let again = cars.iter().flat_map(|car| &car.judge_again);
        self.doubted = last_since(decided, again.map(|one| one.raised_by));
    }

    /// Adds who told everybody after it, also where it is void by now: they are to hear of that.
    pub(crate) fn tell(&mut self, since: Option<&ToldAfter>, zone: &Zone) {
        let Some(ToldAfter { by, at }) = since else {
            return;
        };
        let since = format!("everybody who must be (by {by}, {})", zone.show(*at));
        self.told = match self.told.as_str() {
            NOBODY => since,
            told => format!("{told}; then {since}"),
        };
    }
}

fn headline(record: &DecisionRecord) -> String {
    let found = &record.taken.found;
    let speed = found.restrictions.speed.as_ref();
    match (found.permission, speed) {
        (Permission::WithRestrictions, Some(cap)) => {
            format!("{}, at most {} km/h", found.permission.headline(), cap.km_h)
        }
        (permission, _) => permission.headline().to_owned(),
    }
}

/// Why it is void, if it is: a change that was recorded since, or a rule set, a season or stored air
/// whose time is over.
pub(crate) fn void(
    record: &DecisionRecord,
    in_force: &[&RuleSet],
    (zone, now): (&Zone, Instant),
) -> Option<VoidWords> {
    if let Some(void) = record.void {
        return Some(VoidWords {
            because: void.because.to_string(),
            entry: Some((address::entry(void.by), void.by.0)),
        });
    }
    let taken = &record.taken;
    let mut in_force = in_force.iter();
    let still =
        in_force.find(|rules| rules.name == taken.rule_set && rules.revision == taken.revision);
    let without_entry = |because: String| VoidWords {
        because,
        entry: None,
    };
    let Some(rules) = still else {
        return Some(without_entry(
            "its rule set is no longer in force".to_owned(),
        ));
    };
    let turn = rules.turns_after(zone.day_of(record.at));
    if let Some(turn) = turn.filter(|turn| *turn <= zone.day_of(now)) {
        return Some(without_entry(format!(
            "a rule of its rule set holds in a season alone, and that began or ended on {turn}"
        )));
    }
    let until = taken.found.counted_until.filter(|until| *until <= now)?;
    let until = zone.show(until);
    Some(without_entry(format!(
        "the stored air that it counted is not counted since {until}"
    )))
}

/// Why a decision about a train does not stand where cars of it are in trains formed later.
pub(crate) fn elsewhere(later: &[TrainId]) -> Option<VoidWords> {
    let names: Vec<String> = later.iter().map(ToString::to_string).collect();
    (!names.is_empty()).then(|| VoidWords {
        because: format!(
            "cars of it are in a train formed later, {}",
            names.join(", ")
        ),
        entry: None,
    })
}

/// The same of a train by its name. Two statements.
pub(crate) async fn runs_elsewhere(
    view: &mut View,
    id: &TrainId,
) -> Result<Option<VoidWords>, Failure> {
    let Some(train) = view.train(id).await? else {
        return Ok(None);
    };
    Ok(elsewhere(&view.formed_later(&train).await?))
}

/// Of all that is to be judged again, what is told since a decision and is on the cars it was taken about.
pub(crate) fn doubted_since(record: &DecisionRecord, all: &[Doubted]) -> Option<(String, i64)> {
    let is_on = |one: &&Doubted| {
        let mut cars = record.taken.found.cars.iter();
        cars.any(|car| one.car.as_ref() == Some(&car.number))
    };
    let here = all.iter().filter(is_on);
    last_since(record.id, here.map(|one| one.raised_by))
}

/// The last of some entries that was recorded since a decision.
fn last_since(decided: Seq, raised: impl Iterator<Item = Seq>) -> Option<(String, i64)> {
    raised.filter(|by| decided < *by).max().map(entry_link)
}

/// The address and number of an entry.
pub(crate) fn entry_link(seq: Seq) -> (String, i64) {
    (address::entry(seq), seq.0)
}
