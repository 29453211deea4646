//! Who decided about a train, and whether that still stands, in a few words.

use super::verdicts::mark;
use crate::address;
use domain::identity::TrainId;
use domain::ledger::dossier::DecisionRecord;
use domain::ledger::entry::Seq;
use domain::rule_set::RuleSet;
use domain::rule_set::verdict::Permission;
use domain::time::Zone;

/// The last decision about a train.
pub(crate) struct DecidedLine {
    /// The train it was taken about, where that is another: its cars run in this one now.
    pub(crate) other_train: Option<String>,
    /// Whether it stands, or why it does not.
    pub(crate) void: Option<VoidWords>,
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

/// A decision about a train in words, given the rule sets in force.
pub(crate) fn line(
    record: &DecisionRecord,
    train: &TrainId,
    (in_force, zone): (&[&RuleSet], &Zone),
) -> DecidedLine {
    let taken = &record.taken;
    let told: Vec<String> = taken
        .told
        .iter()
        .map(|told| format!("{} ({})", told.who, zone.show(told.at)))
        .collect();
    DecidedLine {
        other_train: (taken.train != *train).then(|| taken.train.to_string()),
        void: void(record, in_force),
        mark: mark(taken.found.permission),
        headline: headline(record),
        by: taken.decided_by.to_string(),
        at: zone.show(record.at),
        told: match told.as_slice() {
            [] => "nobody yet".to_owned(),
            told => told.join(", "),
        },
        rule_set: format!("{} revision {}", taken.rule_set, taken.revision),
        href: address::decision(record.id),
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

/// Why it is void, if it is: a change that was recorded since, or a rule set whose time is over.
pub(crate) fn void(record: &DecisionRecord, in_force: &[&RuleSet]) -> Option<VoidWords> {
    if let Some(void) = record.void {
        return Some(VoidWords {
            because: void.because.to_string(),
            entry: Some((address::entry(void.by), void.by.0)),
        });
    }
    let taken = &record.taken;
    let still = in_force
        .iter()
        .any(|rules| rules.name == taken.rule_set && rules.revision == taken.revision);
    (!still).then(|| VoidWords {
        because: "its rule set is no longer in force".to_owned(),
        entry: None,
    })
}

/// The address and number of an entry.
pub(crate) fn entry_link(seq: Seq) -> (String, i64) {
    (address::entry(seq), seq.0)
}
